"""Hit probability per prototype and position, gates, ranking."""
