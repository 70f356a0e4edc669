"""Slip and grip between ball, wheels and hoods: books, end states, and a general integrator."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from shotwright.launcher.compression import Hertz, Readings, fit_compression
from shotwright.launcher.impulse import gripped_state, rolling_state
from shotwright.launcher.rolling import hood_contact_needed, lift_off_speed, opposed_contact_needed
from shotwright.launcher.slipping import Passage, SlipRun, Surface, run

M, R, ALPHA = 0.14, 0.089, 0.4
INERTIA = st.floats(0.35, 0.7)
GRIP = st.floats(0.2, 1.2)
MASS = st.floats(0.05, 5.0)


def imbalance(went: SlipRun, surfaces: list[Surface], alpha: float, fed: float) -> float:
    """Energy given less energy found, as a share of what the wheels held."""
    wheels = [
        0.5 * float(one.reduced_mass) * float(one.rim_speed) ** 2
        for one in surfaces
        if one.reduced_mass != math.inf
    ]
    after = [
        0.5 * float(one.reduced_mass) * went.rim_speeds[0, i] ** 2
        for i, one in enumerate(surfaces)
        if one.reduced_mass != math.inf
    ]
    ball = 0.5 * M * (went.speed[0] ** 2 + alpha * (went.backspin[0] ** 2 + went.sidespin[0] ** 2) - fed**2)
    given = sum(wheels) - sum(after) + went.motor_work[0]
    return float(abs(given - ball - went.heats[0].sum() - went.squeeze_loss[0]) / sum(wheels))


def hood(
    alpha: float,
    mass: float,
    grips: tuple[float, float],
    force: float,
    length: float,
    fed: float = 1.0,
    **more: object,
) -> tuple[SlipRun, list[Surface]]:
    surfaces = [
        Surface("wheel", 1.0, 0.0, grips[0], 20.0, mass, normal_force=force, drive=more.pop("drive", 0.0)),
        Surface("hood", -1.0, 0.0, grips[1], normal_force=force),
    ]
    return run(Passage(M, R, alpha, fed, 0.0, length, **more), surfaces, tolerance=1e-12), surfaces  # type: ignore[arg-type]


@given(
    alpha=INERTIA, mass=MASS, wheel=GRIP, surface=GRIP, force=st.floats(20, 400),
    length=st.floats(0.02, 2), fed=st.floats(0, 5), drag=st.floats(0, 5), drive=st.floats(0, 10),
)  # fmt: skip
@settings(max_examples=60, deadline=None)
def test_energy_book_closes_to_rounding(
    alpha: float,
    mass: float,
    wheel: float,
    surface: float,
    force: float,
    length: float,
    fed: float,
    drag: float,
    drive: float,
) -> None:
    went, surfaces = hood(alpha, mass, (wheel, surface), force, length, fed, drag=drag, drive=drive)

    assert imbalance(went, surfaces, alpha, fed) < 1e-12


# a slip below 2e-8 m/s counts as none (`slip_kernel._NEAR`): a ball fed that slowly is taken as at rest
FED = st.one_of(st.just(0.0), st.floats(1e-6, 5))


@given(alpha=INERTIA, mass=MASS, wheel=GRIP, surface=GRIP, fed=FED)
@settings(max_examples=40, deadline=None)
def test_long_contact_ends_where_momentum_says_whatever_the_grip(
    alpha: float, mass: float, wheel: float, surface: float, fed: float
) -> None:
    went, _ = hood(alpha, mass, (wheel, surface), 150.0, 50.0, fed)
    end = gripped_state(M, alpha, [(1, 0), (-1, 0)], [20.0, 0.0], [mass, np.inf], (fed, 0.0, 0.0))

    assert (went.slips == 0).all()
    np.testing.assert_allclose(went.speed, end.speed, rtol=1e-11)
    np.testing.assert_allclose(went.backspin, end.backspin, rtol=1e-11)
    np.testing.assert_allclose(went.rim_speeds[0, 0], end.rim_speeds[0, 0], rtol=1e-11)
    np.testing.assert_allclose(went.heats.sum(), end.slip_loss[0], rtol=1e-10)


@given(
    speeds=st.tuples(*[st.floats(10, 30)] * 3),
    masses=st.tuples(*[MASS] * 3),
    grips=st.tuples(*[GRIP] * 3),
    angle=st.floats(0.1, 1.2),
)
@settings(max_examples=40, deadline=None)
def test_three_wheels_too_with_spin_about_both_axes(
    speeds: tuple[float, ...], masses: tuple[float, ...], grips: tuple[float, ...], angle: float
) -> None:
    arms = [(1.0, 0.0), (-math.cos(angle), -math.sin(angle)), (-math.cos(angle), math.sin(angle))]
    surfaces = [
        Surface(str(i), *arm, grip, speed, mass, normal_force=100.0)
        for i, (arm, grip, speed, mass) in enumerate(zip(arms, grips, speeds, masses, strict=True))
    ]
    went = run(Passage(M, R, ALPHA, 1.0, 0.0, 400.0), surfaces)
    end = gripped_state(M, ALPHA, arms, speeds, masses, (1.0, 0.0, 0.0))

    assert imbalance(went, surfaces, ALPHA, 1.0) < 1e-12
    np.testing.assert_allclose(
        [went.speed[0], went.backspin[0], went.sidespin[0]],
        [end.speed[0], end.backspin[0], end.sidespin[0]],
        rtol=1e-9,
        atol=1e-9,
    )


def test_two_rails_of_a_hood_share_their_friction() -> None:
    """The same arms twice: the system is singular, the motion is not."""
    phi = math.radians(30)
    rails = [
        Surface("left", -math.cos(phi), 0.0, 0.6, normal_force=80.0),
        Surface("right", -math.cos(phi), 0.0, 0.6, normal_force=80.0),
    ]
    one = [Surface("both", -math.cos(phi), 0.0, 0.6, normal_force=160.0)]
    wheel = Surface("wheel", 1.0, 0.0, 0.6, 20.0, 0.2, normal_force=150.0)
    path = Passage(M, R, ALPHA, 1.0, 0.0, 0.3)

    twice, once = run(path, [wheel, *rails]), run(path, [wheel, *one])

    np.testing.assert_allclose(twice.speed, once.speed, rtol=1e-8)
    np.testing.assert_allclose(twice.backspin, once.backspin, rtol=1e-8)


def test_a_slippery_hood_makes_a_slower_ball_with_more_spin() -> None:
    rough, _ = hood(ALPHA, 1e9, (0.6, 0.6), 150.0, 0.1)
    smooth, _ = hood(ALPHA, 1e9, (0.6, 0.05), 150.0, 0.1)

    assert smooth.speed[0] < rough.speed[0]
    assert smooth.backspin[0] > rough.backspin[0]
    # without any friction: alpha/(1 + alpha) of the rim speed (closed form)
    free, _ = hood(ALPHA, 1e9, (0.6, 0.0), 150.0, 5.0, 0.0)
    np.testing.assert_allclose(free.speed[0] / 20, ALPHA / (1 + ALPHA), rtol=1e-8)
    np.testing.assert_allclose(free.backspin[0] / free.speed[0], 1 / ALPHA, rtol=1e-8)


def test_equal_light_wheels_spaced_apart_give_topspin() -> None:
    phi = math.radians(34)
    arms = [(1.0, 0.0), (-math.cos(phi), -math.sin(phi)), (-math.cos(phi), math.sin(phi))]
    light = gripped_state(M, ALPHA, arms, [20.0] * 3, [0.2] * 3)
    heavy = gripped_state(M, ALPHA, arms, [20.0] * 3, [np.inf] * 3)

    assert light.backspin[0] < -0.5
    assert abs(heavy.backspin[0]) < 1e-12


def test_slip_on_an_uneven_hood_agrees_with_a_general_integrator() -> None:
    """Radau over the regularised friction law F = mu N tanh(slip/eps) closes in on ours as eps falls."""
    force, grips, mass, length = 120.0, (0.5, 0.2), 0.3, 0.12

    def rates(_: float, y: np.ndarray, eps: float) -> list[float]:
        _, v, w, u = y
        wheel = grips[0] * force * math.tanh((u - v - w) / eps)
        fixed = grips[1] * force * math.tanh((w - v) / eps)
        return [v, (wheel + fixed) / M, (wheel - fixed) / (ALPHA * M), -wheel / mass]

    def end(_: float, y: np.ndarray, eps: float) -> float:
        return float(y[0] - length)

    end.terminal = True  # type: ignore[attr-defined]
    went, _ = hood(ALPHA, mass, grips, force, length)
    found = []
    for eps in (1e-3, 1e-4):
        solved = solve_ivp(
            rates, (0, 1), [0.0, 1.0, 0.0, 20.0], "Radau", events=end, rtol=1e-10, atol=1e-11, args=(eps,)
        )
        found.append(solved.y[1:, -1])
    ours = np.array([went.speed[0], went.backspin[0], went.rim_speeds[0, 0]])

    assert np.abs(found[1] - ours).max() < 2e-4
    assert np.abs(found[1] - ours).max() < 0.5 * np.abs(found[0] - ours).max() + 1e-8


@given(
    stiffness=st.floats(1e4, 1e5), grip=st.floats(0.5, 1.2), gap=st.floats(0.13, 0.17),
    loss=st.floats(0, 0.4), upper=st.floats(15, 25),
)  # fmt: skip
@settings(max_examples=15, deadline=None)
def test_books_close_for_wheels_passed_in_their_true_geometry(
    stiffness: float, grip: float, gap: float, loss: float, upper: float
) -> None:
    axis = 0.1 + gap / 2
    half = math.sqrt((0.1 + R) ** 2 - axis**2)
    surfaces = [
        Surface(name, arm, 0.0, grip, speed, 0.5, wheel_radius=0.1, axis_distance=axis)
        for name, arm, speed in (("upper", -1.0, upper), ("lower", 1.0, 20.0))
    ]
    went = run(Passage(M, R, ALPHA, 4.0, -half, half), surfaces, Hertz(stiffness, loss), tolerance=1e-11)

    assert imbalance(went, surfaces, ALPHA, 4.0) < 1e-8
    if loss > 0.01 and went.left[0]:
        assert went.squeeze_loss[0] == pytest.approx(loss * 0.4 * stiffness * (0.178 - gap) ** 2.5, rel=1e-6)


def test_a_measured_law_that_is_hertz_gives_what_hertz_gives() -> None:
    law = Hertz(4e4, 0.2)
    read = np.linspace(0.0, 0.04, 60)[1:]
    measured = fit_compression(
        Readings(tuple(zip(read.tolist(), law.force(read).tolist(), strict=True)), assumed_loss=0.2)
    )
    axis = 0.1 + 0.075
    half = math.sqrt((0.1 + R) ** 2 - axis**2)
    surfaces = [
        Surface("wheel", arm, 0.0, 0.9, 20.0, 0.5, wheel_radius=0.1, axis_distance=axis)
        for arm in (-1.0, 1.0)
    ]
    path = Passage(M, R, ALPHA, 3.0, -half, half)

    by_law, by_table = run(path, surfaces, law), run(path, surfaces, measured, peak_squeeze=0.028)

    np.testing.assert_allclose(by_table.speed, by_law.speed, rtol=2e-3)


def test_grip_comes_where_the_closed_forms_say() -> None:
    needed = hood_contact_needed(M, ALPHA, 20.0, 0.6 * 150)
    went, _ = hood(ALPHA, 1e12, (0.6, 0.6), 150.0, 1.0, 0.0)
    wheels = [Surface("w", arm, 0.0, 0.6, 20.0, 1e12, normal_force=150.0) for arm in (1.0, -1.0)]
    between = run(Passage(M, R, ALPHA, 0.0, 0.0, 1.0), wheels)

    np.testing.assert_allclose(went.grip_place[0, 0], needed, rtol=1e-9)
    np.testing.assert_allclose(between.grip_place[0], opposed_contact_needed(M, 20.0, 90.0), rtol=1e-9)


def test_a_ball_that_is_too_fast_for_its_curve_leaves_the_wheel() -> None:
    limit = lift_off_speed(M, 20.0, 0.189)
    surfaces = [
        Surface("wheel", 1.0, 0.0, 0.6, 40.0, 0.5, normal_force=20.0, curve_share=-0.5),
        Surface("hood", -1.0, 0.0, 0.6, normal_force=20.0, curve_share=0.5),
    ]
    slow = run(Passage(M, R, ALPHA, 1.0, 0.0, 0.5, 0.189), surfaces)
    fast = run(Passage(M, R, ALPHA, 1.2 * limit, 0.0, 0.5, 0.189), surfaces)

    assert slow.speed[0] < limit
    assert fast.lifted[0]


def test_a_loose_ball_stays_inside() -> None:
    went = run(Passage(M, R, ALPHA, 0.0, 0.0, 0.3), [Surface("wheel", 1.0, 0.0, 0.6, 20.0, 0.2)])

    assert went.stuck[0]
    assert went.speed[0] == 0


def test_many_balls_at_once_are_the_single_ones() -> None:
    rng = np.random.default_rng(5)
    grips = rng.uniform(0.3, 0.9, 5000)
    surfaces = [
        Surface("wheel", 1.0, 0.0, grips, 20.0, 0.2, normal_force=100.0, curve_share=-0.5),
        Surface("hood", -1.0, 0.0, 0.5, normal_force=100.0, curve_share=0.5),
    ]
    path = Passage(M, R, ALPHA, 1.0, 0.0, 0.25, 0.189)
    many = run(path, surfaces)

    for i in (0, 2499, 4999):
        alone = run(
            path,
            [
                Surface("wheel", 1.0, 0.0, grips[i], 20.0, 0.2, normal_force=100.0, curve_share=-0.5),
                surfaces[1],
            ],
        )
        assert alone.speed[0] == many.speed[i]


def test_slipping_spreads_gripping_does_not() -> None:
    """Log-sensitivity of the speed to mu N: 0.4978 while it slips (reference run), 0 once it grips."""

    def speed(length: float, scale: float) -> float:
        surfaces = [
            Surface("wheel", 1.0, 0.0, 0.4, 25.0, 0.2, normal_force=60.0 * scale),
            Surface("hood", -1.0, 0.0, 0.4, normal_force=60.0 * scale),
        ]
        return float(run(Passage(M, R, ALPHA, 1.0, 0.0, length), surfaces).speed[0])

    step = 1e-5
    slope = [
        (math.log(speed(length, 1 + step)) - math.log(speed(length, 1 - step))) / (2 * step)
        for length in (0.189 * math.radians(60), 1.0)
    ]

    # computed by differentiation of the closed forms, for the 60° wrap
    assert slope[0] == pytest.approx(0.497799244, abs=1e-6)
    assert abs(slope[1]) < 1e-9


def test_canted_wheels_give_rifle_spin_and_two_wheels_leave_one_turn_free() -> None:
    places = [[0, 0, -R], [0, 0, R]]
    canted = rolling_state(places, [[20, 1.5, 0], [20, -1.5, 0]])
    straight = rolling_state(places, [[20, 0, 0], [20, 0, 0]])

    # the lower surface moves to the left: the ball turns about x with r omega = 1.5 m/s
    assert abs(abs(canted.spin[0]) * R - 1.5) < 1e-12
    assert canted.all_grip
    assert straight.free == 1
    assert not rolling_state(places, [[20, 1.5, 0], [20, 1.5, 0]]).all_grip
