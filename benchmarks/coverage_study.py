"""Do the 95 % intervals of the hit probability hold 95 %? Simulated crews with a known truth.

    python benchmarks/coverage_study.py [--crews 2000] [--shots 5 7 10 20] [--seed 1] [--flown]

Each crew has a launcher with its own hidden spread, fires its trial through the kernel, and computes its
interval with the product's own functions. By default the interval and the truth both use the exact integral
over the scoring region around the aim, so that thousands of crews are affordable. With --flown the search for
the setting and the balls flown one by one run too, and the truth is 100,000 flown balls. Prints a table in
Markdown; ``docs/hit-probability.md`` holds one.
"""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from shotwright.base.errors import NoAnswer
from shotwright.base.estimate import Estimate
from shotwright.choice.counting import carried_marks
from shotwright.choice.hit import Launcher, as_scatter, hit_probability
from shotwright.flight.aiming import aims_through
from shotwright.flight.chance import COLUMNS, Scatter, flown_hits, linear_shots, surroundings
from shotwright.flight.model import FlightModel, flight_model
from shotwright.game.records import Ball, CoefficientLaw, FiringPosition, Game, Target, Weather
from shotwright.trials.dispersion import marks_of
from shotwright.trials.launch import trial_evidence
from shotwright.trials.records import Prototype, Trial
from shotwright.trials.spread import draw_launch_spread
from shotwright.trials.synthetic.crew import Truth, draw_balls, simulate_trial

JUDGING_BALLS = 100_000


@dataclass(frozen=True)
class CrewOutcome:
    """One simulated crew: what it was told and what is true."""

    truth: float
    told: Estimate
    counted: Estimate | None
    true_share: float


def _log_uniform(rng: np.random.Generator, low: float, high: float) -> float:
    return float(np.exp(rng.uniform(math.log(low), math.log(high))))


def _scene(rng: np.random.Generator) -> tuple[Game, FlightModel]:
    """A ball, an opening and a position, drawn from wide ranges."""
    diameter = rng.uniform(0.07, 0.24)
    ball = Ball(
        name="ball",
        diameter=diameter,
        mass=_log_uniform(rng, 60.0, 240.0) * diameter**2 * 0.06,
        drag=CoefficientLaw("constant", rng.uniform(0.4, 0.6)),
        lift=CoefficientLaw("cross"),
        diameter_sd=0.01 * diameter,
        mass_sd=0.0,
    )
    ball = replace(ball, mass_sd=0.02 * ball.mass)
    distance = rng.uniform(3.0, 8.0)
    size = diameter * rng.uniform(2.0, 6.0)
    if rng.random() < 0.5:
        target = Target("opening", (distance, 0.0, rng.uniform(0.5, 2.2)), 0.0, math.pi / 2, radius=size / 2)
    else:
        half, tall = size / 2, size / 2 * rng.uniform(0.6, 1.0)
        corners = ((-half, -tall), (half, -tall), (half, tall), (-half, tall))
        target = Target("opening", (distance, 0.0, rng.uniform(0.5, 2.2)), math.pi, 0.0, corners=corners)
    bumped = rng.random() < 0.5
    position = FiringPosition(
        "here", 0.0, 0.0, place_sd=0.01 if bumped else 0.06, heading_sd=math.radians(0.3 if bumped else 1.2)
    )
    game = Game("study", 12.0, 8.0, ball, (target,), (position,), origin="invented")
    return game, flight_model(ball, Weather())


