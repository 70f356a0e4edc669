"""The number of cores is what the system gives, and less when asked."""

from __future__ import annotations

import os

import pytest

from shotwright.base.cores import LIMIT, usable_cores


def test_what_the_system_gives(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(LIMIT, raising=False)
    assert 1 <= usable_cores() <= (os.cpu_count() or 1)


@pytest.mark.parametrize(("typed", "least"), [("1", 1), ("0", 1), ("many", 1), ("-3", 1)])
def test_a_limit_and_nonsense(monkeypatch: pytest.MonkeyPatch, typed: str, least: int) -> None:
    monkeypatch.delenv(LIMIT, raising=False)
    given = usable_cores()
    monkeypatch.setenv(LIMIT, typed)
    assert usable_cores() == (1 if typed == "1" else given) >= least
