"""From mean marks back to the launch: simulated trials whose truth is known."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from shotwright.base.errors import NoAnswer
from shotwright.flight.chance import AZIMUTH, ELEVATION, SPEED
from shotwright.flight.model import FlightModel, flight_model
from shotwright.game.records import Ball, CoefficientLaw, Weather
from shotwright.trials.dispersion import marked_shots, marks_of
from shotwright.trials.launch import mean_launch, trial_evidence
from shotwright.trials.records import Prototype, Shot, Trial
from shotwright.trials.synthetic.crew import Truth, draw_balls, simulate_trial

BALL = Ball(
    "ball",
    0.15,
    0.16,
    CoefficientLaw("constant", 0.47),
    CoefficientLaw("cross"),
    diameter_sd=0.001,
    mass_sd=0.003,
)
HOOD = Prototype(
    "hood",
    release_height=0.5,
    elevation_low=math.radians(55),
    elevation_high=math.radians(55),
    spin_parameter=0.3,
)
FLOOR = Trial("floor", "hood", elevation=math.radians(55), mark_sd=0.0, origin="simulated")
PLANE = replace(FLOOR, name="plane", surface="plane", surface_at=3.0)
STILL = Truth("hood", 0.0, 0.0, 0.0)
LOOSE = Truth("hood", 0.02, 0.6, 0.8)


@pytest.fixture(scope="module")
def model() -> FlightModel:
    return flight_model(BALL, Weather())


@pytest.mark.parametrize("trial", [FLOOR, PLANE], ids=lambda t: t.surface)
def test_the_launch_behind_marks_without_scatter_is_found_again(model: FlightModel, trial: Trial) -> None:
    fired = simulate_trial(model, HOOD, trial, STILL, 7.3, 3, np.random.default_rng(1))
    found = mean_launch(model, HOOD, trial, fired)
    # Inverse of the simulation: agreement to the tolerance of the flight, not of statistics.
    assert found.speed == pytest.approx(7.3, abs=1e-6)
    assert found.elevation == math.radians(55)
    assert found.solved_for == "speed"
    assert found.spin == pytest.approx(0.3 * 7.3 / 0.075, rel=1e-6)


@pytest.mark.parametrize("trial", [FLOOR, PLANE], ids=lambda t: t.surface)
def test_the_mean_launch_of_a_scattered_trial_is_within_its_standard_error(
    model: FlightModel, trial: Trial
) -> None:
    n = 400
    fired = simulate_trial(model, HOOD, replace(trial, mark_sd=0.01), LOOSE, 7.3, n, np.random.default_rng(2))
    found = mean_launch(model, HOOD, trial, fired)
    elevation_part = found.first[ELEVATION] / found.first[SPEED] * math.radians(0.6)
    standard_error = math.hypot(0.02 * 7.3, elevation_part) / math.sqrt(n)
    # Curvature of the flight shifts the mean mark by less than half a per cent of the speed.
    assert found.speed == pytest.approx(7.3, abs=4 * standard_error + 0.005 * 7.3)


@pytest.mark.parametrize("trial", [FLOOR, PLANE], ids=lambda t: t.surface)
def test_derivatives_of_the_mark_are_differences_of_marks(model: FlightModel, trial: Trial) -> None:
    def mark(speed: float, elevation: float) -> float:
        at = replace(trial, elevation=elevation)
        shot = simulate_trial(model, HOOD, at, STILL, speed, 1, np.random.default_rng(3))[0]
        return float(shot.along if shot.along is not None else shot.height or math.nan)

    found = mean_launch(
        model, HOOD, trial, simulate_trial(model, HOOD, trial, STILL, 7.3, 3, np.random.default_rng(3))
    )
    h, angle = 1e-3, math.radians(55)
    by_speed = (mark(7.3 + h, angle) - mark(7.3 - h, angle)) / (2 * h)
    by_elevation = (mark(7.3, angle + h) - mark(7.3, angle - h)) / (2 * h)
    assert found.first[SPEED] == pytest.approx(by_speed, rel=1e-4)
    assert found.first[ELEVATION] == pytest.approx(by_elevation, rel=1e-4, abs=1e-5)
    # A small turn moves a mark on the floor by its distance; on a plane at x = 3 by 3 (geometry).
    on_floor = simulate_trial(model, HOOD, FLOOR, STILL, 7.3, 1, np.random.default_rng(3))
    reach = on_floor[0].along
    assert found.cross[AZIMUTH] == pytest.approx(reach if trial.surface == "floor" else 3.0, rel=1e-3)


def test_elevation_is_solved_from_measured_speeds(model: FlightModel) -> None:
    flat = replace(FLOOR, elevation=math.radians(32))
    fired = simulate_trial(model, HOOD, flat, STILL, 7.3, 4, np.random.default_rng(4))
    measured = [replace(s, speed=7.3) for s in fired]
    found = mean_launch(model, HOOD, replace(FLOOR, elevation=None), measured)
    assert found.solved_for == "elevation"
    assert found.speed == 7.3
    # Below the elevation of the longest throw the mark has one flat launch: it is the one that was fired.
    assert math.degrees(found.elevation) == pytest.approx(32.0, abs=1e-4)


def test_measured_elevations_lead_over_the_one_set(model: FlightModel) -> None:
    fired = simulate_trial(model, HOOD, FLOOR, STILL, 7.3, 3, np.random.default_rng(5))
    measured = [replace(s, elevation=math.radians(a)) for s, a in zip(fired, (54.0, 55.0, 56.0), strict=True)]
    found = mean_launch(model, HOOD, replace(FLOOR, elevation=math.radians(70)), measured)
    assert math.degrees(found.elevation) == pytest.approx(55.0)
    assert found.speed == pytest.approx(7.3, abs=1e-6)


def test_neither_elevation_nor_speed_says_what_to_measure(model: FlightModel) -> None:
    fired = simulate_trial(model, HOOD, FLOOR, STILL, 7.3, 3, np.random.default_rng(6))
    with pytest.raises(NoAnswer, match="neither an elevation nor measured speeds"):
        mean_launch(model, HOOD, replace(FLOOR, elevation=None), fired)


def test_no_mark_at_all_is_told(model: FlightModel) -> None:
    aside = Shot("u", "floor", 1, along=4.0, cross=0.0, set_aside="slipped")
    with pytest.raises(NoAnswer, match="no shot with a mark"):
        mean_launch(model, HOOD, FLOOR, [aside, Shot("v", "floor", 2, along=4.0)])


def test_a_mark_that_no_launch_reaches_is_told(model: FlightModel) -> None:
    behind = [Shot(f"u{k}", "floor", k + 1, along=-40.0, cross=0.0) for k in range(3)]
    with pytest.raises(NoAnswer, match=r"no launch ends at the mean mark.*-40\.00 m.*units"):
        mean_launch(model, HOOD, FLOOR, behind)


def test_marks_leave_out_what_was_set_aside_and_keep_the_order_of_firing() -> None:
    shots = [
        Shot("c", "floor", 3, along=3.0, cross=0.3),
        Shot("a", "floor", 1, along=1.0, cross=0.1),
        Shot("b", "floor", 2, along=2.0, cross=0.2, set_aside="slipped"),
        Shot("d", "floor", 4, height=2.0, cross=0.2),
    ]
    points, kept = marks_of(FLOOR, shots), marked_shots(FLOOR, shots)
    assert points.tolist() == [[1.0, 0.1], [3.0, 0.3]]
    assert [s.uid for s in kept] == ["a", "c"]


def test_what_is_not_the_launchers_goes_into_the_known_part(model: FlightModel) -> None:
    rng = np.random.default_rng(7)
    trial = replace(FLOOR, mark_sd=0.02)
    fired = simulate_trial(model, HOOD, trial, LOOSE, 7.3, 7, rng, balls=draw_balls(BALL, 7, rng))
    many = trial_evidence(model, BALL, HOOD, trial, fired)
    one = trial_evidence(model, BALL, HOOD, replace(trial, same_ball=True), fired)
    assert one.in_plane_known[0, 0] == pytest.approx(0.02**2)
    assert many.in_plane_known[0, 0] > one.in_plane_known[0, 0]
    # Balls on their own, fired without any other scatter, scatter as the known part says (800 balls: 2.5 %).
    still = simulate_trial(model, HOOD, FLOOR, STILL, 7.3, 800, rng, balls=draw_balls(BALL, 800, rng))
    balls_only = trial_evidence(model, BALL, HOOD, FLOOR, still)
    seen = math.sqrt(balls_only.in_plane_covariance[0, 0])
    assert seen == pytest.approx(math.sqrt(balls_only.in_plane_known[0, 0]), rel=0.1)


def test_measured_speeds_count_only_with_their_reading_spread(model: FlightModel) -> None:
    rng = np.random.default_rng(8)
    fired = simulate_trial(model, HOOD, FLOOR, LOOSE, 7.3, 6, rng)
    fired = tuple(replace(s, speed=7.3 + 0.1 * rng.standard_normal()) for s in fired)
    without = trial_evidence(model, BALL, HOOD, FLOOR, fired)
    stated = trial_evidence(model, BALL, HOOD, replace(FLOOR, speed_sd=0.03), fired)
    assert without.in_plane.shape == (1, 2)
    assert stated.in_plane.tolist()[1] == [1.0, 0.0]
    assert stated.in_plane_known[1, 1] == pytest.approx(0.03**2)
    assert stated.in_plane_covariance[1, 1] == pytest.approx(np.var([s.speed for s in fired], ddof=1))


def test_simulated_shots_say_what_they_are(model: FlightModel) -> None:
    rng = np.random.default_rng(9)
    balls = draw_balls(BALL, 3, rng)
    fired = simulate_trial(model, HOOD, FLOOR, LOOSE, 7.3, 7, rng, balls=balls)
    assert {s.source for s in fired} == {"simulated"}
    assert [s.ball for s in fired] == ["A", "B", "C", "A", "B", "C", "A"]
    assert [s.order for s in fired] == list(range(1, 8))
    assert len({s.uid for s in fired}) == 7
    short = simulate_trial(model, HOOD, replace(PLANE, surface_at=30.0), LOOSE, 7.3, 7, rng)
    assert short == ()
