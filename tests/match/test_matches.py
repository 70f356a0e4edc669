"""The match kernel and the processes are two tellings of one match: they agree event for event."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.match.case import Chances, match_case
from shotwright.match.match_kernel import SCORE
from shotwright.match.processes import tell_match
from shotwright.match.records import (
    DefenderHabit,
    LauncherPace,
    MatchFile,
    MatchPosition,
    MatchRobot,
    MatchTimes,
    Plan,
    Station,
)
from shotwright.match.run import events_of, run_plan


def chances(matches, defenders=0, stations=1, seed=5):
    return Chances(np.random.SeedSequence(seed), matches, defenders, stations)


BALLS = [(None,), (0,), (2,), (9,), (0, 6.0), (1, 2.0)]  # at the start, and mean time between further ones


@st.composite
def files(draw):
    share = st.sampled_from([0.0, 0.2, 0.5])
    names = ["a", "b", "c"][: draw(st.integers(1, 3))]
    stations = draw(st.integers(0, 2))
    positions = tuple(
        MatchPosition(
            name,
            1.0 + 2 * i,
            0.5 * i,
            hit=draw(st.sampled_from([0.0, 0.4, 0.8, 1.0])),
            hit_blocked=draw(share),
            points=draw(st.sampled_from([1.0, 3.0])),
            misses_return=draw(share) if stations else 0.0,
            misses_to=draw(st.sampled_from(["near", "far"][:stations])) if stations else None,
            return_time=draw(st.sampled_from([0.0, 3.1])),
        )
        for i, name in enumerate(names)
    )
    plan = Plan(
        "plan",
        tuple(draw(st.permutations(names))),
        ("near", "far")[:stations],
        draw(st.sampled_from(["preloads", "cycle"])),
        draw(st.sampled_from(["next", "wait", "fire"])),
        draw(st.none() | st.integers(1, 3)),
    )
    return MatchFile(
        MatchTimes(draw(st.sampled_from([20.0, 90.0])), 11.3, 2.0, draw(st.sampled_from([0.0, 7.0]))),
        MatchRobot((0.0, 0.0), 2.3, 1.7, 3, draw(st.integers(0, 3)), 1.2, draw(st.sampled_from([0.0, 0.3]))),
        LauncherPace(
            0.83, draw(st.sampled_from([0.0, 1.1])), draw(st.sampled_from([np.inf, 2.0, 6.0])), 21.0, 0.5,
            draw(share), 2.2,
        ),
        positions,
        tuple(
            Station(name, 0.3, 3.0 + 4 * i, 0.71, *draw(st.sampled_from(BALLS)))
            for i, name in enumerate(("near", "far")[:stations])
        ),
        tuple(
            DefenderHabit(
                f"d{k}", tuple((n, draw(share) / 2) for n in names), 4.0, draw(st.sampled_from([0.0, 11.9]))
            )
            for k in range(draw(st.integers(0, 2)))
        ),
        (plan,),
    )  # fmt: skip


@settings(max_examples=100, deadline=None)
@given(files(), st.integers(0, 1000))
def test_kernel_and_processes_agree_event_for_event(file, seed):
    case = match_case(file, file.plans[0])
    some = chances(3, len(file.defenders), len(file.stations), seed)
    told = run_plan(case, some)

    for i, draws in enumerate(some.drawn(8)):
        events = events_of(case, draws)
        others, score = tell_match(case, draws)
        assert [one[1:] for one in events] == [one[1:] for one in others]
        assert [one[0] for one in events] == pytest.approx([one[0] for one in others], abs=1e-9)
        assert told[i, SCORE] == pytest.approx(score)


def simple(hit=0.6, **pace):
    return MatchFile(
        MatchTimes(150.0, 15.0, 2.0),
        MatchRobot((0.0, 0.0), 2.0, 2.0, 3, 3, 1.1, 0.2),
        LauncherPace(**{"recovery": 0.9, "aim": 1.0, "jam": 0.02, "jam_time": 3.0} | pace),
        (
            MatchPosition("rail", 3.0, 1.0, hit=hit, points=3.0),
            MatchPosition("yard", 5.0, 2.0, hit=hit, points=3.0),
        ),
        (Station("depot", 1.0, 4.0, 0.7),),
        (DefenderHabit("warden", (("rail", 0.5), ("yard", 0.1)), 8.0, 15.0),),
        (Plan("one", ("rail", "yard"), ("depot",)), Plan("other", ("yard", "rail"), ("depot",))),
    )


def test_more_numbers_begin_with_the_same_ones():
    some = chances(4, 1)

    assert np.array_equal(some.drawn(3)[:, :, :64], some.drawn(1))


@settings(max_examples=25, deadline=None)
@given(st.floats(0.0, 0.98), st.floats(0.001, 0.02), st.integers(0, 50))
def test_a_better_launcher_never_scores_less_in_the_same_match(hit, better, seed):
    """Misses that do not come back leave the course of a match alone, so each match can only gain."""
    some = chances(40, 1, 1, seed)
    before, after = (run_plan(match_case(f, f.plans[0]), some) for f in (simple(hit), simple(hit + better)))

    assert (after[:, SCORE] >= before[:, SCORE]).all()


def test_the_same_chances_for_every_plan():
    file, some = simple(), chances(500, 1)
    apart = [run_plan(match_case(file, plan), some)[:, SCORE] for plan in file.plans]
    others = run_plan(match_case(file, file.plans[1]), chances(500, 1, 1, 6))[:, SCORE]

    assert np.var(apart[0] - apart[1]) < 0.8 * np.var(apart[0] - others)


def test_a_match_that_uses_up_its_numbers_draws_more():
    quick = dataclasses.replace(simple(), stations=(Station("depot", 3.0, 1.1, 0.05),))
    quick = dataclasses.replace(quick, launcher=LauncherPace(0.05))
    some = chances(5, 1)
    told = run_plan(match_case(quick, quick.plans[0]), some)

    assert told[:, 2].min() > 64
    assert np.array_equal(told, run_plan(match_case(quick, quick.plans[0]), some))
