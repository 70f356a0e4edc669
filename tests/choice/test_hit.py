"""Hit probability: two ways against each other, blocked, out of reach, what placement costs, counts."""

from __future__ import annotations

import csv
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from shotwright.base.errors import NoAnswer
from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.choice.counting import carried_marks, fired_hits
from shotwright.choice.hit import Launcher, hit_probability, launcher_from_trials, spread_summary
from shotwright.choice.linear import linear_hits
from shotwright.choice.records import HitDraws, HitProbability
from shotwright.flight.aiming import aims_through
from shotwright.flight.chance import COLUMNS, Scatter, Surroundings, flown_hits, linear_shots, surroundings
from shotwright.flight.model import FlightModel, flight_model
from shotwright.game.records import (
    Ball,
    CoefficientLaw,
    Defender,
    FiringPosition,
    Game,
    Prism,
    Target,
    Weather,
)
from shotwright.statistics.proportions import jeffreys
from shotwright.trials.records import Prototype, Shot, Trial
from shotwright.trials.synthetic.crew import Truth, simulate_trial

AUTHORITIES = Path(__file__).parents[1] / "authorities"
ANGLE = math.radians(55)
BALL = Ball("ball", 0.15, 0.16, CoefficientLaw("constant", 0.47), CoefficientLaw("cross"))
LANTERN = Target("lantern", (4.0, 0.0, 1.2), 0.0, math.pi / 2, radius=0.35, points=3.0)
BUMPED = FiringPosition("bumped", 0.0, 0.0, place_sd=0.01, heading_sd=math.radians(0.3))
EYEBALLED = replace(BUMPED, name="eyeballed", place_sd=0.12, heading_sd=math.radians(2.5))
WALL = Prism("wall", ((1.9, -1.0), (2.1, -1.0), (2.1, 1.0), (1.9, 1.0)), 0.0, 5.0)
GAME = Game("yard", 9.0, 6.0, BALL, (LANTERN,), (BUMPED, EYEBALLED), origin="invented")
HOOD = Prototype("hood", release_height=0.5, elevation_low=ANGLE, elevation_high=ANGLE)
TRIAL = Trial("T1", "hood", elevation=ANGLE, origin="simulated")


@pytest.fixture(scope="module")
def model() -> FlightModel:
    return flight_model(BALL, Weather())


@pytest.fixture(scope="module")
def fired(model: FlightModel) -> tuple[Shot, ...]:
    return simulate_trial(model, HOOD, TRIAL, Truth("hood", 0.02, 0.7, 1.0), 7.0, 7, np.random.default_rng(3))


def launcher(
    model: FlightModel,
    shots: tuple[Shot, ...],
    prototype: Prototype = HOOD,
    trial: Trial = TRIAL,
    flagged: int = 0,
) -> Launcher:
    return launcher_from_trials(
        model, GAME, prototype, [(trial, shots)], np.random.default_rng(5), draws=400, flagged=flagged
    )


def of(
    model: FlightModel, who: Launcher, position: FiringPosition = BUMPED, game: Game = GAME, **options: bool
) -> tuple[HitProbability, HitDraws | None]:
    return hit_probability(model, game, who, position, game.targets[0], 1, **options)


@pytest.fixture(scope="module")
def bumped(model: FlightModel, fired: tuple[Shot, ...]) -> tuple[HitProbability, HitDraws]:
    result, draws = of(model, launcher(model, fired))
    assert draws is not None
    return result, draws


# ---- the straight line against the flown balls


@pytest.mark.parametrize("faces", ["up", "back"])
def test_the_exact_integral_agrees_with_flown_balls(model: FlightModel, faces: str) -> None:
    target = LANTERN
    if faces == "back":
        corners = ((-0.4, -0.3), (0.4, -0.3), (0.4, 0.3), (-0.4, 0.3))
        target = Target("window", (4.0, 0.0, 1.2), math.pi, 0.0, corners=corners)
    aim = aims_through(model, target, np.array([0.0, 0.0, 0.5]), np.array([ANGLE]), 0.0)[0]
    assert aim is not None
    shot = linear_shots(model, target, [aim])[0]
    assert shot is not None
    scatter = Scatter(0.015, math.radians(0.8), math.radians(1.6))
    around = Surroundings(place_sd=0.03, heading_sd=math.radians(0.5))
    normals = np.random.default_rng(1).standard_normal((20_000, COLUMNS))
    flown = flown_hits(model, target, aim, scatter, around, normals, ball=BALL)
    exact = float(shot.chance(scatter, around)[0])
    # Two independent ways; Monte Carlo error of 20,000 balls, and 0.5 points for the flight's curvature.
    assert 0.3 < exact < 0.97
    assert float(flown.mean()) == pytest.approx(
        exact, abs=0.005 + 4 * math.sqrt(exact * (1 - exact) / len(normals))
    )
    # The same balls on the straight line: no curvature, Monte Carlo error alone.
    line = float(linear_hits(shot, scatter, around, normals).mean())
    assert line == pytest.approx(exact, abs=4 * math.sqrt(exact * (1 - exact) / len(normals)))


