"""Hit probability of a position: how long it takes, how far off it is, how often balls must be flown.

    python benchmarks/hit_probability.py [--rounds 7] [--crews 60] [--balls 0] [--seed 1]

First, on one position with one setting and 10,000 posterior draws, the ways to a hit probability in turn, in
one process; ratios are medians over the rounds, of wall time and of processor time. Then random crews: ball,
opening (circle, rectangle, tilted polygon of 3 to 6 corners), distance, placement and trial drawn from wide
ranges, half of them with a box near the line of fire. Told are the share of answers that had to be flown and,
with --balls, the difference of the answer's mean over the draws from so many flown balls.
"""

from __future__ import annotations

import argparse
import math
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from shotwright.base.errors import NoAnswer
from shotwright.choice.checked import ShotChance
from shotwright.choice.hit import Launcher, as_scatter, hit_probability
from shotwright.flight.aiming import aims_through
from shotwright.flight.chance import (
    COLUMNS,
    Aim,
    flown_hits,
    linear_shots,
    scatter_of_rows,
    surroundings,
)
from shotwright.flight.model import FlightModel, flight_model
from shotwright.flight.scoring_chance import scoring_chance
from shotwright.flight.scoring_launches import scoring_launches
from shotwright.game.records import Ball, CoefficientLaw, FiringPosition, Game, Prism, Target, Weather
from shotwright.trials.launch import trial_evidence
from shotwright.trials.records import Prototype, Trial
from shotwright.trials.spread import draw_launch_spread
from shotwright.trials.synthetic.crew import Truth, draw_balls, simulate_trial

LIMIT = 0.05  # s, for one position, prototype and setting with all draws
DRAWS = 10_000
SHOTS = 7


def _log_uniform(rng: np.random.Generator, low: float, high: float) -> float:
    return float(np.exp(rng.uniform(math.log(low), math.log(high))))


def _opening(rng: np.random.Generator, diameter: float) -> Target:
    distance, bearing = rng.uniform(2.5, 8.0), rng.uniform(-0.6, 0.6)
    centre = (distance * math.cos(bearing), distance * math.sin(bearing), rng.uniform(0.6, 2.3))
    size = diameter * rng.uniform(2.0, 6.0)
    kind = rng.integers(3)
    if kind == 0:
        return Target("opening", centre, 0.0, math.pi / 2, radius=size / 2)
    if kind == 1:
        half, tall = size / 2, size / 2 * rng.uniform(0.6, 1.0)
        corners: tuple[tuple[float, float], ...] = (
            (-half, -tall),
            (half, -tall),
            (half, tall),
            (-half, tall),
        )
        return Target("opening", centre, math.pi, 0.0, corners=corners)
    count = int(rng.integers(3, 7))
    angles = (np.arange(count) + rng.uniform(0, 0.6, count)) * 2 * math.pi / count
    corners = tuple((0.6 * size * math.cos(a), 0.6 * size * math.sin(a)) for a in angles)
    facing = math.pi + rng.uniform(-0.4, 0.4)
    return Target("opening", centre, facing, rng.uniform(0.0, math.pi / 2), corners=corners)


def crew(rng: np.random.Generator, *, draws: int) -> tuple[FlightModel, Game, Launcher] | None:
    """Draw a game with one opening and one position, and a launcher with its trial; None without a shot."""
    diameter = rng.uniform(0.07, 0.24)
    mass = _log_uniform(rng, 60.0, 240.0) * diameter**2 * 0.06
    drag = CoefficientLaw("constant", rng.uniform(0.4, 0.6))
    ball = Ball("ball", diameter, mass, drag, CoefficientLaw("cross"), 0.01 * diameter, 0.02 * mass)
    target = _opening(rng, diameter)
    bumped = rng.random() < 0.5
    spot = FiringPosition(
        "here", 0.0, 0.0, place_sd=0.01 if bumped else 0.06, heading_sd=math.radians(0.3 if bumped else 1.2)
    )
    game = Game("study", 12.0, 8.0, ball, (target,), (spot,), origin="invented")
    model = flight_model(ball, Weather())
    spin = float(rng.choice([0.0, rng.uniform(0.1, 1.0)]))
    low = math.radians(rng.uniform(30.0, 60.0))
    high = low if rng.random() < 0.4 else low + math.radians(rng.uniform(5.0, 25.0))
    prototype = Prototype(
        "launcher",
        release_height=rng.uniform(0.3, 0.8),
        elevation_low=low,
        elevation_high=high,
        spin_parameter=spin,
        spin_parameter_sd=0.15 * spin * float(rng.random() < 0.5),
    )
    start = np.array([0.0, 0.0, prototype.release_height])
    aims = [a for a in aims_through(model, target, start, np.linspace(low, high, 3), spin) if a is not None]
    if not aims:
        return None
    truth = Truth(
        "launcher", _log_uniform(rng, 0.004, 0.04), _log_uniform(rng, 0.2, 2.0), _log_uniform(rng, 0.2, 2.0)
    )
    trial = Trial("trial", "launcher", elevation=math.radians(rng.uniform(35.0, 68.0)), origin="simulated")
    speed = aims[0].speed * rng.uniform(0.9, 1.1)
    shots = simulate_trial(
        model, prototype, trial, truth, speed, SHOTS, rng, balls=draw_balls(ball, SHOTS, rng)
    )
    try:
        evidence = trial_evidence(model, ball, prototype, trial, shots)
    except NoAnswer:
        return None
    spread = draw_launch_spread([evidence], rng, draws=draws)
    return model, game, Launcher(prototype, ((trial, tuple(shots)),), (evidence,), spread, (spread, spread))


