"""Compute every published check value and compare."""

from __future__ import annotations

from shotwright.bench.results import Verification


def verify() -> Verification:
    """Run the table of published checks that the tests run too."""
    from shotwright.published.catalogue import ALL_CHECKS
    from shotwright.published.table import run_checks

    outcomes = run_checks(ALL_CHECKS)
    failed = [o for o in outcomes if not o.passed]
    words = [f"{len(outcomes) - len(failed)} of {len(outcomes)} check values agree."]
    words += [f"{o.what}: expected {o.expected:.10g}, found {o.found:.10g} ({o.source})" for o in failed]
    return Verification(len(outcomes) - len(failed), len(failed), outcomes, tuple(words))
