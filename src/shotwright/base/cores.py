"""How many cores this process may keep busy."""

from __future__ import annotations

import os

LIMIT = "SHOTWRIGHT_THREADS"  # environment variable: at most so many


def usable_cores() -> int:
    """Count the cores that this process may use: those it is given, at most `SHOTWRIGHT_THREADS`.

    Returns
    -------
    int
        At least 1. Results never depend on it.
    """
    given = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    limit = os.environ.get(LIMIT, "")
    return min(given, int(limit)) if limit.isdigit() and int(limit) > 0 else given
