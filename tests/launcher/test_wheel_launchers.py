"""The named wheel launchers: releases, limits, books, and what is said about them."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadInput
from shotwright.game.records import Ball, CoefficientLaw
from shotwright.launcher.compression import Hertz
from shotwright.launcher.opposed_wheels import OpposedWheels
from shotwright.launcher.protocol import Amount, draw_inputs, input_arrays
from shotwright.launcher.release import Limit, Releases
from shotwright.launcher.rolling import spaced_pair
from shotwright.launcher.three_wheels import ThreeWheels, settled
from shotwright.launcher.wheel_and_hood import WheelAndHood
from shotwright.launcher.wheels import WheelLauncher
from shotwright.launcher.wheels_around import Around, WheelsAround

BALL = Ball(
    "foam", 0.178, 0.14, CoefficientLaw("constant", 0.5), CoefficientLaw("constant", 0.0), 0.001, 0.003
)
COMMON = {
    "name": "paper",
    "elevation": Amount(0.9, 0.01),
    "release_height": Amount(0.5),
    "wheel_radius": Amount(0.1),
    "wheel_inertia": Amount(0.002),
    "wheel_grip": Amount(0.6, 0.05),
    "compression": Hertz(4e4),
}
HOOD = WheelAndHood(
    rim_speed=Amount(20.0, 0.2), gap=Amount(0.158), wrap_angle=Amount(1.57), hood_grip=Amount(0.6), **COMMON
)
PAIR = OpposedWheels(first_rim_speed=Amount(18.0), second_rim_speed=Amount(22.0), gap=Amount(0.138), **COMMON)
TRIO = ThreeWheels(
    lower_rim_speed=Amount(20.0), upper_left_rim_speed=Amount(20.0), upper_right_rim_speed=Amount(20.0),
    spacing=Amount(0.1), gap=Amount(0.13), upper_grip=Amount(0.6), **COMMON,
)  # fmt: skip
ALL = (HOOD, PAIR, TRIO)


def shot(launcher: WheelLauncher, **given: float) -> Releases:
    return launcher.release(input_arrays(launcher, BALL, given))


@pytest.mark.parametrize("launcher", ALL, ids=lambda one: one.kind)
def test_books_close_for_a_spread_of_shots(launcher: WheelLauncher) -> None:
    out = launcher.release(draw_inputs(launcher, BALL, 300, np.random.default_rng(3)))
    left = out.energy_taken + out.motor_work - out.ball_energy - sum(out.losses.values())

    assert np.isfinite(out.speed).all()
    # 1e-6 of the wheels' energy at the default tolerance of followed forces
    assert np.abs(left).max() < 2e-6 * out.stored_energy.max()


def test_a_hood_throws_at_half_the_rim_speed_after_the_shot() -> None:
    out = shot(HOOD)

    assert out.limit[0] == Limit.GRIPPED
    assert out.speed[0] == pytest.approx(out.rim_speeds[0, 0] / 2, rel=1e-9)
    # r omega = v at the squeezed contact
    assert out.backspin[0] * (0.089 - 0.010) == pytest.approx(out.speed[0], rel=1e-9)


def test_heavy_wheels_keep_their_speed() -> None:
    heavy = dataclasses.replace(HOOD, wheel_inertia=Amount(1e6))

    assert shot(heavy).speed[0] == pytest.approx(10.0, rel=1e-6)


def test_short_contact_leaves_slipping_and_scatters_with_grip() -> None:
    short = dataclasses.replace(HOOD, wrap_angle=Amount(0.15))
    out = shot(short)
    rougher = shot(short, wheel_grip=0.7)

    assert out.limit[0] == Limit.GRIP_RAN_OUT
    assert "still slipping when the ball leaves: wheel" in out.notes
    assert rougher.speed[0] > 1.02 * out.speed[0]
    assert shot(HOOD, wheel_grip=0.7).speed[0] == pytest.approx(shot(HOOD).speed[0], rel=1e-9)


def test_spin_axes_of_opposed_wheels() -> None:
    upright = shot(PAIR)
    flat = shot(dataclasses.replace(PAIR, arrangement="side by side"))
    normal = np.array([-math.sin(0.9), 0.0, math.cos(0.9)])

    assert upright.backspin[0] > 0  # the lower wheel is faster
    np.testing.assert_allclose(upright.spin[0, [0, 2]], 0.0, atol=1e-12)
    np.testing.assert_allclose(flat.spin[0] / np.linalg.norm(flat.spin[0]), normal, atol=1e-9)
    assert flat.speed[0] == pytest.approx(upright.speed[0], rel=1e-9)


def test_even_force_is_near_the_followed_one() -> None:
    even = dataclasses.replace(PAIR, contact_force="even")

    assert shot(even).speed[0] == pytest.approx(shot(PAIR).speed[0], rel=0.12)


def test_equal_speeds_on_flat_treads_give_no_backspin_and_light_wheels_topspin() -> None:
    heavy = dataclasses.replace(TRIO, wheel_inertia=Amount(1e6))
    longer = {"gap": 0.1}  # squeezed enough to grip

    assert shot(heavy, **longer).limit[0] == Limit.GRIPPED
    r = BALL.radius
    # squeezed contacts have different arms, so the spin is small but not exactly zero
    assert abs(shot(heavy, **longer).backspin[0] * r) < 1e-6 * 20
    assert shot(TRIO, **longer).backspin[0] < 0


def test_three_heavy_wheels_meet_the_closed_form_when_hardly_squeezed() -> None:
    hard = dataclasses.replace(TRIO, compression=Hertz(1e9), wheel_inertia=Amount(1e6))
    gap = BALL.radius * (1 + math.sqrt(1 - (0.1 / 0.178) ** 2)) - 2e-4
    out = shot(hard, gap=gap, lower_rim_speed=22.0, upper_left_rim_speed=18.0, upper_right_rim_speed=18.0)
    v, w = spaced_pair(0.1, BALL.radius, 18.0, 22.0)

    assert out.limit[0] == Limit.GRIPPED
    assert out.speed[0] == pytest.approx(v, rel=1e-3)
    assert out.backspin[0] * BALL.radius == pytest.approx(w, rel=5e-3)


def test_an_uneven_upper_pair_gives_sidespin() -> None:
    out = shot(TRIO, upper_right_rim_speed=19.0, gap=0.1)

    assert out.spin[0, 2] < 0  # the left one is faster: the ball turns to the right


def test_findings_name_what_is_at_work() -> None:
    said = " ".join(TRIO.findings(BALL))
    crowned = " ".join(dataclasses.replace(TRIO, crown_radius=Amount(0.02)).findings(BALL))
    uneven = " ".join(TRIO.with_amounts({"lower_rim_speed": 22.0, "upper_grip": 0.3}).findings(BALL))

    assert "equal rim speeds on flat treads give no backspin" in said
    assert "Tread: the ball rides on the shoulders" in crowned
    assert "Speeds: the rim speeds differ" in uneven
    assert "Grip: the upper wheels have less" in uneven


def test_crowned_upper_wheels_at_equal_speed_give_backspin() -> None:
    crowned = dataclasses.replace(TRIO, crown_radius=Amount(0.02), wheel_inertia=Amount(1e6))

    assert shot(crowned, gap=0.1).backspin[0] > 0


def test_cautions_tell_energy_squeeze_bite_and_slippery_hood() -> None:
    hood = " ".join(HOOD.cautions(BALL))
    tight = " ".join(dataclasses.replace(PAIR, gap=Amount(0.11), wheel_grip=Amount(0.3)).cautions(BALL))
    slippery = " ".join(dataclasses.replace(HOOD, hood_grip=Amount(0.1)).cautions(BALL))

    assert "hold 40 J" in hood
    assert "11 % of its diameter" in hood
    assert "don't draw it in" in tight
    assert "a slippery hood is a slower one" in slippery


def test_a_loose_ball_is_not_thrown() -> None:
    out = shot(HOOD, gap=0.2)

    assert out.limit[0] == Limit.NO_BITE
    assert out.speed[0] == 0
    assert out.energy_taken[0] + out.motor_work[0] == pytest.approx(
        out.ball_energy[0] + sum(loss[0] for loss in out.losses.values()), abs=1e-6
    )


def test_energy_lost_takes_its_share_of_the_ball() -> None:
    whole, less = shot(HOOD), shot(HOOD, energy_lost=0.19)

    assert less.speed[0] == pytest.approx(0.9 * whole.speed[0], rel=1e-12)
    assert less.losses["not in the model"][0] == pytest.approx(0.19 * (whole.ball_energy[0] + 0.07), rel=1e-9)


@given(squeeze=st.floats(0.001, 0.04), angle=st.floats(0.0, 1.2))
@settings(max_examples=30, deadline=None)
def test_the_settled_ball_is_in_balance(squeeze: float, angle: float) -> None:
    law, cos = Hertz(4e4), np.array([math.cos(angle)])
    below, above = settled(law, np.array([squeeze]), cos)

    np.testing.assert_allclose(law.force(2 * below), 2 * cos * law.force(2 * above), rtol=1e-9)
    np.testing.assert_allclose(below + cos * above, squeeze, rtol=1e-12)


def test_more_ball_in_the_same_gap_matters_only_while_it_slips() -> None:
    rng = np.random.default_rng(1)
    sizes = 0.178 + 0.001 * rng.standard_normal(200)
    gripped = HOOD.release(input_arrays(HOOD, BALL, {"ball_diameter": sizes}))
    short = dataclasses.replace(HOOD, wrap_angle=Amount(0.15))
    slipping = short.release(input_arrays(short, BALL, {"ball_diameter": sizes}))

    assert slipping.speed.std() > 10 * gripped.speed.std()


def around(*surfaces: Around) -> WheelsAround:
    return WheelsAround(
        name="around", elevation=Amount(0.9), release_height=Amount(0.5), contact_length=Amount(2.0),
        surfaces=surfaces, compression=Hertz(4e8),
    )  # fmt: skip


def wheel(name: str, place: float, speed: float) -> Around:
    return Around(
        name=name,
        place=Amount(math.radians(place)),
        rim_speed=Amount(speed),
        inertia=Amount(1e6),
        grip=Amount(0.6),
        squeeze=Amount(1e-4),
    )


def test_three_wheels_120_degrees_apart() -> None:
    """v = mean, r omega_y = (2/3) sum u sin psi, r omega_z = -(2/3) sum u cos psi (closed form)."""
    launcher = around(wheel("low", 270, 22.0), wheel("left", 150, 18.0), wheel("right", 30, 17.0))
    out = launcher.release(input_arrays(launcher, BALL, {"elevation": 0.0}))

    assert out.limit[0] == Limit.GRIPPED
    assert out.speed[0] == pytest.approx(19.0, rel=1e-6)
    np.testing.assert_allclose(out.spin[0] * 0.089, [0, -3.0, -0.57735], atol=5e-3)


def test_four_wheels_that_contradict_each_other_say_so() -> None:
    four = around(
        *(wheel(str(i), place, u) for i, (place, u) in enumerate(((270, 21), (180, 20), (90, 18), (0, 19.5))))
    )
    out = four.release(input_arrays(four, BALL))

    assert out.limit[0] == Limit.A_SURFACE_SLIPS
    assert "contradict each other" in " ".join(four.cautions(BALL))
    # what least squares leaves: 0.125 m/s at every contact (closed form)
    assert "slips by 0.13" in " ".join(four.cautions(BALL))


def test_amounts_of_surfaces_can_be_named_and_changed() -> None:
    launcher = around(
        wheel("low", 270, 22.0),
        Around(name="top rail", place=Amount(1.57), grip=Amount(0.5), squeeze=Amount(1e-4)),
    )
    changed = launcher.with_amounts({"low_rim_speed": 18.0, "contact_length": 1.0})

    assert changed.surfaces[0].rim_speed.value == 18.0
    assert changed.contact_length.value == 1.0
    assert "top_rail_grip" in {one.name for one in launcher.inputs(BALL)}
    assert changed.release(input_arrays(changed, BALL)).speed[0] == pytest.approx(9.0, rel=1e-3)
    with pytest.raises(BadInput, match="no such amount"):
        launcher.with_amounts({"side_rim_speed": 1.0})
