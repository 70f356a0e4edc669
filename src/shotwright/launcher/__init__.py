"""What a mechanism throws: settings and ball in, release and its spread out; pure functions."""
