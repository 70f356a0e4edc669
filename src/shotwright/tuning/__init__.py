"""The shot table: what to set at which distance, the fewest notches, the forms it is handed on in."""
