"""Drive bases: sprints against an independent integration, books, pushes, turns, ratios."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.powertrain.motor import SelfResetting, generic_motors
from shotwright.powertrain.supply import Battery, Breaker, Supply, generic_battery
from shotwright.powertrain.train import Train, stage
from shotwright.robot.drive_base import DriveBase, force_line, push
from shotwright.robot.pushing import force_held_for, held_push, hold_times
from shotwright.robot.ratio_map import Mix, even_ratios, ratio_map
from shotwright.robot.sprint import best_sprint_ratio, sprint
from shotwright.robot.sprint_run import run_sprint
from shotwright.robot.turning import turning

COLD = dataclasses.replace(generic_motors()[1], copper_coefficient=0.0, magnet_coefficient=0.0)


def base(ratio: float = 10.0, **more: object) -> DriveBase:
    """The bench: a battery whose voltage does not fall with its charge, motors that don't feel heat."""
    supply = Supply(Battery("bench", 64800.0, (1.0,), (12.0,), (0.02,)), wiring=0.01)
    given_: dict[str, object] = {
        "mass": 15.0,
        "wheel_radius": 0.05,
        "grip": 0.9,
        "motor": COLD,
        "motors": 4,
        "train": Train((stage("spur", ratio, 0.85),)),
        "supply": supply,
    }
    return DriveBase(**(given_ | more))  # type: ignore[arg-type]


def real(**more: object) -> DriveBase:
    """A base that sags, warms, rolls, and has limits everywhere."""
    motor = dataclasses.replace(generic_motors()[1], protection=SelfResetting(0.02, 40.0, 0.9, 273.15 + 125))
    supply = Supply(
        generic_battery("NiMH", 10, 3.0, 0.05),
        0.95,
        wiring=0.01,
        current_limit=30.0,
        other_current=3.0,
        main_breaker=Breaker(60.0),
        motor_breaker=Breaker(20.0),
    )
    return base(14.0, motor=motor, supply=supply, rolling=0.02, wheel_inertia=1e-3, **more)


def integrated(one: DriveBase, distance: float, eased: bool) -> tuple[float, float]:
    """Time and speed at a distance from an integration that knows nothing of the pieces: (x, v, rim, ...)."""
    line = force_line(one)
    wheels = one.wheel_inertia / one.wheel_radius**2
    rotors = line.effective_mass_kg - one.mass - wheels
    state = [0.0, 0.0, 0.0]

    def force(rim: float) -> float:
        return min(line.stall_force_n * (1 - rim / line.free_speed_m_s), line.limit_force_n)

    def together(_: float, y: np.ndarray) -> list[float]:
        a = (force(y[1]) - one.drag) / line.effective_mass_kg
        if eased:
            a = min(a, (one.traction - one.drag) / one.mass)
        return [y[1], a, a]

    def slipping(_: float, y: np.ndarray) -> list[float]:
        return [y[1], (one.traction - one.drag) / one.mass, (force(y[2]) - one.traction) / (wheels + rotors)]

    def there(_: float, y: np.ndarray) -> float:
        return float(y[0] - distance)

    def grips(_: float, y: np.ndarray) -> float:
        return float(y[2] - y[1])

    there.terminal = grips.terminal = True  # type: ignore[attr-defined]
    grips.direction = -1.0  # type: ignore[attr-defined]
    options = {"rtol": 1e-11, "atol": 1e-13, "max_step": 1e-3}
    start = 0.0
    if not eased:
        done = solve_ivp(slipping, (0, 20), state, events=[there, grips], **options)
        start, state = done.t[-1], list(done.y[:, -1])
        if len(done.t_events[0]):
            return start, float(state[1])
        state[2] = state[1]
    done = solve_ivp(together, (start, 40), state, events=[there], **options)
    return float(done.t[-1]), float(done.y[1, -1])


@pytest.mark.parametrize("more", [{}, {"rolling": 0.02, "wheel_inertia": 1e-3, "driven_share": 0.6}])
def test_sprint_in_closed_form_against_integration_and_simulation(more: dict[str, float]) -> None:
    one = base(10.0, **more)
    found = sprint(one, 3.0)
    # independent implementation: DOP of a general library, with the same physics written anew
    assert found.time_s == pytest.approx(integrated(one, 3.0, eased=True)[0], rel=1e-8)
    assert found.end_speed_m_s == pytest.approx(integrated(one, 3.0, eased=True)[1], rel=1e-7)
    followed = run_sprint(one, 3.0)
    assert followed.time_s == pytest.approx(found.time_s, rel=1e-11)
    assert followed.end_speed_m_s == pytest.approx(found.end_speed_m_s, rel=1e-11)


