"""Air, drag, lift, the batch kernel, exact crossings, and the shots that each firing position needs."""
