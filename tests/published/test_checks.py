"""Every published value is met, and every row says honestly where it comes from."""

from __future__ import annotations

import math
from collections import Counter
from typing import get_args

import pytest

from shotwright.published.catalogue import ALL_CHECKS
from shotwright.published.table import Check, Kind, run_check, run_checks

# How the source of a row begins when it is no publication.
OPENINGS = {
    "identity": "closed form",
    "computed": "computed by",
    "practice": "common practice, no source",
    "memory": "from memory",
}


@pytest.mark.authority
@pytest.mark.parametrize("check", ALL_CHECKS, ids=lambda check: check.what)
def test_published_value_is_met(check: Check) -> None:
    outcome = run_check(check)
    assert outcome.passed, (
        f"{outcome.found!r} instead of {check.expected!r} +- {check.tolerance} ({check.source})"
    )


@pytest.mark.parametrize("check", ALL_CHECKS, ids=lambda check: check.what)
def test_row_is_complete(check: Check) -> None:
    assert check.what.strip()
    assert check.source.strip()
    assert check.kind in get_args(Kind)
    assert math.isfinite(check.expected)
    assert check.tolerance > 0
    assert math.isfinite(check.tolerance)


@pytest.mark.parametrize("check", ALL_CHECKS, ids=lambda check: check.what)
def test_kind_and_source_agree(check: Check) -> None:
    for kind, opening in OPENINGS.items():
        assert check.source.lower().startswith(opening) == (check.kind == kind), (check.kind, check.source)


def test_there_are_enough_and_none_twice() -> None:
    assert len(ALL_CHECKS) >= 60
    assert [what for what, times in Counter(check.what for check in ALL_CHECKS).items() if times > 1] == []


def test_each_sort_of_evidence_is_there() -> None:
    assert {check.kind for check in ALL_CHECKS} >= {"authority", "identity", "computed"}


def test_a_wrong_value_fails_and_so_does_no_number() -> None:
    right = Check("two", "closed form: 1 + 1", "identity", 2.0, 1e-12, lambda: 2.0)
    wrong = Check("two", "closed form: 1 + 1", "identity", 2.0, 1e-12, lambda: 2.1)
    none = Check("two", "closed form: 1 + 1", "identity", 2.0, 1e-12, lambda: math.nan)
    assert [outcome.passed for outcome in run_checks((right, wrong, none))] == [True, False, False]
    assert run_check(wrong).to_dict() == {
        "what": "two",
        "source": "closed form: 1 + 1",
        "kind": "identity",
        "expected": 2.0,
        "tolerance": 1e-12,
        "found": 2.1,
        "passed": False,
    }
