"""Flights in lanes: many at once, one short vector loop for each stage of the formula."""
