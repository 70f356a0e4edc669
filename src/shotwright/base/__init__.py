"""What every room stands on: units, errors, constants, estimates."""
