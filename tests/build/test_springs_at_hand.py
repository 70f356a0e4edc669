"""The search among springs at hand: energies checked by quadrature, reasons by their cause."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from shotwright.base.errors import BadInput
from shotwright.build.elastic_tube import Tube
from shotwright.build.springs_at_hand import SpringAtHand, SpringWish, judge_spring, search_springs

WISH = SpringWish(energy_j=6.885, stroke_m=0.09)


@given(
    st.floats(50, 5000), st.floats(0.0, 40.0), st.integers(1, 4), st.floats(0.5, 30.0), st.floats(0.02, 0.2)
)
@settings(max_examples=60, deadline=None)
def test_the_preload_gives_the_energy(rate: float, pull: float, n: int, energy: float, stroke: float) -> None:
    spring = SpringAtHand("any", rate, 10.0, n, pull)
    told = judge_spring(spring, n, SpringWish(energy, stroke, n))
    if told.preload_m is None:
        assert "too stiff" in told.reason
        assert n * (pull * stroke + rate * stroke**2 / 2) > energy
        return
    work, _ = quad(lambda x: n * (pull + rate * (told.preload_m + x)), 0, stroke)
    assert work == pytest.approx(energy, rel=1e-9)
    assert told.stored_j is not None
    assert told.stored_j >= energy * (1 - 1e-12)


def test_the_known_spring_is_found_with_its_preload() -> None:
    (told,) = search_springs([SpringAtHand("k900", 900, 0.15)], WISH)
    assert told.fits
    assert told.preload_m == pytest.approx(0.04, abs=1e-12)
    assert told.wound_n == pytest.approx(117, rel=1e-12)
    assert told.stored_j == pytest.approx(7.605, rel=1e-12)


def test_the_softest_that_fits_leads_and_the_others_say_why_not() -> None:
    box = [
        SpringAtHand("short", 900, 0.10),
        SpringAtHand("stiff", 4000, 0.15),
        SpringAtHand("soft", 700, 0.20),
        SpringAtHand("middle", 900, 0.15),
    ]
    told = search_springs(box, WISH)
    assert [one.name for one in told] == ["soft", "middle", "short", "stiff"]
    assert [one.fits for one in told] == [True, True, False, False]
    assert "needs 130 mm of deflection, 100 mm are allowed" in told[2].reason
    assert "too stiff" in told[3].reason


def test_several_side_by_side_share_the_work() -> None:
    told = search_springs(
        [SpringAtHand("half", 450, 0.15, number=3)], SpringWish(6.885, 0.09, side_by_side=2)
    )
    assert (told[0].fits, told[0].side_by_side) == (True, 2)
    assert told[0].preload_m == pytest.approx(0.04, abs=1e-12)


def test_force_and_preload_limits_are_reasons() -> None:
    wish = SpringWish(6.885, 0.09, most_force_n=100, most_preload_m=0.03)
    (told,) = search_springs([SpringAtHand("k900", 900, 0.15)], wish)
    assert "117 N, more than 100 N" in told.reason
    assert "40 mm of preload, more than 30 mm" in told.reason


def test_nothing_to_search_is_refused() -> None:
    with pytest.raises(BadInput):
        search_springs([], WISH)
    with pytest.raises(BadInput):
        search_springs([SpringAtHand("any", 900, 0.15)], SpringWish(0.0, 0.09))


def test_tube_is_the_closed_form_of_ideal_rubber() -> None:
    """Neo-Hookean rubber (Treloar): force, energy as its area, start stiffness as its slope."""
    tube = Tube(0.010, 0.006, 0.25)
    assert tube.force(2.0) == pytest.approx(35.1858377202, rel=1e-10)
    area, _ = quad(lambda x: tube.force(1 + x / 0.25), 0, 0.25)
    assert tube.energy(2.0) == pytest.approx(area, rel=1e-9)
    assert tube.force(1 + 1e-6) / 0.25e-6 == pytest.approx(tube.start_rate, rel=1e-5)
    curve = tube.curve(0.1, 0.2)
    assert curve.total_work == pytest.approx(tube.energy(2.2) - tube.energy(1.4), rel=1e-7)


def test_a_tube_is_not_stretched_until_it_tears() -> None:
    with pytest.raises(BadInput, match="tears"):
        Tube(0.010, 0.006, 0.1).curve(0.1, 0.3)
    assert math.isclose(Tube(0.010, 0.006, 0.1, strands=2).force(2), 2 * Tube(0.010, 0.006, 0.1).force(2))