def test_a_sprint_that_ends_within_its_first_phase_and_one_at_the_current_limit() -> None:
    short = sprint(base(), 0.1)
    assert short.time_s == pytest.approx(math.sqrt(2 * 0.1 / (0.9 * 9.80665)), rel=1e-12)
    limited = base(supply=dataclasses.replace(base().supply, current_limit=20.0))
    found = sprint(limited, 3.0)
    assert found.limited_by == "current limit"
    assert found.time_s == pytest.approx(integrated(limited, 3.0, eased=True)[0], rel=1e-8)
    assert run_sprint(limited, 3.0).time_s == pytest.approx(found.time_s, rel=1e-11)


def test_wheels_that_spin_against_integration() -> None:
    one = base(10.0, wheel_inertia=1e-3)
    found = run_sprint(one, 3.0, start="full voltage")
    time, speed = integrated(one, 3.0, eased=False)
    assert found.time_s == pytest.approx(time, rel=1e-7)
    assert found.end_speed_m_s == pytest.approx(speed, rel=1e-7)
    assert found.spun_s > 0.2
    assert found.energy_j["wheels that spin"] > 10.0
    # rotors that are up to speed when the wheels grip again give their energy: not slower than easing off
    assert found.time_s <= run_sprint(one, 3.0).time_s


@settings(max_examples=25, deadline=None)
@given(
    ratio=st.floats(4, 40),
    grip=st.floats(0.2, 2.0),
    distance=st.floats(0.2, 8.0),
    rolling=st.floats(0.0, 0.05),
    start=st.sampled_from(["eased", "full voltage"]),
)
def test_the_energy_books_of_a_sprint_close(
    ratio: float, grip: float, distance: float, rolling: float, start: str
) -> None:
    one = dataclasses.replace(real().geared(ratio), grip=grip, rolling=rolling)
    try:
        run = run_sprint(one, distance, start=start)  # type: ignore[arg-type]
    except NoAnswer:
        return  # too weak for its rolling resistance
    assert sum(run.energy_j.values()) == pytest.approx(run.from_battery_j, rel=1e-9)
    assert all(joules >= -1e-9 * run.from_battery_j for joules in run.energy_j.values())
    assert run.ways_m[-1] == pytest.approx(distance, rel=1e-9)
    assert list(run.times_s) == sorted(run.times_s)


def test_smaller_steps_change_nothing_that_matters() -> None:
    coarse, fine = run_sprint(real(), 3.0, step=0.01), run_sprint(real(), 3.0, step=0.001)
    assert coarse.time_s == pytest.approx(fine.time_s, rel=1e-4)


def test_the_best_ratio_reaches_the_universal_share_of_its_free_speed() -> None:
    light = base(grip=1e6, motor=dataclasses.replace(COLD, rotor_inertia=1e-15))
    for distance in (0.5, 3.0, 12.0):
        ratio, _ = best_sprint_ratio(light, distance)
        found = sprint(light.geared(ratio), distance)
        # closed form: z - 3 + e^-z (3 + 2 z) = 0 gives 0.8834139672
        assert found.end_speed_m_s / found.top_speed_m_s == pytest.approx(0.8834139672, abs=1e-6)


def test_a_push_is_the_smaller_of_grip_and_motors() -> None:
    strong, weak = push(base(25.0)), push(base(4.0))
    assert strong.limited_by == "grip"
    assert strong.force_n == pytest.approx(0.9 * 15 * 9.80665)
    assert weak.limited_by == "motors"
    assert weak.force_n == pytest.approx(weak.motor_force_n)
    assert weak.motor_a == pytest.approx(12 / 0.24)  # stall: all resistances in series
    assert weak.battery_a == pytest.approx(4 * 12 / 0.24)
    # at part voltage the battery gives less than the motors carry
    assert strong.battery_a < 4 * strong.motor_a


def test_a_held_push_trips_when_the_breaker_equation_says_so() -> None:
    supply = dataclasses.replace(base().supply, motor_breaker=Breaker(4.0, 30.0, 1.05))
    one = base(15.0, supply=supply)
    found = held_push(one)
    amps = found.battery_a / 4
    # closed form: cold curve of IEC 60255-149
    assert found.ends_s["motor breaker"] == pytest.approx(Breaker(4.0, 30.0, 1.05).trip_time(amps), rel=1e-9)
    assert found.ended_by == "motor breaker"


def test_a_held_push_heats_the_winding_as_two_bodies_do() -> None:
    one = base(15.0)
    found = held_push(one)
    assert found.ended_by == "winding"
    heat = COLD.resistance * found.motor_a**2
    part = COLD.thermal

    def warming(_: float, y: np.ndarray) -> list[float]:
        between = (y[0] - y[1]) / part.winding_to_case
        return [
            (heat - between) / part.winding_capacity,
            (between - y[1] / part.case_to_air) / part.case_capacity,
        ]

    def hot(_: float, y: np.ndarray) -> float:
        return float(y[0] - (COLD.limit - 293.15))

    hot.terminal = True  # type: ignore[attr-defined]
    done = solve_ivp(warming, (0, 600), [0.0, 0.0], events=hot, rtol=1e-10, atol=1e-10)
    assert found.held_s == pytest.approx(done.t[-1], abs=1e-3)


