"""How often the 95 % intervals of `calibrate` hold: crews simulated from the priors, truth against interval.

    python benchmarks/calibration_coverage.py [crews]

Three launchers on paper (a spring piston, a wheel and hood, opposed wheels), two or three trials of seven
shots each. For each crew a truth is drawn from the priors, shots are fired from it with the stated spreads,
and the model is corrected by them. Counted: the truth of each parameter, the mean range at a setting that was
not fired, and the next shot there. The check of the fit is counted too: a right model should be refused in
about 5 % of crews or fewer, since the check uses the data twice.
"""

from __future__ import annotations

import math
import sys
import time
from collections import defaultdict

import numpy as np

from shotwright.base.estimate import Estimate
from shotwright.flight.model import flight_model
from shotwright.game.records import Ball, CoefficientLaw, Weather
from shotwright.launcher.reading import launchers_from_text
from shotwright.launcher.shots import drawn_inputs, varying
from shotwright.trials.calibration import calibrate_model
from shotwright.trials.learned_model import LearnedModel
from shotwright.trials.records import Shot, Trial
from shotwright.trials.unknowns import prior_of, unknowns_of

BALL = Ball("foam", 0.178, 0.14, CoefficientLaw("constant", 0.5), CoefficientLaw("none"), 0.001, 0.003)
MODEL = flight_model(BALL, Weather())
COMMON = """elevation = { value = "55 deg", low = "45 deg", high = "65 deg", sd = "0.4 deg" }
release_height = "50 cm"
"""
WHEELS = """wheel_radius = "5 cm"
wheel_inertia = "8 kg cm^2"
wheel_grip = { value = 0.6, sd = 0.02 }
[launcher.compression]
closing = [["5 mm", "1.5 kg"], ["10 mm", "4.5 kg"], ["20 mm", "120 N"], ["40 mm", "380 N"]]
loss = "25 %"
"""
LAUNCHERS = {
    "piston": (
        '[[launcher]]\nprototype = "piston"\nkind = "spring piston"\naction = "push"\n'
        + COMMON
        + 'stiffness = "900 N/m"\npreload = "50 mm"\npiston_mass = "150 g"\nspring_mass = "60 g"\n'
        'friction = "5 N"\n'
        'stroke = { value = "100 mm", low = "60 mm", high = "130 mm", sd = "0.7 mm" }\n',
        "stroke",
        (0.08, 0.11),
        0.095,
        "mm",
        1e3,
    ),
    "wheel and hood": (
        '[[launcher]]\nprototype = "hood"\nkind = "wheel and hood"\n'
        + COMMON
        + 'gap = "160 mm"\nwrap_angle = "80 deg"\nhood_grip = 0.6\ninertia_on_curve = "left out"\n'
        'rim_speed = { value = "18 m/s", low = "12 m/s", high = "24 m/s", sd = "1 %" }\n' + WHEELS,
        "rim_speed",
        (14.0, 18.0, 21.0),
        16.5,
        "m/s",
        1.0,
    ),
    "opposed wheels, slipping": (
        '[[launcher]]\nprototype = "twin"\nkind = "opposed wheels"\n'
        + COMMON
        + 'gap = "150 mm"\ncontact_force = "even"\nsecond_rim_speed = "12 m/s"\n'
        'first_rim_speed = { value = "12 m/s", low = "8 m/s", high = "16 m/s", sd = "1 %" }\n' + WHEELS,
        "first_rim_speed",
        (9.0, 14.0),
        12.0,
        "m/s",
        1.0,
    ),
}
ANGLE = math.radians(55)


def fire(learned, truth, name, value, words, shots, rng, key):
    """One trial of a hidden truth: shots with the stated spreads, marks read to 10 mm."""
    described, ball = learned.described, MODEL.ball
    normals = rng.standard_normal((shots, len(varying(described, ball))))
    inputs = drawn_inputs(described, ball, {name: value, "elevation": ANGLE}, normals)
    means = described.means(ball)
    for parameter, true in truth.items():
        if parameter in inputs:
            inputs[parameter] = inputs[parameter] * true / means[parameter]
    values = {parameter: np.full(shots, true) for parameter, true in truth.items()}
    trial = Trial(f"trial {key}", described.prototype, setting=words, elevation=ANGLE, origin="simulated")
    marks = learned.marks(learned.release(values, inputs, shots), values, trial) + rng.normal(0, 0.01, shots)
    return trial, [
        Shot(f"{key}-{i}", trial.name, i + 1, along=float(m), cross=0.0) for i, m in enumerate(marks)
    ]


def study(label: str, crews: int) -> None:
    text, name, fired_at, wanted, unit, scale = LAUNCHERS[label]
    (described,) = launchers_from_text(text)
    learned = LearnedModel(MODEL, described, unknowns_of(described, BALL))
    mean, sd = prior_of(learned.unknowns)
    held, widths = defaultdict(list), []
    refused = 0
    for number in range(crews):
        rng = np.random.default_rng([5, number])
        drawn = learned.values((mean + sd * rng.standard_normal(len(mean)))[None])
        truth = {parameter: float(value[0]) for parameter, value in drawn.items()}
        label_of = name.replace("_", " ")
        trials = [
            fire(learned, truth, name, v, f"{label_of} {v * scale:g} {unit}", 7, rng, k)
            for k, v in enumerate(fired_at)
        ]
        if not all(np.isfinite(s.along) for _, shots in trials for s in shots):
            continue
        found = calibrate_model(
            MODEL, described, trials, rng, predict_at=[{name: wanted, "elevation": ANGLE}], draws=400
        )
        refused += not found.fits
        for one in found.parameters:
            held[one.name].append(one.after.low <= _shown(one, truth) <= one.after.high)
        values = {parameter: np.full(1, true) for parameter, true in truth.items()}
        exact = learned.release(values, {name: wanted, "elevation": ANGLE}, 1)
        reach = float(learned.marks(exact, values, Trial("truth", described.prototype))[0])
        _, (shot,) = fire(learned, truth, name, wanted, "", 1, rng, "next")
        asked = found.predictions[0]
        for what, interval, true in (
            ("mean range, not fired", asked.range_m, reach),
            ("next shot there", asked.next_shot_m, shot.along),
        ):
            if isinstance(interval, Estimate):
                held[what].append(interval.low <= true <= interval.high)
        if isinstance(asked.range_m, Estimate):
            widths.append(asked.range_m.high - asked.range_m.low)
    print(f"\n{label}: {len(held['mean range, not fired'])} crews, fit refused {refused}, ", end="")
    print(f"median width of the range's interval {np.median(widths):.3f} m")
    for what, inside in held.items():
        share = np.mean(inside)
        print(f"  {what:28s} {100 * share:5.1f} %  (± {100 * math.sqrt(0.0475 / len(inside)):.1f})")


def _shown(one, truth):
    """True value in the unit of the result."""
    return math.degrees(truth[one.name]) if one.unit == "°" else truth[one.name]


if __name__ == "__main__":
    started = time.perf_counter()
    for which in LAUNCHERS:
        study(which, int(sys.argv[1]) if len(sys.argv) > 1 else 300)
    print(f"\n{time.perf_counter() - started:.0f} s")