def with_box(game: Game, rng: np.random.Generator) -> Game:
    """Put a box of 0.6 m near the line of fire."""
    x, y, _ = game.targets[0].centre
    share = rng.uniform(0.2, 0.8)
    x, y = share * x, share * y + rng.normal(0.0, 0.6)
    footprint = ((x - 0.3, y - 0.3), (x + 0.3, y - 0.3), (x + 0.3, y + 0.3), (x - 0.3, y + 0.3))
    return replace(game, obstacles=(Prism("box", footprint, 0.0, rng.uniform(0.5, 1.6)),))


def speed_table(rounds: int, seed: int) -> None:
    """Print what each way costs on one position."""
    rng = np.random.default_rng([seed, 3])
    found = crew(rng, draws=DRAWS)
    assert found is not None
    model, game, launcher = found
    target, prototype = game.targets[0], launcher.prototype
    around = surroundings(game.positions[0], game.ball, prototype.spin_parameter_sd)
    start = np.array([0.0, 0.0, prototype.release_height])
    at = (prototype.elevation_low + prototype.elevation_high) / 2
    aim = aims_through(model, target, start, np.array([at]), prototype.spin_parameter)[0]
    assert aim is not None
    scatter = as_scatter(launcher.spread)
    elevations = at + np.radians(np.arange(-12.0, 13.0, 3.0))
    shot = linear_shots(model, target, [aim])[0]
    assert shot is not None

    def curves() -> ShotChance:
        table = scoring_launches(model, target, start, elevations, prototype.spin_parameter)
        assert table is not None
        return ShotChance(shot, around, scoring_chance(table, around))

    known = curves()
    normals = rng.standard_normal((1500, COLUMNS))
    picked = [scatter.at(int(i)) for i in rng.integers(DRAWS, size=30)]
    ways: dict[str, Callable[[], object]] = {
        "curves and 10,000 draws": lambda: curves().of(scatter),
        "10,000 draws, curves known": lambda: known.of(scatter),
        "straight line, 10,000 draws": lambda: shot.chance(scatter, around),
        "30 draws, each of 1,500 balls flown": lambda: [
            flown_hits(model, target, aim, one, around, normals, ball=game.ball) for one in picked
        ],
    }
    for way in ways.values():
        way()
    taken: dict[str, list[tuple[float, float]]] = {name: [] for name in ways}
    for _ in range(rounds):
        for name, way in ways.items():
            wall, cpu = time.perf_counter(), time.process_time()
            way()
            taken[name].append((time.perf_counter() - wall, time.process_time() - cpu))
    first = np.array(taken["curves and 10,000 draws"])[:, 1]
    print(f"one position, one setting; limit {1e3 * LIMIT:.0f} ms for all draws\n")
    print("| way | wall, least | processor, median | x the first | processor x the limit |")
    print("| --- | --- | --- | --- | --- |")
    for name, rows in taken.items():
        wall_s, cpu_s = np.array(rows).T
        print(
            f"| {name} | {1e3 * wall_s.min():.1f} ms | {1e3 * np.median(cpu_s):.1f} ms "
            f"| {np.median(cpu_s / first):.2f} | {np.median(cpu_s) / LIMIT:.2f} |"
        )


def random_crews(count: int, balls: int, seed: int) -> None:
    """Print how often balls had to be flown, and how far off the answers are."""
    sequence = np.random.SeedSequence(seed)
    methods: dict[str, Counter[str]] = {"clear": Counter(), "box on the way": Counter()}
    off, doubt, made = [], [], 0
    while made < count:
        rng = np.random.default_rng(sequence.spawn(1)[0])
        found = crew(rng, draws=2000)
        if found is None:
            continue
        model, game, launcher = found
        made += 1
        kind = "clear" if made % 2 else "box on the way"
        game = game if made % 2 else with_box(game, rng)
        result, drawn = hit_probability(model, game, launcher, game.positions[0], game.targets[0], seed=made)
        methods[kind][result.method] += 1
        if drawn is None or not balls or result.setting is None:
            continue
        s, prototype = result.setting, launcher.prototype
        start = np.array([0.0, 0.0, prototype.release_height])
        turned = math.radians(s.elevation_deg), math.radians(s.azimuth_deg)
        aim = Aim(start, s.speed_m_s, *turned, prototype.spin_parameter)
        around = surroundings(game.positions[0], game.ball, prototype.spin_parameter_sd)
        rows = np.arange(balls) % len(drawn.chance)
        hits = flown_hits(
            model,
            game.targets[0],
            aim,
            scatter_of_rows(as_scatter(launcher.spread), rows),
            around,
            rng.standard_normal((balls, COLUMNS)),
            ball=game.ball,
            obstacles=game.obstacles,
        )
        off.append(float(drawn.chance[rows].mean() - hits.mean()))
        doubt.append(float(hits.std() / math.sqrt(balls)))
    print("\n| random crews | integrated | flown | no answer |\n| --- | --- | --- | --- |")
    for kind, seen in methods.items():
        print(f"| {kind} | {seen['integrated']} | {seen['flown']} | {seen['none']} |")
    if off:
        gaps, errors = np.array(off), np.array(doubt)
        print(
            f"\nanswer less {balls} flown balls: root mean square {np.sqrt(np.mean(gaps**2)):.5f}, largest "
            f"{np.abs(gaps).max():.5f}; Monte Carlo error of the balls {np.sqrt(np.mean(errors**2)):.5f}; "
            f"beyond 0.002 and three such errors: {int(np.sum(np.abs(gaps) > 0.002 + 3 * errors))} of "
            f"{len(gaps)}"
        )


def main() -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument("--crews", type=int, default=60)
    parser.add_argument("--balls", type=int, default=0, help="flown balls to compare each answer with")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    speed_table(options.rounds, options.seed)
    random_crews(options.crews, options.balls, options.seed)


if __name__ == "__main__":
    main()