def test_the_crossing_scatters_as_the_flown_crossings(model: FlightModel) -> None:
    aim = aims_through(model, LANTERN, np.array([0.0, 0.0, 0.5]), np.array([ANGLE]), 0.0)[0]
    assert aim is not None
    shot = linear_shots(model, LANTERN, [aim])[0]
    assert shot is not None
    # Placement moves the crossing by as much as the robot (geometry: no wind, same flight).
    mean, covariance = shot.crossing_scatter(Scatter(0.0, 0.0, 0.0), Surroundings(place_sd=0.05))
    np.testing.assert_allclose(mean[0], shot.crossing)
    np.testing.assert_allclose(covariance[0], 0.05**2 * np.eye(2), atol=1e-9)
    # Independent variances add; heading and azimuth are one rotation.
    _, turned = shot.crossing_scatter(Scatter(0.0, 0.0, 0.03), Surroundings(heading_sd=0.04))
    _, both = shot.crossing_scatter(Scatter(0.0, 0.0, 0.05), Surroundings())
    np.testing.assert_allclose(turned, both)


# ---- the answer


def test_the_answer_says_where_it_comes_from(bumped: tuple[HitProbability, HitDraws]) -> None:
    result, draws = bumped
    assert isinstance(result.probability, Estimate)
    assert 0.0 <= result.probability.low < result.probability.value < result.probability.high <= 1.0
    assert result.setting is not None
    assert result.setting.elevation_deg == pytest.approx(55.0)
    assert result.origin == "simulated"
    assert result.trials == ("T1",)
    assert result.shots == 7
    assert result.points == 3.0
    assert len(draws.chance) == 400
    assert np.all((draws.chance >= 0) & (draws.chance <= 1))
    assert result.model.to_dict()["value"] == pytest.approx(float(draws.chance.mean()))
    assert any("hood from bumped at lantern scores" in w for w in result.words)
    assert result.doubt is not None
    assert result.doubt.few_shots + result.doubt.speed_or_elevation == pytest.approx(1.0)


@pytest.mark.slow
def test_the_same_seed_gives_the_same_numbers(
    model: FlightModel, fired: tuple[Shot, ...], bumped: tuple[HitProbability, HitDraws]
) -> None:
    again, draws = of(model, launcher(model, fired))
    assert again == bumped[0]
    assert draws is not None
    np.testing.assert_array_equal(draws.chance, bumped[1].chance)


def test_placing_by_eye_scores_less_than_bumping(
    model: FlightModel, fired: tuple[Shot, ...], bumped: tuple[HitProbability, HitDraws]
) -> None:
    by_eye, draws = of(model, launcher(model, fired), EYEBALLED)
    assert draws is not None
    assert draws.chance.mean() < bumped[1].chance.mean() - 0.02
    assert by_eye.position == "eyeballed"


def test_a_blocked_position_says_blocked(model: FlightModel, fired: tuple[Shot, ...]) -> None:
    who = launcher(model, fired)
    result, draws = of(model, who, game=replace(GAME, obstacles=(WALL,)))
    assert draws is None
    assert isinstance(result.probability, NotEstimated)
    assert result.probability.reason.startswith("blocked")
    assert result.setting is None
    guarded = replace(GAME, defenders=(Defender("warden", WALL),))
    assert isinstance(of(model, who, game=guarded, defended=True)[0].probability, NotEstimated)


@pytest.mark.slow
def test_a_defender_counts_only_when_asked(model: FlightModel, fired: tuple[Shot, ...]) -> None:
    guarded = replace(GAME, defenders=(Defender("warden", WALL),))
    assert isinstance(of(model, launcher(model, fired), game=guarded)[0].probability, Estimate)


def test_out_of_reach_says_so_with_both_speeds(model: FlightModel, fired: tuple[Shot, ...]) -> None:
    weak = replace(HOOD, speed_low=3.0, speed_high=5.0)
    result, _ = of(model, launcher(model, fired, weak))
    assert isinstance(result.probability, NotEstimated)
    assert "out of reach" in result.probability.reason
    assert "the prototype gives 3.0 to 5.0 m/s" in result.probability.reason


def test_a_ball_wider_than_the_opening_does_not_fit(model: FlightModel, fired: tuple[Shot, ...]) -> None:
    small = replace(GAME, targets=(replace(LANTERN, radius=0.07),))
    result, _ = of(model, launcher(model, fired), game=small)
    assert isinstance(result.probability, NotEstimated)
    assert "does not fit" in result.probability.reason


def test_too_few_shots_have_no_launcher(model: FlightModel, fired: tuple[Shot, ...]) -> None:
    for shots in (fired[:0], fired[:1], fired[:2]):
        with pytest.raises(NoAnswer):
            launcher(model, shots)


def test_the_summary_holds_the_hidden_spread(model: FlightModel) -> None:
    many = simulate_trial(
        model, HOOD, TRIAL, Truth("hood", 0.02, 0.0, 1.0), 7.0, 60, np.random.default_rng(8)
    )
    found = spread_summary(launcher(model, many))
    assert isinstance(found.azimuth_deg, Estimate)
    assert isinstance(found.speed_percent, Estimate)
    # Sixty shots: 9 % on a standard deviation (closed form); three of those.
    assert found.azimuth_deg.value == pytest.approx(1.0, rel=0.28)
    assert found.speed_percent.low < 2.0 * 1.28