def simulated_crew(
    shots: int, rng: np.random.Generator, *, share_known: bool = False, settings: int = 1, flown: bool = False
) -> CrewOutcome | None:
    """Let one crew fire, compute and be judged; None when its scene has no shot at all."""
    game, model = _scene(rng)
    position, target = game.positions[0], game.targets[0]
    truth = Truth(
        "launcher", _log_uniform(rng, 0.004, 0.04), _log_uniform(rng, 0.2, 2.0), _log_uniform(rng, 0.2, 2.0)
    )
    spin_parameter = float(rng.choice([0.0, rng.uniform(0.1, 1.0)]))
    fire_at = math.radians(rng.uniform(40.0, 68.0))
    height = rng.uniform(0.3, 0.8)
    prototype = Prototype(
        "launcher",
        release_height=height,
        elevation_low=fire_at,
        elevation_high=fire_at,
        spin_parameter=spin_parameter,
    )
    aim = aims_through(model, target, np.array([0.0, 0.0, height]), np.array([fire_at]), spin_parameter)[0]
    if aim is None:
        return None
    fired, evidence = [], []
    for k in range(settings):
        trial = Trial(
            f"trial {k}", "launcher", elevation=math.radians(rng.uniform(35.0, 68.0)), origin="simulated"
        )
        speed = aim.speed * rng.uniform(0.9, 1.1)
        marks_fired = simulate_trial(
            model, prototype, trial, truth, speed, shots, rng, balls=draw_balls(game.ball, shots, rng)
        )
        try:
            evidence.append(trial_evidence(model, game.ball, prototype, trial, marks_fired))
        except NoAnswer:
            return None
        fired.append((trial, marks_fired, speed))
    first = evidence[0]
    d_speed, d_elevation = first.in_plane[0, 0] * first.speed, first.in_plane[0, 1]
    by_speed = (d_speed * truth.speed_spread) ** 2
    true_share = by_speed / (by_speed + (d_elevation * math.radians(truth.elevation_sd_deg)) ** 2)
    draw_rng = np.random.default_rng(rng.integers(2**63))
    spread = draw_launch_spread(evidence, draw_rng, speed_share=true_share if share_known else None)
    if not flown:
        return _by_integral(model, game, aim, spread, fired, evidence, truth, prototype, true_share)
    launcher = Launcher(
        prototype=prototype,
        trials=tuple((t, m) for t, m, _ in fired),
        evidence=tuple(evidence),
        spread=spread,
        extremes=(spread, spread),
    )
    result, _ = hit_probability(model, game, launcher, position, target, seed=int(rng.integers(2**31)))
    if not isinstance(result.model, Estimate) or result.setting is None:
        return None
    true_rate = _judge(model, game, result.setting, fired, evidence, truth, prototype, rng)
    counted = result.counted.interval if result.counted else None
    return CrewOutcome(true_rate, result.model, counted, true_share)


def _true_scatter(fired, evidence, truth) -> Scatter:
    """The true launcher's scatter with the calibration error that the crew really made."""
    # Precision-weighted over trials, as the crew's calibration is.
    weights = np.array([(e.in_plane[0, 0] * e.speed) ** 2 / e.in_plane_covariance[0, 0] for e in evidence])
    speed_error = np.array([speed / e.speed - 1 for (_, _, speed), e in zip(fired, evidence, strict=True)])
    azimuth_error = np.mean(
        [-marks_of(t, m)[:, 1].mean() / e.cross for (t, m, _), e in zip(fired, evidence, strict=True)]
    )
    return Scatter(
        speed=truth.speed_spread,
        elevation=math.radians(truth.elevation_sd_deg),
        azimuth=math.radians(truth.azimuth_sd_deg),
        speed_offset=float(np.average(speed_error, weights=weights)),
        azimuth_offset=float(azimuth_error),
    )


def _by_integral(
    model, game, aim, spread, fired, evidence, truth, prototype, true_share
) -> CrewOutcome | None:
    """Interval and truth by the exact integral around the centre aim."""
    shot = linear_shots(model, game.targets[0], [aim])[0]
    if shot is None or len(shot.region) == 0:
        return None
    around = surroundings(game.positions[0], game.ball, prototype.spin_parameter_sd)
    chance = shot.chance(as_scatter(spread), around)
    low, high = np.quantile(chance, [0.025, 0.975])
    true_rate = float(shot.chance(_true_scatter(fired, evidence, truth), around)[0])
    counted = carried_marks(evidence, [(t, m) for t, m, _ in fired], spread, shot, around)
    told = Estimate(float(chance.mean()), float(low), float(high))
    return CrewOutcome(true_rate, told, counted.interval if counted else None, true_share)


