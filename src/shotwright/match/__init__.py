"""The match as a discrete-event simulation, and what an improvement is worth in points."""