# ---- counts


@pytest.mark.authority
def test_jeffreys_intervals_against_the_published_table() -> None:
    with (AUTHORITIES / "proportions.csv").open(encoding="utf-8") as lines:
        rows = [row for row in csv.reader(lines) if row and not row[0].startswith("#")]
    wanted = [r for r in rows if float(r[2]) == 0.95]
    assert {("7", "7"), ("6", "7")} <= {(r[0], r[1]) for r in wanted}
    for r in wanted:
        hits, shots, low, high, tolerance = int(r[0]), int(r[1]), float(r[7]), float(r[8]), float(r[9])
        found = jeffreys(hits, shots, closed_ends=True)
        # With none or all hitting, the outer end is 0 or 1 (Brown, Cai, DasGupta 2001, from memory).
        assert found.low == (0.0 if hits == 0 else pytest.approx(low, abs=tolerance))
        assert found.high == (1.0 if hits == shots else pytest.approx(high, abs=tolerance))
        assert found.value == pytest.approx(hits / shots)


def test_hits_at_the_target_weight_the_draws(
    model: FlightModel, fired: tuple[Shot, ...], bumped: tuple[HitProbability, HitDraws]
) -> None:
    here = replace(TRIAL, position="bumped", target="lantern")
    seen = tuple(replace(s, hit=k == 0) for k, s in enumerate(fired))
    result, draws = of(model, launcher(model, seen, trial=here))
    assert result.counted is not None
    assert result.counted.fired_here
    assert (result.counted.hits, result.counted.shots) == (1.0, 7)
    # Bayes: one hit of seven weighs each draw p with p (1 - p)^6.
    p = bumped[1].chance
    w = p * (1 - p) ** 6
    assert isinstance(result.model, Estimate)
    assert result.model.value == pytest.approx(float(np.sum(w * p) / np.sum(w)), rel=1e-9)
    assert draws is not None
    assert draws.chance.mean() == pytest.approx(result.model.value, abs=0.03)
    assert any("Counted at the target: 1 of 7 scored" in w for w in result.words)


def test_hits_elsewhere_or_set_aside_do_not_count(fired: tuple[Shot, ...]) -> None:
    seen = tuple(replace(s, hit=True) for s in fired)
    at = replace(TRIAL, position="bumped", target="lantern")
    assert fired_hits([(TRIAL, seen)], BUMPED, LANTERN) is None
    assert fired_hits([(at, seen)], EYEBALLED, LANTERN) is None
    aside = (replace(seen[0], set_aside="slipped"), *seen[1:])
    counted = fired_hits([(at, aside)], BUMPED, LANTERN)
    assert counted is not None
    assert counted.shots == 6


def test_marks_carried_over_to_their_own_floor_count_as_they_fell(model: FlightModel) -> None:
    # An opening in the floor fired at with the trial's own setting: the marks are the crossings.
    ratio = math.sqrt(7 / 6)  # residuals are widened to the sample's standard deviation
    fired = simulate_trial(
        model,
        HOOD,
        replace(TRIAL, mark_sd=0.0),
        Truth("hood", 0.03, 0.0, 2.0),
        7.0,
        7,
        np.random.default_rng(9),
    )
    exact = replace(TRIAL, mark_sd=0.0)
    who = launcher(model, fired, trial=exact)
    e = who.evidence[0]
    along = np.mean([s.along for s in fired])
    pit = Target("pit", (float(along), 0.0, BALL.radius), 0.0, math.pi / 2, radius=0.4)
    aim = aims_through(model, pit, np.array([0.0, 0.0, 0.5]), np.array([ANGLE]), 0.0)[0]
    assert aim is not None
    shot = linear_shots(model, pit, [aim])[0]
    assert shot is not None
    assert aim.speed == pytest.approx(e.speed, rel=1e-6)
    still = surroundings(replace(BUMPED, place_sd=1e-6, heading_sd=0.0), BALL)
    counted = carried_marks(who.evidence, who.trials, who.spread, shot, still)
    mean = np.array([[s.along, s.cross] for s in fired], dtype=float)
    away = np.linalg.norm((mean - mean.mean(axis=0)) * ratio, axis=1)
    # The ball must clear the edge: its centre inside the scoring region of the flight's direction.
    corners = shot.region - shot.region.mean(axis=0)
    assert counted is not None
    inside = np.sum(away < np.min(np.linalg.norm(corners, axis=1)))
    outside = np.sum(away > np.max(np.linalg.norm(corners, axis=1)))
    assert inside - 1e-6 <= counted.hits <= 7 - outside + 1e-6


@pytest.mark.slow
def test_the_count_leads_when_a_shot_is_flagged(model: FlightModel, fired: tuple[Shot, ...]) -> None:
    result, _ = of(model, launcher(model, fired, flagged=1))
    assert result.leads == "count"
    assert result.counted is not None
    assert result.probability == result.counted.interval
    assert any("The count leads" in w for w in result.words)
