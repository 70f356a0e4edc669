"""What drives a launcher: motors, trains, supplies, and the heat of a match."""
