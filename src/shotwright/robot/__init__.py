"""The robot around the launcher: drive base, tilt, feed, brake, power budget."""
