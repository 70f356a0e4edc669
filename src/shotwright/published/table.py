"""The form of a published check, and how one is run."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from shotwright.base.plain import Result

Kind = Literal["authority", "identity", "computed", "practice", "memory"]


@dataclass(frozen=True, slots=True)
class Check:
    """One value that the world outside says, and the call of ours that must give it.

    Parameters
    ----------
    what : str
        The quantity with its inputs and unit, in words.
    source : str
        Author, year, title or standard number, page or equation where known; ``"closed form: ..."`` for an
        identity, ``"computed by ..."`` for another program or method, ``"common practice, no source"``, or
        ``"from memory: ..."``.
    kind : {"authority", "identity", "computed", "practice", "memory"}
        Published; closed form, limit or conservation; computed independently, where nothing is published;
        common practice; recalled and not confirmed.
    expected : float
        The published value.
    tolerance : float
        Largest allowed absolute difference: the rounding of the printed digits, or a physical amount.
    compute : callable
        Our value. Takes nothing, returns a float.
    """

    what: str
    source: str
    kind: Kind
    expected: float
    tolerance: float
    compute: Callable[[], float]


@dataclass(frozen=True, slots=True)
class CheckOutcome(Result):
    """What running a check gave."""

    what: str
    source: str
    kind: Kind
    expected: float
    tolerance: float
    found: float
    passed: bool


def run_check(check: Check) -> CheckOutcome:
    """Run one check; a value that is not a number fails.

    Parameters
    ----------
    check : Check
        The check.

    Returns
    -------
    CheckOutcome
        Both values and whether they agree.
    """
    found = float(check.compute())
    return CheckOutcome(
        what=check.what,
        source=check.source,
        kind=check.kind,
        expected=check.expected,
        tolerance=check.tolerance,
        found=found,
        passed=abs(found - check.expected) <= check.tolerance,
    )


def run_checks(checks: Sequence[Check]) -> tuple[CheckOutcome, ...]:
    """Run checks in their order."""
    return tuple(run_check(check) for check in checks)
