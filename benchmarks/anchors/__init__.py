"""What `flight_anchors.py` compares the flight kernel with, and the work that all of them do."""