@settings(max_examples=20, deadline=None)
@given(force=st.floats(20.0, 140.0), step=st.sampled_from([0.05, 0.25]))
def test_the_energy_books_of_a_push_close(force: float, step: float) -> None:
    found = held_push(real(), force, step=step, longest=60.0)
    assert sum(found.energy_j.values()) == pytest.approx(found.from_battery_j, rel=1e-9)


def test_motors_at_their_limit_push_less_when_warm() -> None:
    supply = dataclasses.replace(base().supply, current_limit=25.0)
    weak = base(6.0, motor=generic_motors()[1], supply=supply)
    assert push(weak).limited_by == "current limit"
    strict, loose = held_push(weak), held_push(weak, yields=True)
    assert strict.ended_by == "force of the warm motors"
    assert loose.ended_by == "winding"
    assert loose.held_s > strict.held_s
    assert loose.motor_a == pytest.approx(25.0)
    # magnets are warm with the case: K falls by 0.2 % a kelvin, and the force with it
    constant = generic_motors()[1].at(loose.winding_k, loose.case_k).constant
    assert loose.last_force_n == pytest.approx(loose.force_n * constant / 0.006, rel=1e-4)
    assert sum(loose.energy_j.values()) == pytest.approx(loose.from_battery_j, rel=1e-9)


def test_harder_pushes_are_held_for_less_time() -> None:
    times = hold_times(real(), (60.0, 90.0, 120.0, 10_000.0))
    assert times[0] > times[1] > times[2] > 0
    assert times[3] == 0


@settings(max_examples=25, deadline=None)
@given(wheelbase=st.floats(0.1, 0.8), track=st.floats(0.1, 0.8))
def test_a_turn_balances_the_moments_of_four_wheels(wheelbase: float, track: float) -> None:
    one = base(20.0, wheelbase=wheelbase, track=track)
    found = turning(one)
    if not found.can_turn:
        return
    omega, load = math.radians(found.rate_deg_s), one.traction / 4

    def unbalanced(rim: float) -> float:
        """Moment of friction against slip, wheel by wheel: rolling forwards at `rim`."""
        moment = 0.0
        for x in (-wheelbase / 2, wheelbase / 2):
            for y in (-track / 2, track / 2):
                # velocity of the ground contact: that of the turning robot, less the rim's
                slip = np.array([-omega * y, omega * x]) - np.array([-math.copysign(rim, y), 0.0])
                pull = -load * slip / np.linalg.norm(slip)
                moment += x * pull[1] - y * pull[0]
        return moment / one.traction

    rim = float(brentq(unbalanced, omega * track / 2, 100 * omega, xtol=1e-13, rtol=1e-12))
    line = force_line(one)
    # the rim's speed that balances the moments is the one at which the motors give that force
    assert line.stall_force_n * (1 - rim / line.free_speed_m_s) == pytest.approx(found.force_n, rel=1e-6)
    assert found.scrub_w == pytest.approx(found.force_n * rim, rel=1e-6)


def test_the_heat_limit_is_held_just_as_long() -> None:
    force = force_held_for(real(), 40.0)
    assert force < push(real()).force_n
    assert (
        held_push(real(), force * 1.001, step=0.25).held_s
        < 40.0
        <= held_push(real(), force, step=0.25).held_s
    )
    assert force_held_for(real(), 0.5) == push(real()).force_n


def test_turning_needs_its_dimensions() -> None:
    with pytest.raises(NoAnswer, match="wheelbase"):
        turning(base())


def test_the_ratio_map_weighs_sprints_and_pushes() -> None:
    ratios = even_ratios(4.0, 40.0, 25)
    sprints = ratio_map(real(), Mix(((3.0, 20),)), ratios)
    both = ratio_map(real(), Mix(((3.0, 20),), 8, 15.0, 130.0), ratios)
    assert sprints.pick.ratio == sprints.fastest.ratio
    # pushing wants it slower
    assert both.pick.ratio >= sprints.pick.ratio
    assert both.pick.cost_s <= min(row.cost_s for row in both.rows)
    assert all(row.push_force_n <= real().traction * (1 + 1e-12) for row in both.rows)
    assert both.needed_force_n == pytest.approx(130.0)
    rising = [row.push_force_n for row in both.rows]
    assert rising == sorted(rising)


def test_what_is_no_base_is_refused() -> None:
    with pytest.raises(BadInput, match="driven share"):
        base(driven_share=1.2)
    with pytest.raises(BadInput, match="distance"):
        sprint(base(), 0.0)
    with pytest.raises(NoAnswer, match="rolling resistance"):
        sprint(base(2.0, rolling=0.4), 1.0)
    with pytest.raises(NoAnswer):
        run_sprint(base(2.0, rolling=0.4), 1.0)
