"""Shots and trials: reading them, what they show, and the launch spread behind them."""
