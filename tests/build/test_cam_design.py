"""A whole cam: what is chosen keeps its guides, what is told agrees with the drawn edge."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import Phase, example, given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon

from shotwright.base.errors import BadInput
from shotwright.build.cam_design import CamWish, design_cam, fall_beside
from shotwright.build.force_curve import curve_through, linear_force

SPRING = linear_force(900, 0.04, 0.09)


def wish(**more: object) -> CamWish:
    return CamWish(**{"curve": SPRING, "rise": math.radians(310), "roller": 0.008, "inner": 0.020} | more)  # type: ignore[arg-type]


def test_the_chosen_cam_keeps_its_guides_and_its_torque() -> None:
    cam = design_cam(wish())
    told = cam.figures
    assert told.pressure_angle_deg <= 30 + 1e-6
    assert told.least_curvature_m >= 2 * 0.008
    assert told.contact_deviation < 0.01
    assert told.mean_deviation < 0.002
    # closed forms: W/Theta, and 2 x1/(x1 + x0) of a plain snail
    assert told.torque_n_m == pytest.approx(6.885 / math.radians(310), rel=1e-12)
    assert told.plain_over_constant == pytest.approx(2 * 0.13 / 0.17, rel=1e-12)
    assert told.most_torque_n_m == pytest.approx(told.torque_n_m, rel=1e-12)


def test_friction_of_the_guide_raises_the_torque() -> None:
    """1/(1 - mu tan phi) at the largest pressure angle."""
    told = design_cam(wish(friction=0.2)).figures
    most = told.torque_n_m / (1 - 0.2 * math.tan(math.radians(told.pressure_angle_deg)))
    assert told.most_torque_n_m == pytest.approx(most, rel=1e-12)


@example(786.0, 0.05525, 0.0315, 265.8, 0.014, 20.0)  # a large roller: the drop flank sets the size
@given(
    st.floats(200, 3000), st.floats(0.01, 0.06), st.floats(0.03, 0.12), st.floats(240, 325),
    st.floats(0.004, 0.014), st.sampled_from([0.0, 20.0, 45.0]),
)  # fmt: skip
@settings(max_examples=8, deadline=None, phases=(Phase.explicit, Phase.reuse, Phase.generate))
def test_any_cam_is_even_on_its_drawn_edge(
    rate: float, preload: float, stroke: float, rise: float, roller: float, blend: float
) -> None:
    curve = linear_force(rate, preload, stroke)
    cam = design_cam(CamWish(curve, math.radians(rise), roller, blend=math.radians(blend), inner=0.015))
    assert cam.figures.contact_deviation < 0.01
    edge = Polygon(1e3 * cam.edge.points)
    assert edge.is_valid
    assert edge.contains(Point(0, 0))
    assert edge.exterior.distance(Point(0, 0)) >= 15 - 1e-4  # chords of the low circle cut off up to 0.1 um
    assert cam.figures.plain_over_constant > 1 - math.radians(blend) / math.radians(rise)


def test_the_work_over_the_drawn_turn_is_that_of_the_spring() -> None:
    """Mean torque times turn, added up over the rise: the spring's energy, whatever its curve."""
    curve = curve_through([0, 0.02, 0.05, 0.09], [31.0, 47, 80, 147])
    cam = design_cam(wish(curve=curve))
    up = cam.torque.turn[1:] <= cam.law.rise
    steps = np.diff(cam.torque.turn)[up]
    assert float(cam.torque.mean[up] @ steps) == pytest.approx(curve.total_work, rel=0.002)


def test_a_preview_has_the_same_sizes() -> None:
    exact, rough = design_cam(wish()).figures, design_cam(wish(), coarse=True).figures
    for name in ("torque_n_m", "prime_m", "largest_m", "release_deg", "low_m"):
        assert getattr(rough, name) == pytest.approx(getattr(exact, name), rel=1e-6)
    assert rough.corners < 0.1 * exact.corners


def test_a_hub_that_does_not_fit_is_refused() -> None:
    with pytest.raises(BadInput, match="hub and wall") as bad:
        design_cam(wish(prime=0.025))
    assert bad.value.field == "prime"


def test_the_fall_is_set_beside_the_turning() -> None:
    """acos(x0/x1)/sqrt(k/M) for 0.34 kg: 24.45 ms, 4.4 deg at 30 rpm."""
    cam = design_cam(wish())
    told = fall_beside(cam, 0.34, 30 * 2 * math.pi / 60)
    assert told.time_s == pytest.approx(0.02445170036, rel=1e-9)
    assert told.turn_deg == pytest.approx(4.401306064915, rel=1e-9)
    assert told.spare_deg == pytest.approx(cam.figures.low_sector_deg - told.turn_deg, abs=1e-9)
    edge = fall_beside(cam, 0.34, told.most_speed_rad_s)
    assert edge.spare_deg == pytest.approx(0.0, abs=1e-9)


def test_a_jamming_follower_is_told() -> None:
    with pytest.raises(BadInput, match="jams"):
        design_cam(wish(prime=0.030, rise=math.radians(200), friction=1.0, inner=0.015))
