"""Coil springs: a published example, closed forms, and an independent integral."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadInput
from shotwright.base.estimate import NotEstimated
from shotwright.build.coil_spring import (
    ENDS,
    FIXITY,
    WIRES,
    Coil,
    Wire,
    bergstraesser_factor,
    coil_in_use,
    coil_stress,
    wahl_factor,
)

INCH, POUND, PSI = 0.0254, 4.4482216152605, 6894.757293168361
PLAIN = Wire("given", 80e9, 206e9, 7850.0, None, "given")


@pytest.mark.authority
def test_published_example() -> None:
    """Shigley 10th ed., Example 10-1, p. 519; digits as printed, and half of the last one for rounding."""
    coil = Coil("compression", 0.037 * INCH, 0.4 * INCH, 12.5, 2.06 * INCH, ends="squared")
    force = coil.yield_force()
    assert not isinstance(force, NotEstimated)
    assert coil.index == pytest.approx(10.8, abs=0.05)
    assert float(bergstraesser_factor(coil.index)) == pytest.approx(1.124, abs=0.0005)
    assert force / POUND == pytest.approx(6.46, rel=0.003)
    assert coil.rate * INCH / POUND == pytest.approx(4.13, abs=0.005)
    assert force / coil.rate / INCH == pytest.approx(1.56, rel=0.003)
    assert coil.solid_length / INCH == pytest.approx(0.500, abs=0.0005)
    yields = WIRES["music wire"].torsional_yield(0.037 * INCH)
    assert yields is not None
    assert yields / PSI / 1e3 == pytest.approx(146, abs=0.5)


def test_metric_spring_is_the_closed_form() -> None:
    coil = Coil("compression", 0.004, 0.03, 20, 0.25, PLAIN)
    assert coil.active_turns == 18
    assert coil.rate == pytest.approx(80e9 * 0.004**4 / (8 * 0.03**3 * 18), rel=1e-14)
    assert coil.solid_length == pytest.approx(0.08, abs=1e-15)
    assert coil.active_mass == pytest.approx(0.167349012225, rel=1e-10)
    assert coil.surge == pytest.approx(88.7074868885, rel=1e-10)
    assert coil.stable_length(0.5) == pytest.approx(0.156408679974, rel=1e-10)
    assert coil.stress(474.074074074) / 1e6 == pytest.approx(677.581085585, rel=1e-9)
    assert float(coil_stress(474.074074074, 0.004, 0.03, 1.0)) / 1e6 == pytest.approx(565.884242105, rel=1e-9)


@given(st.floats(0.0, 0.03), st.floats(0.005, 0.07))
@settings(max_examples=40, deadline=None)
def test_energy_is_the_area_under_the_force(preload: float, stroke: float) -> None:
    coil = Coil("extension", 0.003, 0.03, 30, 0.12, ends="hooks", initial_tension=20.0)
    told = coil_in_use(coil, preload, stroke)
    # A straight line's area is exact by the mean of its ends.
    assert told.usable_j == pytest.approx(0.5 * (told.front_n + told.wound_n) * stroke, rel=1e-12)
    assert told.stored_j >= told.usable_j


@given(st.floats(4.0, 15.0))
@settings(max_examples=40, deadline=None)
def test_both_factors_agree_within_one_and_a_half_percent(index: float) -> None:
    """From C = 4 on both are within 1.5 % of each other, and fall towards 1."""
    wahl, other = float(wahl_factor(index)), float(bergstraesser_factor(index))
    assert 1 < other < wahl < 1.015 * other


def test_rate_agrees_with_the_energy_of_twisted_wire() -> None:
    """Castigliano, done by adding up slices of the wire: T = F D/2 twists each, k = F^2/(2 U)."""
    coil = Coil("compression", 0.002, 0.02, 10, 0.1, PLAIN)
    slices = np.full(1000, math.pi * 0.02 * coil.active_turns / 1000)
    stiff = 80e9 * math.pi * 0.002**4 / 32
    energy = np.sum((1.0 * 0.02 / 2) ** 2 * slices / (2 * stiff))
    assert coil.rate == pytest.approx(1 / (2 * energy), rel=1e-12)


def test_coils_that_would_touch_are_refused() -> None:
    coil = Coil("compression", 0.004, 0.03, 20, 0.25, PLAIN)
    assert coil_in_use(coil, 0.08, 0.09).left_m == pytest.approx(0.0, abs=1e-15)
    with pytest.raises(BadInput, match="coils touch after 170 mm"):
        coil_in_use(coil, 0.0801, 0.09)


def test_unknown_strength_gives_no_margin() -> None:
    told = coil_in_use(Coil("compression", 0.004, 0.03, 20, 0.25, WIRES["stainless"]), 0.04, 0.09)
    assert isinstance(told.margin, NotEstimated)
    assert "stainless" in told.margin.reason


def test_buckling_depends_on_how_the_ends_are_held() -> None:
    coil = Coil("compression", 0.004, 0.03, 12, 0.10, PLAIN)
    buckles = {how: coil_in_use(coil, 0.0, 0.03, fixity=a).buckles for how, a in FIXITY.items()}
    assert not buckles["both ends flat and guided"]
    assert buckles["one end flat, one free"]


@pytest.mark.parametrize("ends", list(ENDS))
def test_solid_length_counts_wires(ends: str) -> None:
    """Squared, ground ends lie flat: as many wires high as there are turns; others one more."""
    coil = Coil("compression", 0.001, 0.01, 10, 0.1, PLAIN, ends)  # type: ignore[arg-type]
    assert coil.solid_length == pytest.approx(0.010 if "ground" in ends else 0.011)


@pytest.mark.parametrize(
    ("change", "field"),
    [({"wire": 0.0}, "wire"), ({"diameter": 0.007}, "diameter"), ({"turns": 2}, "turns")],
)
def test_what_cannot_be_wound_is_refused(change: dict[str, float], field: str) -> None:
    with pytest.raises(BadInput) as bad:
        Coil(
            **{"kind": "compression", "wire": 0.004, "diameter": 0.03, "turns": 20, "free_length": 0.25}
            | change
        )
    assert bad.value.field == field
