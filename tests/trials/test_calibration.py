"""A model corrected by simulated trials of a hidden truth: recovery, coverage, lack of fit, origin."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.estimate import Estimate
from shotwright.flight.model import flight_model
from shotwright.game.records import Ball, CoefficientLaw, Weather
from shotwright.launcher.reading import launchers_from_text
from shotwright.trials.calibration import calibrate_model, predict_rows
from shotwright.trials.calibration_records import Calibration
from shotwright.trials.learned_model import LearnedModel
from shotwright.trials.records import Shot, Trial
from shotwright.trials.set_amounts import read_amounts, set_amounts
from shotwright.trials.trial_data import trial_data
from shotwright.trials.unknowns import ELEVATION_OFFSET, ENERGY_SHARE, prior_of, unknowns_of

ANGLE = math.radians(55)
Fired = list[tuple[Trial, list[Shot]]]

BALL = Ball("felt ball", 0.15, 0.165, CoefficientLaw("constant", 0.48), CoefficientLaw("none"))
MODEL = flight_model(BALL, Weather())
(PISTON,) = launchers_from_text("""[[launcher]]
prototype = "piston"
kind = "spring piston"
action = "push"
elevation = { value = "55 deg", low = "45 deg", high = "65 deg", sd = "0.4 deg" }
release_height = "50 cm"
stiffness = "900 N/m"
preload = "50 mm"
stroke = { value = "100 mm", low = "60 mm", high = "130 mm", sd = "0.7 mm" }
piston_mass = "150 g"
spring_mass = "60 g"
friction = "5 N"
""")


def crew(
    truth: dict[str, float],
    strokes: list[float],
    rng: np.random.Generator,
    shots: int = 7,
    speeds: bool = False,
) -> Fired:
    """Fire trials of a hidden truth, each shot with the stated spreads and a reading error."""
    learned = LearnedModel(MODEL, PISTON, ())
    fired = []
    for k, stroke in enumerate(strokes):
        values = {name: np.full(shots, value) for name, value in truth.items()}
        set_to = {
            "stroke": stroke + 7e-4 * rng.standard_normal(shots),
            "elevation": ANGLE + math.radians(0.4) * rng.standard_normal(shots),
        }
        trial = Trial(
            f"trial {k}",
            "piston",
            setting=f"stroke {1e3 * stroke:.1f} mm",
            elevation=ANGLE,
            origin="simulated",
        )
        out = learned.release(values, set_to, shots)
        marks = learned.marks(out, values, trial) + rng.normal(0, 0.01, shots)
        read = out.speed + rng.normal(0, 0.05, shots)
        fired.append(
            (
                trial,
                [
                    Shot(
                        f"{k}-{i}", trial.name, i + 1, along=float(marks[i]), cross=0.0,
                        speed=float(read[i]) if speeds else None,
                    )
                    for i in range(shots)
                ],
            )
        )  # fmt: skip
    return fired


def learn(
    trials: list[tuple[Trial, list[Shot]]], at: tuple[dict[str, float], ...] = (), seed: int = 3
) -> Calibration:
    return calibrate_model(MODEL, PISTON, trials, np.random.default_rng(seed), predict_at=at, draws=400)


TRUTH = {ENERGY_SHARE: 0.86, "friction": 7.0, "drag_scale": 1.1, ELEVATION_OFFSET: 0.01}


def true_range(stroke: float, truth: dict[str, float]) -> float:
    learned = LearnedModel(MODEL, PISTON, ())
    values = {name: np.full(1, value) for name, value in truth.items()}
    out = learned.release(values, {"stroke": stroke, "elevation": ANGLE}, 1)
    return float(learned.marks(out, values, Trial("truth", "piston"))[0])


def test_what_was_thrown_is_found_again_and_narrows_the_prediction() -> None:
    fired = crew(TRUTH, [0.08, 0.11], np.random.default_rng(2))
    found = learn(fired, ({"stroke": 0.095, "elevation": ANGLE},))
    share = {one.name: one for one in found.parameters}[ENERGY_SHARE]
    (asked,) = found.predictions

    assert found.fits
    assert share.after.low < 0.86 < share.after.high
    assert share.learned > 0.3
    assert isinstance(asked.range_m, Estimate)
    assert asked.range_m.low < true_range(0.095, TRUTH) < asked.range_m.high
    paper = found.trials[0].rows[0].on_paper
    assert asked.range_m.high - asked.range_m.low < 0.25 * (paper.high - paper.low)


def test_predictions_are_never_marked_as_measured() -> None:
    found = learn(
        crew(TRUTH, [0.08, 0.11], np.random.default_rng(2)),
        ({"stroke": 0.1}, {"stroke": 0.11, "elevation": ANGLE}),
    )
    plain = found.to_dict()

    assert plain["origin"] == "predicted"
    assert [p["origin"] for p in plain["predictions"]] == ["predicted", "predicted"]
    assert [p["fired"] for p in plain["predictions"]] == [False, True]
    assert {p["origin"] for p in plain["curve"]["measured"]} == {"simulated"}
    assert "SIMULATED" in found.words[0]


def test_stretched_predictions_say_so() -> None:
    found = learn(crew(TRUTH, [0.08, 0.09], np.random.default_rng(2)), ({"stroke": 0.125},))

    assert "outside the trials" in " ".join(found.predictions[0].words)


def test_measured_speeds_part_energy_from_drag() -> None:
    without = learn(crew(TRUTH, [0.08, 0.11], np.random.default_rng(2)))
    with_speeds = learn(crew(TRUTH, [0.08, 0.11], np.random.default_rng(2), speeds=True))
    before, after = (
        {one.name: one for one in found.parameters}[ENERGY_SHARE] for found in (without, with_speeds)
    )

    assert after.learned > before.learned
    assert {row.what for row in with_speeds.trials[0].rows} == {"reach", "speed"}
    assert after.after.low < 0.86 < after.after.high


def test_lack_of_fit_is_said_plainly() -> None:
    fired = crew(TRUTH, [0.08, 0.095, 0.11], np.random.default_rng(2), shots=9)
    trial, shots = fired[1]  # somebody moved the latch in the second trial
    fired[1] = (trial, [dataclasses.replace(s, along=(s.along or 0.0) + 0.8) for s in shots])
    found = learn(fired)

    assert not found.fits
    assert "LACK OF FIT" in found.words[1]
    assert any("Trial trial 1: reach measured" in words for words in found.words)


def test_scatter_that_the_file_does_not_explain_is_named() -> None:
    fired = crew(TRUTH, [0.08, 0.11], np.random.default_rng(2))
    wide = [
        (t, [dataclasses.replace(s, along=(s.along or 0) + 0.5 * (-1) ** i) for i, s in enumerate(shots)])
        for t, shots in fired
    ]
    found = learn(wide)

    assert any("give less scatter" in words for words in found.words)


def test_what_does_not_matter_is_not_asked() -> None:
    """A piston that pushes has no bounce and no tip: their priors are left out."""
    found = learn(crew(TRUTH, [0.08, 0.11], np.random.default_rng(2)))

    assert {"restitution", "tip_grip"} & {one.name for one in found.parameters} == set()


def test_trials_that_cannot_be_used_are_named() -> None:
    fired = crew(TRUTH, [0.08, 0.11], np.random.default_rng(2))
    few = (
        dataclasses.replace(fired[0][0], name="two shots"),
        [dataclasses.replace(s, trial="two shots") for s in fired[0][1][:2]],
    )
    found = learn([*fired, few])

    assert found.left_out[0][0] == "two shots"
    assert "at least 3" in found.left_out[0][1]
    with pytest.raises(NoAnswer, match="no trial of 'piston' can be used: two shots: 2 shots"):
        learn([few])


def test_the_same_seed_gives_the_same_numbers() -> None:
    fired = crew(TRUTH, [0.08, 0.11], np.random.default_rng(2))

    assert learn(fired).to_dict() == learn(fired).to_dict()


@pytest.mark.slow
def test_intervals_cover_the_truths_of_crews_drawn_from_the_priors() -> None:
    """Simulated crews whose truth comes from the priors: about 95 % inside (larger study in benchmarks/)."""
    learned = LearnedModel(MODEL, PISTON, unknowns_of(PISTON, BALL))
    mean, sd = prior_of(learned.unknowns)
    inside = []
    for number in range(14):
        rng = np.random.default_rng([11, number])
        drawn = learned.values((mean + sd * rng.standard_normal(len(mean)))[None])
        truth = {name: float(value[0]) for name, value in drawn.items()}
        found = learn(crew(truth, [0.08, 0.11], rng), ({"stroke": 0.095, "elevation": ANGLE},), number)
        after = {one.name: one.after for one in found.parameters}
        inside.append(after[ENERGY_SHARE].low <= truth[ENERGY_SHARE] <= after[ENERGY_SHARE].high)
        asked = found.predictions[0].range_m
        assert isinstance(asked, Estimate)
        inside.append(asked.low <= true_range(0.095, truth) <= asked.high)

    # 28 chances of 95 %: fewer than 22 inside happens less than once in 1000 (binomial)
    assert sum(inside) >= 22


def test_scales_of_drag_and_lift_are_interpolated_to_a_millimetre() -> None:
    ball = dataclasses.replace(BALL, lift=CoefficientLaw("cross"))
    model = flight_model(ball, Weather())
    learned = LearnedModel(model, PISTON, unknowns_of(PISTON, ball))
    rng = np.random.default_rng(1)
    n = 30
    values = {
        "drag_scale": np.exp(0.2 * rng.standard_normal(n)),
        "lift_scale": np.exp(0.4 * rng.standard_normal(n)),
    }
    out = learned.release(values, {}, n)
    out = dataclasses.replace(out, spin=np.tile([0.0, -60.0, 0.0], (n, 1)))
    trial = Trial("t", "piston")
    together = learned.marks(out, values, trial)

    for i in range(0, n, 7):
        single = {name: np.full(n, value[i]) for name, value in values.items()}
        assert learned.marks(out, single, trial)[i] == pytest.approx(together[i], abs=1e-3)


def test_settings_are_read_from_the_crew_s_words() -> None:
    trial = Trial("t", "piston", setting="Stroke: 85 mm; spring notch 4, pre-load 2 in", elevation=0.9)

    assert set_amounts(trial, PISTON, BALL) == {"stroke": 0.085, "elevation": 0.9}
    assert read_amounts("preload = 2 in and stroke 8,5 cm", PISTON, BALL, "at") == pytest.approx(
        {"preload": 0.0508, "stroke": 0.085}
    )
    assert read_amounts("as yesterday", PISTON, BALL, "at") == {}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("stroke 85", "at, stroke: '85' has no unit"),
        ("stroke 85 kg", "at, stroke: .*read from 'stroke 85 kg'; write e.g. stroke 90 mm"),
        ("stroke -2 mm", "at, stroke: -2 mm is out of the model's range"),
        (
            "stroke 85 mm, elevaton 50 deg",
            "at: 'elevaton 50 deg' is no amount of the launcher; its settings: elevation, stroke",
        ),
    ],
)
def test_settings_that_can_t_be_read_are_told(text: str, message: str) -> None:
    with pytest.raises(BadInput, match=message):
        read_amounts(text, PISTON, BALL, "at", strict=True)


def test_rows_of_a_trial_hold_what_was_measured() -> None:
    trial, shots = crew(TRUTH, [0.1], np.random.default_rng(2), speeds=True)[0]
    data = trial_data(PISTON, BALL, trial, shots)
    rows = predict_rows(LearnedModel(MODEL, PISTON, ()), [data], np.zeros((1, 0)))

    assert data.rows == ("mark", "speed")
    assert rows.shape == (1, 2)
    assert data.group.covariance[0, 1] > 0  # a faster ball lands farther