def _judge(model, game, setting, fired, evidence, truth, prototype, rng) -> float:
    """Fly the true launcher at the chosen setting, with the calibration error the crew really made."""
    from shotwright.flight.chance import Aim

    aim = Aim(
        np.array([0.0, 0.0, prototype.release_height]),
        setting.speed_m_s,
        math.radians(setting.elevation_deg),
        math.radians(setting.azimuth_deg),
        prototype.spin_parameter,
    )
    scatter = _true_scatter(fired, evidence, truth)
    around = surroundings(game.positions[0], game.ball, prototype.spin_parameter_sd)
    normals = rng.standard_normal((JUDGING_BALLS, COLUMNS))
    return float(flown_hits(model, game.targets[0], aim, scatter, around, normals, ball=game.ball).mean())


def crews(count: int, shots: int, seed: int, **options: object) -> Iterator[CrewOutcome]:
    """Yield `count` crews whose true hit probability is neither nearly nothing nor nearly certain."""
    sequence = np.random.SeedSequence([seed, shots])
    made = 0
    while made < count:
        rng = np.random.default_rng(sequence.spawn(1)[0])
        outcome = simulated_crew(shots, rng, **options)  # type: ignore[arg-type]
        if outcome is not None and 0.03 < outcome.truth < 0.995:
            made += 1
            yield outcome


def summary(outcomes: list[CrewOutcome]) -> dict[str, float]:
    """Coverage, tails, bias, root mean square error and mean width."""
    truth = np.array([o.truth for o in outcomes])
    low, high = np.array([(o.told.low, o.told.high) for o in outcomes]).T
    told = np.array([o.told.value for o in outcomes])
    counts = [o for o in outcomes if o.counted is not None]
    counted_inside = [o.counted.low <= o.truth <= o.counted.high for o in counts if o.counted]
    return {
        "crews": len(outcomes),
        "covered": float(np.mean((truth >= low) & (truth <= high))),
        "truth below": float(np.mean(truth < low)),
        "truth above": float(np.mean(truth > high)),
        "bias": float(np.mean(told - truth)),
        "rmse": float(np.sqrt(np.mean((told - truth) ** 2))),
        "width": float(np.mean(high - low)),
        "count covered": float(np.mean(counted_inside)),
    }


def reliability(outcomes: list[CrewOutcome]) -> list[tuple[float, float, int]]:
    """Mean told and mean true hit probability in ten bins of what was told."""
    told = np.array([o.told.value for o in outcomes])
    truth = np.array([o.truth for o in outcomes])
    bins = np.minimum((told * 10).astype(int), 9)
    return [
        (float(told[bins == b].mean()), float(truth[bins == b].mean()), int((bins == b).sum()))
        for b in range(10)
        if (bins == b).any()
    ]


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--crews", type=int, default=2000)
    parser.add_argument("--shots", type=int, nargs="+", default=[5, 7, 10, 20])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--flown", action="store_true", help="the whole chain, about 3 s a crew")
    options = parser.parse_args()
    cases = (
        ("share unknown", {}),
        ("share known", {"share_known": True}),
        ("two settings", {"settings": 2}),
    )
    print(
        "| case | shots | crews | covered | truth below | truth above | bias | rmse | width | count covers |"
    )
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    for name, extra in cases:
        for shots in options.shots:
            start = time.time()
            outcomes = list(crews(options.crews, shots, options.seed, flown=options.flown, **extra))
            s = summary(outcomes)
            print(
                f"| {name} | {shots} | {s['crews']} | {100 * s['covered']:.1f} % "
                f"| {100 * s['truth below']:.1f} % | "
                f"{100 * s['truth above']:.1f} % | {100 * s['bias']:+.1f} | {100 * s['rmse']:.1f} | "
                f"{100 * s['width']:.0f} | {100 * s['count covered']:.1f} % |",
                flush=True,
            )
            curve = " ".join(f"{a:.2f}:{b:.2f}({n})" for a, b, n in reliability(outcomes))
            print(f"<!-- {time.time() - start:.0f} s; told:true (crews) {curve} -->", flush=True)


if __name__ == "__main__":
    main()
