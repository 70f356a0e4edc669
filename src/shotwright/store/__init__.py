"""The project file: the only place with SQL."""
