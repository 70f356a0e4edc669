"""Parts to cut or print: springs, cams, spiral gears, plates, their strength, and their drawings."""
