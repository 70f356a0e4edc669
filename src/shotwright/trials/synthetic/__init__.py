"""Simulated trials with a known truth, for tests and the demo."""
