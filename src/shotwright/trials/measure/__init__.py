"""Readers that turn tables into shots."""
