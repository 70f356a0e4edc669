"""Shotwright: from a rule book and a handful of test shots to a defended choice of launcher."""

__version__ = "0.1.0"
