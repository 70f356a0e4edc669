"""The part spiral gear as a crew asks for it: drawings, figures, words, refusals."""

import json
import math

import numpy as np
import pytest

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.bench.parts import make_part

READINGS = "travel (mm), force (N)\n" + "\n".join(
    f"{x}, {45 + 0.7 * x + 0.004 * x * x:.2f}" for x in range(0, 100, 10)
)


@pytest.fixture(scope="module")
def plain():
    return make_part("spiral-gear", {"material": "acetal", "thickness": "8 mm"})


def test_two_drawings_with_their_words(plain):
    gear, rack = plain.sheets
    assert gear.title.part == "Spiral gear: gear"
    assert rack.title.part == "Spiral gear: rack"
    assert gear.title.module_m == pytest.approx(0.0015)
    assert len(gear.holes) == 4
    assert len(rack.holes) == 3
    assert "flies back by itself" in gear.title.caution


def test_figures_keep_the_promises(plain):
    told = json.loads(json.dumps(plain.to_dict()))
    outline = told["outline"]
    assert outline["travel_error_m"] < 20e-6
    assert 0.99 < outline["torque_low"] < outline["torque_high"] < 1.01
    assert outline["overlap_m"] < 1e-6
    # Work of the linear spring, k (x1^2 - x0^2)/2.
    assert told["work_j"] == pytest.approx(900 * (0.18**2 - 0.09**2) / 2)
    assert told["torque_n_m"] * math.radians(told["turn_deg"]) == pytest.approx(told["work_j"])
    assert [one["way"] for one in told["ways"]] == ["curved rack", "straight rack", "cable drum"]
    # (x0 + x1)^2/(4 x0 x1) - 1 over the mean of the turn: the straight rack ripples by about an eighth.
    assert 0.1 < told["ways"][1]["ripple"] < 0.14
    assert told["ways"][0]["ripple"] < 0.01
    assert {one["what"].split()[0] for one in told["strength"]} == {"tooth", "bolts", "sides"}


def test_torque_over_the_turn_is_that_of_the_outline(plain):
    turn, torque = np.array(plain.part.torque).T
    constant = plain.part.figures["torque_n_m"]
    inside = turn <= plain.part.figures["turn_deg"] - 1e-9
    assert inside.sum() == 360
    assert torque[inside] == pytest.approx(constant, rel=0.01)
    assert torque[~inside].max() < 1.01 * constant
    assert np.trapezoid(torque[inside], np.radians(turn[inside])) == pytest.approx(
        plain.part.figures["work_j"] * 359 / 360, rel=1e-3
    )


def test_preview_is_near_the_part():
    rough = make_part("spiral-gear", {}, coarse=True)
    fine = make_part("spiral-gear", {})
    assert len(rough.sheets[0].outers[0].points) < 0.3 * len(fine.sheets[0].outers[0].points)
    assert rough.part.figures["torque_n_m"] == pytest.approx(fine.part.figures["torque_n_m"])
    for a, b in zip(rough.sheets, fine.sheets, strict=True):
        assert a.area_m2 == pytest.approx(b.area_m2, rel=5e-3)


def test_measured_force():
    made = make_part("spiral-gear", {"readings": READINGS, "fit": "meet", "stroke": "90 mm"})
    assert "measured" in made.part.words[0]
    assert made.part.figures["outline"]["travel_error_m"] < 20e-6
    assert made.part.figures["outline"]["torque_low"] > 0.99


@pytest.mark.parametrize("way", ["straight rack", "cable drum"])
def test_other_ways(way):
    made = make_part("spiral-gear", {"way": way})
    assert len(made.sheets) == (2 if way == "straight rack" else 1)
    assert made.part.figures["way"] == way
    torque = np.array(made.part.torque)[:, 1]
    assert torque.max() / torque[torque > 0.9 * torque.mean()].min() > 1.005


