"""Ranking: gates first, then criteria over hand-made draws whose answer is plain."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.choice.decision import Decision, RecordedChoice, decide, gates_of, score_draws
from shotwright.choice.records import ChosenSetting, HitDraws, HitProbability
from shotwright.game.records import Ball, CoefficientLaw, FiringPosition, Game, Limits, Target
from shotwright.trials.records import Prototype

BALL = Ball("ball", 0.15, 0.16, CoefficientLaw("constant", 0.47), CoefficientLaw("cross"))
HIGH = Target("high", (4.0, 0.0, 1.2), 0.0, 1.5, radius=0.35, points=3.0)
LOW = replace(HIGH, name="low", points=1.0)
RAIL = FiringPosition("rail", 0.0, 0.0, 0.01, 0.0)
YARD = FiringPosition("yard", 1.0, 0.0, 0.05, 0.0, targets=("high",))
CORNER = FiringPosition("corner", 2.0, 0.0, 0.05, 0.0, targets=("high",), needed=False)
GAME = Game("yard", 9.0, 6.0, BALL, (HIGH, LOW), (RAIL, YARD, CORNER), limits=Limits(motors=4, mass=6.0))
HOOD = Prototype("hood", motors=2, mass=3.0, stored_energy=20.0)
TWIN = Prototype("twin", motors=4, mass=5.0, stored_energy=38.0)
SETTING = ChosenSetting(7.0, 55.0, 0.0, 0.0, 40.0, 2.0, 1.0, 0.0)


def hit(prototype: str, position: str, target: str = "high", *, reason: str | None = None) -> HitProbability:
    found = NotEstimated(reason) if reason else Estimate(0.7, 0.5, 0.9)
    return HitProbability(
        prototype=prototype,
        position=position,
        target=target,
        defended=False,
        points=3.0,
        origin="simulated",
        probability=found,
        leads="model",
        model=found,
        counted=None,
        setting=None if reason else SETTING,
        all_speed=None,
        all_elevation=None,
        doubt=None,
        method="linearised",
        shortcut_error=0.0,
        shots=7,
        trials=("T1",),
        seed=1,
        words=(),
    )


def draws(
    prototype: str, position: str, chance: object, target: str = "high", points: float = 3.0
) -> HitDraws:
    given = np.asarray(chance, dtype=float)
    return HitDraws(prototype, position, target, points, given, given)


def both(hood: object, twin: object) -> tuple[list[HitProbability], list[HitDraws]]:
    """Hits and draws of both at every position, the same chance at each."""
    places = ("rail", "yard", "corner")
    hits = [hit(p, q) for p in ("hood", "twin") for q in places]
    return hits, [draws(p, q, c) for p, c in (("hood", hood), ("twin", twin)) for q in places]


def ranked(
    hood: object, twin: object, prototypes: tuple[Prototype, ...] = (HOOD, TWIN), **options: object
) -> Decision:
    hits, drawn = both(hood, twin)
    return decide(GAME, prototypes, hits, drawn, np.random.default_rng(1), **options)  # type: ignore[arg-type]


# ---- gates


def test_limits_are_judged_one_by_one() -> None:
    heavy = replace(HOOD, mass=7.5, motors=None)
    gates = {g.gate: g for g in gates_of(heavy, GAME.limits, [], GAME)}
    assert set(gates) == {"motors", "mass"}  # no other limit is stated
    assert gates["mass"].passed is False
    assert gates["mass"].words == "mass 7.5 kg, over the limit of 6 kg"
    assert gates["motors"].passed is None
    assert "not stated" in gates["motors"].words
    at_limit = {g.gate: g.passed for g in gates_of(replace(HOOD, mass=6.0, motors=4), GAME.limits, [], GAME)}
    assert at_limit == {"mass": True, "motors": True}


def test_a_needed_position_that_it_cannot_serve_is_a_gate() -> None:
    hits = [
        hit("hood", "rail", reason="blocked: a wall"),
        hit("hood", "rail", "low"),
        hit("hood", "yard", reason="out of reach: too weak"),
        hit("hood", "corner", reason="blocked: a post"),
    ]
    gates = {g.gate: g for g in gates_of(HOOD, Limits(), hits, GAME)}
    # From the rail one of two targets is enough; the corner isn't needed.
    assert {name: g.passed for name, g in gates.items()} == {"reaches rail": True, "reaches yard": False}
    assert gates["reaches rail"].words == "reaches low from rail"
    assert "out of reach: too weak" in gates["reaches yard"].words


def test_who_fails_a_gate_is_out_and_the_reason_is_said() -> None:
    found = ranked([0.9, 0.95], [0.2, 0.3], (replace(HOOD, mass=9.0), TWIN))
    assert found.admitted == ("twin",)
    assert found.prototypes == ("hood", "twin")
    assert found.words[0] == "hood is out: mass 9 kg, over the limit of 6 kg."
    assert any("twin is the only one that passes every gate" in w for w in found.words)


def test_nobody_passes() -> None:
    found = ranked([0.9], [0.9], (replace(HOOD, mass=9.0), replace(TWIN, motors=6)))
    assert found.admitted == ()
    assert found.first_chance == ()
    assert found.words[-1] == "No prototype passes every gate and has a hit probability."


def test_a_prototype_without_draws_does_not_rank() -> None:
    hits, drawn = both([0.5], [0.5])
    only = [d for d in drawn if d.prototype == "twin"]
    found = decide(GAME, (HOOD, TWIN), hits, only, np.random.default_rng(1))
    assert found.admitted == ("twin",)


# ---- points


def test_points_are_those_of_the_better_target_averaged_over_positions() -> None:
    mean, worst = score_draws(
        [
            draws("hood", "rail", [0.5, 0.5]),
            draws("hood", "rail", [0.9, 1.0], "low", 1.0),
            draws("hood", "yard", [0.2, 0.4]),
            draws("hood", "corner", [0.0, 0.1]),
        ],
        GAME,
    )
    # By hand: 1.5 beats 0.95 at the rail; 0.6, 1.2 in the yard; 0, 0.3 in the corner, not needed.
    np.testing.assert_allclose(mean, [(1.5 + 0.6 + 0.0) / 3, (1.5 + 1.2 + 0.3) / 3])
    np.testing.assert_allclose(worst, [0.6, 1.2])


def test_a_position_without_an_answer_brings_nothing() -> None:
    mean, worst = score_draws([draws("hood", "rail", [0.6, 0.8])], GAME)
    np.testing.assert_allclose(mean, [0.6, 0.8])
    np.testing.assert_allclose(worst, [0.0, 0.0])


# ---- ranking


def test_better_on_everything_ranks_first_under_every_weighting() -> None:
    found = ranked([0.8, 0.9, 0.85], [0.3, 0.4, 0.5])
    assert found.admitted == ("hood", "twin")
    assert found.first_chance[0].chance == 1.0
    assert found.first_by_points[0].chance == 1.0
    assert {c.prototype: c.chance for c in found.dominated} == {"hood": 0.0, "twin": 1.0}
    assert found.acceptability[0].ranks == (1.0, 0.0)
    assert any("twin is dominated with a chance of 100 %" in w for w in found.words)
    assert not any("not settled" in w for w in found.words)


def test_first_by_points_counts_pairs_of_draws() -> None:
    # By hand: hood wins 1 draw of 4, twin 3.
    found = ranked([0.9, 0.1, 0.1, 0.1], [0.5, 0.5, 0.5, 0.5])
    assert {c.prototype: c.chance for c in found.first_by_points} == {"hood": 0.25, "twin": 0.75}


def test_alike_in_everything_shares_the_first_rank() -> None:
    same = replace(HOOD, name="twin")
    found = ranked([0.5, 0.6], [0.5, 0.6], (HOOD, same))
    assert [c.chance for c in found.first_chance] == [0.5, 0.5]
    assert [c.chance for c in found.dominated] == [0.0, 0.0]
    assert any("not settled" in w for w in found.words)


def test_ranks_of_a_prototype_add_up_to_one() -> None:
    rng = np.random.default_rng(4)
    found = ranked(rng.random(200), rng.random(200))
    for shares in found.acceptability:
        assert sum(shares.ranks) == pytest.approx(1.0)
    assert sum(c.chance for c in found.first_chance) == pytest.approx(1.0)


def test_weights_turn_the_ranking() -> None:
    # Twin scores more; hood is lighter.
    by_points = ranked([0.4, 0.4], [0.8, 0.8], weights={"points": 1.0})
    by_mass = ranked([0.4, 0.4], [0.8, 0.8], weights={"mass": 1.0})
    assert by_points.admitted[0] == "twin"
    assert by_points.first_chance[0].chance > 0.99
    assert by_mass.admitted[0] == "hood"
    assert by_mass.first_chance[0].chance > 0.99
    assert by_mass.weights == {"mass": 1.0}
    assert any("with your weights" in w for w in by_mass.words)


def test_plain_criteria_keep_their_unit() -> None:
    found = ranked([0.5], [0.6])
    values = {(c.prototype, c.criterion): (c.value, c.unit) for c in found.criteria}
    assert values["hood", "mass"] == (3.0, "kg")
    assert values["twin", "energy"] == (38.0, "J")
    assert values["twin", "points"] == (pytest.approx(1.8), "points")


@pytest.mark.parametrize(
    ("weights", "says"),
    [
        ({"beauty": 1.0}, "'beauty' is not a criterion; there is: points"),
        ({"points": -1.0, "mass": 2.0}, "weights must be zero or more"),
        ({"points": 0.0}, "one above zero"),
    ],
)
def test_weights_that_make_no_sense_are_refused(weights: dict[str, float], says: str) -> None:
    with pytest.raises(BadInput, match=says):
        ranked([0.5], [0.6], weights=weights)


def test_a_criterion_that_not_everyone_states_cannot_be_weighed() -> None:
    silent = replace(TWIN, stored_energy=None)
    with pytest.raises(BadInput, match="'energy' can't be weighed"):
        ranked([0.5], [0.6], (HOOD, silent), weights={"energy": 1.0})
    assert "energy" not in {c.criterion for c in ranked([0.5], [0.6], (HOOD, silent)).criteria}


# ---- the choice on record


def chosen(name: str) -> RecordedChoice:
    return RecordedChoice("2026-01-17", name, "repeats best", {})


def test_a_choice_that_later_data_contradict_is_pointed_out() -> None:
    found = ranked([0.9, 0.9], [0.2, 0.2], recorded=chosen("twin"))
    assert "On record: twin, chosen on 2026-01-17: repeats best" in found.words
    assert found.words[-1] == "Look again: by today's data hood ranks first, not twin."


def test_a_choice_that_fails_a_gate_by_now_is_pointed_out() -> None:
    found = ranked([0.9], [0.2], (HOOD, replace(TWIN, mass=8.0)), recorded=chosen("twin"))
    assert found.words[-1] == "Look again: twin no longer passes every gate."


def test_a_choice_that_still_holds_raises_nothing() -> None:
    found = ranked([0.9, 0.9], [0.2, 0.2], recorded=chosen("hood"))
    assert not any("Look again" in w for w in found.words)


def test_a_choice_stays_in_words_when_nobody_passes() -> None:
    failing = (replace(HOOD, mass=9.0), replace(TWIN, mass=9.0))
    found = ranked([0.9], [0.2], failing, recorded=chosen("hood"))
    assert found.recorded == chosen("hood")
    assert any("Look again: hood no longer passes every gate." in w for w in found.words)
