"""Results of the other rooms come through whole: the same numbers, the same names."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.choice.decision import Chance, CriterionValue, Decision, Gate, RankShares, RecordedChoice
from shotwright.choice.records import ChosenSetting, CountedMarks, DoubtShares, HitProbability
from shotwright.flight.model import flight_model
from shotwright.flight.windows import shot_window
from shotwright.notebook import from_results as taken
from shotwright.notebook.page import write_html
from shotwright.trials.comparison import compare_trials
from shotwright.trials.dispersion import trial_dispersion


@pytest.fixture(scope="module")
def found(content):
    rng = np.random.default_rng(5)
    return [trial_dispersion(p.trial, p.shots, rng=rng) for p in content.trials]


def test_trial_keeps_its_numbers(content, found):
    page = taken.trial_page(content.trials[0].trial, content.trials[0].shots, found[0])
    assert page.mean_m == found[0].mean_point_m
    rows = {row.name: row for row in page.findings}
    assert rows["along spread"].estimate is found[0].sd_first_m
    assert rows["circular error probable"].estimate is found[0].cep_m
    assert [one.order for one in page.flagged] == [one.order for one in found[0].outliers]
    assert set(page.remarks) <= set(found[0].words)
    assert any("drift" in words for words in page.remarks)
    assert page.ellipses[0].factor < page.ellipses[1].factor


@pytest.mark.parametrize("n", [0, 1, 2, 3])
def test_few_shots_still_make_a_page(content, n):
    old = content.trials[0]
    trial, shots = old.trial, old.shots[:n]
    page = taken.trial_page(trial, shots, trial_dispersion(trial, shots, rng=np.random.default_rng(1)))
    text = write_html(dataclasses.replace(content, trials=(page,), hits=(), comparison=(), truth=()))
    assert ("not estimated" in text) == any(isinstance(r.estimate, NotEstimated) for r in page.findings)


def test_comparison_gives_two_rows_a_pair(content):
    trials = [(p.trial, p.shots) for p in content.trials]
    result = compare_trials(trials, rng=np.random.default_rng(2))
    rows = taken.comparison_rows(result)
    assert len(rows) == 2 * len(result.pairs)
    assert rows[0].words == result.pairs[0].words
    assert set(rows[0].trials) == {"T1", "T2"}
    assert rows[1].estimate is result.pairs[0].reach_difference_m


@pytest.mark.slow
def test_window_keeps_its_intervals_and_shots(content):
    game = content.game
    window = shot_window(
        flight_model(game.ball, game.weather),
        game,
        game.position("mid line"),
        game.target("high lantern"),
        release_height=0.7,
        elevation_range=(math.radians(40), math.radians(75)),
        elevation_steps=15,
    )
    panel = taken.window_panel(window, prototype="Heron")
    assert [s.speeds_m_s for s in panel.slices] == [tuple(i) for i in window.intervals_m_s]
    assert panel.shots[0].speed_m_s == window.minimum_speed.speed_m_s
    assert panel.blocked is None
    text = write_html(dataclasses.replace(content, windows=(panel,)))
    assert f"{window.most_forgiving.speed_m_s:.2f}" in text


def hit(**changes) -> HitProbability:
    plain = HitProbability(
        "Heron", "fender", "high lantern", False, 1.0, "simulated",
        Estimate(0.6, 0.3, 0.9), "count", Estimate(0.7, 0.5, 0.85),
        CountedMarks(4.2, 7, Estimate(0.6, 0.3, 0.9)),
        ChosenSetting(7.3, 60.0, 0.0, 4.0, 35.0, 2.7, 0.9, 0.0),
        Estimate(0.66, 0.5, 0.8), Estimate(0.74, 0.5, 0.9), DoubtShares(0.8, 0.2),
        "linearised", 0.001, 7, ("T1",), 3, ("Heron scores 60 %.", "More shots would narrow it."),
    )  # fmt: skip
    return dataclasses.replace(plain, **changes)


def test_hit_probability_keeps_model_and_count_apart():
    row = taken.hit_row(hit())
    assert row.estimate == Estimate(0.7, 0.5, 0.85)
    assert row.count == Estimate(0.6, 0.3, 0.9)
    assert row.count_leads
    assert row.extremes == (0.66, 0.74)
    assert sum(part.share for part in row.parts) == pytest.approx(1.0)
    assert row.narrows == "More shots would narrow it."
    assert row.origin == "simulated"


def test_hit_probability_without_an_answer_gives_its_reason():
    reason = NotEstimated("out of reach")
    nothing = {"counted": None, "setting": None, "all_speed": None, "doubt": None, "words": ()}
    row = taken.hit_row(hit(probability=reason, model=reason, **nothing))
    assert row.estimate == reason
    assert row.extremes is None
    assert row.parts == ()


def test_decision_comes_through(content):
    decision = Decision(
        ("Heron", "Otter"), ("Heron",),
        (Gate("Otter", "motors", False, "uses 3, 2 allowed"),),
        (CriterionValue("Heron", "points", 1.4, "a shot"), CriterionValue("Otter", "points", 1.1, "a shot")),
        {"points": 1.0}, (Chance("Heron", 0.8),), (Chance("Heron", 0.8),),
        (RankShares("Heron", (0.8, 0.2)), RankShares("Otter", (0.2, 0.8))),
        (Chance("Otter", 0.1),), None, 3, (),
    )  # fmt: skip
    assert taken.gate_rows(decision)[0].passed is False
    assert taken.criteria_rows(decision)[0].values == (
        ("Heron", "1.4 a shot"),
        ("Otter", "1.1 a shot"),
    )
    assert taken.rank_rows(decision)[0].shares == (0.8, 0.2)
    entry = taken.choice_entry(
        RecordedChoice("2031-03-14", "Heron", "It leads.", {}), evidence=("T1, 7 shots",)
    )
    text = write_html(dataclasses.replace(content, choices=(entry,), ranks=taken.rank_rows(decision)))
    assert "14 March 2031: Heron" in text
