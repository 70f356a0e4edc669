"""What can hurt about springs, in words."""

from __future__ import annotations

STORED_CAUTION = (
    "A wound spring holds its energy until it is let go: never reach in, block it before working on it, wear "
    "eye protection, and follow your event's and your workshop's rules."
)
RUBBER_CAUTION = (
    "Rubber tears without warning and whips back: replace it when it is nicked, sticky or cracked, and stay "
    "out of its line."
)
HOOK_CAUTION = "Hooks bend open or break before the coils do: use half of what the coils would stand."
