"""The command line: parse, call bench, show."""
