"""Plans of a match through the bench: the same digits on any number of processes, and figures that add up."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from shotwright.base.errors import BadInput
from shotwright.bench.match_picture import match_svg
from shotwright.bench.match_plans import match_plans
from shotwright.bench.match_story import match_story
from shotwright.bench.projects import create_project, import_into

TEXT = """
[match]
length = "120 s"
autonomous = "15 s"
autonomous_factor = 2

[robot]
start = ["0 m", "0 m"]
speed = "2 m/s"
acceleration = "2 m/s^2"
storage = 2
preload = 2
spread = "20 %"

[launcher]
recovery = "1 s"
aim = "1 s"
jam = "2 %"
jam_time = "4 s"

[[position]]
name = "rail"
x = "3 m"
y = "1 m"
points = 3
scored = "13 of 20"

[[position]]
name = "yard"
x = "5 m"
y = "2 m"
points = 3
hit = "50 %"

[[station]]
name = "depot"
x = "1 m"
y = "4 m"
time_per_ball = "0.8 s"

[[defender]]
name = "warden"
blocks = { rail = "40 %" }
stay = "6 s"

[[plan]]
name = "yard only"
positions = ["yard"]
stations = ["depot"]

[[plan]]
name = "rail first"
positions = ["rail", "yard"]
stations = ["depot"]
"""


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "match.toml"
    path.write_text(TEXT, encoding="utf-8")
    return path


def test_plans_side_by_side(file):
    found = match_plans(file=file, matches=2000)

    assert [one.plan for one in found.plans] == ["rail first", "yard only"]
    assert found.lead.low > 0
    rail = found.positions[0]
    # Jeffreys interval of 13 of 20: quantiles of Beta(13.5, 7.5)
    wanted = stats.beta(13.5, 7.5).ppf([0.025, 0.975])
    assert (rail.hit.low, rail.hit.high) == pytest.approx(wanted, abs=0.002)
    for plan in found.plans:
        assert sum(n for _, n in plan.histogram) == 2000
        total = sum(points * n for points, n in plan.histogram) / 2000
        assert plan.mean.value == pytest.approx(total)
        assert sum(plan.time_s.values()) == pytest.approx(120.0)
        assert list(plan.quantiles) == sorted(plan.quantiles)
    assert found.plans[0].least_known < found.plans[0].mean.value < found.plans[0].most_known


def test_the_to_do_list_agrees_with_what_is_scored(file):
    """Where misses change nothing, a point of hit probability is worth a hundredth of all points fired."""
    found = match_plans(file=file, plans=("yard only",), matches=20_000)
    point = next(one for one in found.to_do if one.what.startswith("1 point"))
    plan = found.plans[0]

    # points fired: score / hit probability
    assert point.gain.value == pytest.approx(0.01 * plan.mean.value / 0.5, rel=0.1)
    assert point.gain.low < 0.01 * plan.mean.value / 0.5 < point.gain.high + 0.02
    assert [one.gain.value for one in found.to_do] == sorted(
        (o.gain.value for o in found.to_do), reverse=True
    )


def test_second_choices(file):
    found = match_plans(file=file, plans=("rail first",), matches=2000)

    assert {one.what for one in found.second_choices} == {"yard", "wait", "fire all the same"}
    assert found.second_choices[0].behind.value == 0.0
    assert all(one.behind.value >= 0 for one in found.second_choices)


@pytest.mark.slow
def test_one_process_and_two_give_the_same_digits(file):
    one, two = (match_plans(file=file, matches=1200, workers=n).to_dict() for n in (1, 2))

    assert json.dumps(one) == json.dumps(two)


def test_fewer_matches_are_the_first_of_more(file):
    some, more = (match_plans(file=file, matches=n) for n in (500, 1000))

    assert some.plans[0].mean.value != more.plans[0].mean.value
    assert abs(some.plans[0].mean.value - more.plans[0].mean.value) < 5 * np.hypot(
        some.plans[0].sd / 500**0.5, more.plans[0].sd / 1000**0.5
    )


def test_the_picture_tells_its_numbers(file):
    svg = match_svg(match_plans(file=file, matches=500))

    assert "<title" in svg
    assert "rail first: mean" in svg


def test_places_and_points_come_from_the_game(tmp_path):
    examples = Path(__file__).parents[2] / "docs" / "examples"
    project = tmp_path / "a.shotwright"
    create_project(project, game=examples / "game.toml")
    report = import_into(project, examples / "match.toml")
    found = match_plans(project, matches=300)

    assert report.kind == "match plans"
    assert found.positions[0].points == 5


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('hit = "50 %"', "", '[[position]] "yard": has no hit probability: type hit = "65 %"'),
        ("points = 3\nhit", "hit", '[[position]] "yard": does not say what a score is worth'),
        ('x = "5 m"\ny = "2 m"\n', "", '[[position]] "yard": has no x and y, and the game has no position'),
        ("13 of 20", "21 of 20", "no more hits than shots"),
        ("13 of 20", "13/20", 'is no count; e.g. scored = "13 of 20"'),
    ],
)
def test_what_is_missing_is_named(file, old, new, message):
    file.write_text(TEXT.replace(old, new), encoding="utf-8")
    with pytest.raises(BadInput) as wrong:
        match_plans(file=file, matches=100)

    assert message in str(wrong.value)
    assert str(wrong.value).startswith("match.toml, ")
    assert "\n" not in str(wrong.value)


def test_slips_of_the_asker(file, tmp_path):
    with pytest.raises(BadInput, match="there is no plan 'x'; there is: yard only, rail first"):
        match_plans(file=file, plans=("x",))
    with pytest.raises(BadInput, match="5 matches can't be run"):
        match_plans(file=file, matches=5)
    create_project(tmp_path / "b.shotwright")
    with pytest.raises(BadInput, match="there is no match file; write one"):
        match_plans(tmp_path / "b.shotwright")


def test_a_match_that_is_told_is_one_of_those_that_were_counted(file):
    plans = match_plans(file=file, plans=("rail first",), matches=40)
    stories = [match_story(file=file, plan="rail first", number=n, matches=40) for n in range(1, 41)]

    assert sum(one.points for one in stories) / 40 == pytest.approx(plans.plans[0].mean.value)
    assert sorted(e.time_s for e in stories[0].events) == [e.time_s for e in stories[0].events]
    with pytest.raises(BadInput, match="there is no match 41; 1 to 40"):
        match_story(file=file, number=41, matches=40)
