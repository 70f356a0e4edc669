"""The shot table: what to set at which distance."""