def test_whole_pitches():
    made = make_part("spiral-gear", {"preload": "40 mm", "teeth": "21", "soft_start": "0 mm"})
    # 218.257541423 deg for k 900 N/m, x0 40 mm, stroke 90 mm, m 1.5 mm (computed with mpmath).
    assert made.part.figures["turn_deg"] == pytest.approx(218.257541423, rel=1e-10)
    assert made.part.figures["teeth"] == 21
    assert made.part.figures["pitches"] == pytest.approx(21)
    assert any("push at" in one for one in made.part.words)


def test_soft_start_lets_the_torque_rise():
    made = make_part("spiral-gear", {"preload": "20 mm", "soft_start": "40 mm"})
    torque = np.array(made.part.torque)[:, 1]
    assert torque[0] < 0.75 * torque[150]
    assert made.part.figures["push_angle_deg"] < 60


@pytest.mark.parametrize(
    ("typed", "error", "words"),
    [
        ({"preload": "0 mm"}, NoAnswer, "preload"),
        ({"bolt_circle": "40 mm", "turn": "250 deg"}, BadInput, "smaller bolt circle"),
        ({"turn": "200 deg", "teeth": "20"}, BadInput, "not both"),
        ({"teeth": "12"}, NoAnswer, "arc"),
        ({"module": "9 mm"}, NoAnswer, "smaller module"),
        ({"module": "0.05 mm", "backlash": "0 mm"}, NoAnswer, "larger module"),
        ({"rack_hole": "9 mm"}, BadInput, "backing"),
        ({"preload": "5 mm", "turn": "200 deg"}, NoAnswer, "push"),
        ({"profile": "Z"}, BadInput, "Z"),
        (
            {"way": "cable drum", "preload": "40 mm", "turn": "300 deg", "bolts": "0"},
            NoAnswer,
            "step comes round",
        ),
    ],
)
def test_refusals(typed, error, words):
    with pytest.raises(error, match=words):
        make_part("spiral-gear", typed)


def test_a_turn_that_traps_the_rack_is_told():
    made = make_part("spiral-gear", {"preload": "40 mm", "turn": "285 deg", "bolts": "0"})
    assert any("STRIKES THE GEAR" in one for one in made.part.words)
    assert made.to_dict()["outline"]["free_to_deg"] is None


def test_edges_that_overlap_are_told():
    # A force that turns flat makes the pitch curve of a large module hollow: tips and roots meet there.
    force = (16.26, 32.57, 75.0, 76.0, 77.0, 150.0)
    readings = "travel (mm), force (N)\n" + "\n".join(f"{18 * i}, {f}" for i, f in enumerate(force))
    typed = {"readings": readings, "fit": "meet", "stroke": "90 mm", "soft_start": "30 mm", "bolts": "0"}
    for module in ("1 mm", "1.5 mm", "2 mm", "3 mm"):
        try:
            made = make_part(
                "spiral-gear", {**typed, "module": module, "turn": "240 deg", "backlash": "0 mm"}
            )
        except NoAnswer:
            continue
        outline = made.part.figures["outline"]
        sound = (
            outline["overlap_m"] <= 1e-6
            and outline["travel_error_m"] <= 20e-6
            and outline["torque_low"] >= 0.99
            and outline["torque_high"] <= 1.01
        )
        assert sound != any("NOT SOUND AS DRAWN" in one for one in made.part.words)


def test_the_other_ways_stand_beside_in_the_picture(plain):
    from shotwright.bench.part_pages import part_svg

    assert [name for name, _ in plain.part.others] == ["straight rack", "cable drum"]
    for _, curve in plain.part.others:
        turn, torque = np.array(curve).T
        work = np.trapezoid(torque, np.radians(turn))
        assert work == pytest.approx(plain.part.figures["work_j"], rel=5e-3)
    drawn = part_svg(plain)
    assert "straight rack" in drawn
    assert "cable drum" in drawn
    assert "curve" not in plain.to_dict()["ways"][1]
