"""The crew's words as validated records: ball, field, openings, obstacles, firing positions."""
