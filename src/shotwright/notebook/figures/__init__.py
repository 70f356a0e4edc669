"""Figures of the notebook: each takes records and the width of its box, and gives one drawing."""
