"""Errors carry their place in one line, and in parts for a form."""

from __future__ import annotations

import pytest

from shotwright.base.errors import BadInput, Cancelled, NoAnswer, ProjectProblem, ShotwrightError


@pytest.mark.parametrize(
    ("place", "message"),
    [
        ({}, "0 g is not a mass"),
        ({"field": "mass"}, "mass: 0 g is not a mass"),
        ({"file": "game.toml"}, "game.toml: 0 g is not a mass"),
        ({"row": 4}, "row 4: 0 g is not a mass"),
        ({"field": "mass", "file": "game.toml", "row": 4}, "game.toml, row 4, mass: 0 g is not a mass"),
    ],
)
def test_message_holds_the_place(place: dict[str, object], message: str) -> None:
    assert str(BadInput("0 g is not a mass", **place)) == message  # type: ignore[arg-type]


def test_a_caller_who_knows_more_fills_the_place_in() -> None:
    inner = BadInput("0 g is not a mass", field="mass")
    outer = inner.at(file="game.toml", row=4, prefix="ball")
    assert str(outer) == "game.toml, row 4, ball.mass: 0 g is not a mass"
    assert (outer.file, outer.row, outer.field, outer.problem) == (
        "game.toml",
        4,
        "ball.mass",
        "0 g is not a mass",
    )
    assert str(inner) == "mass: 0 g is not a mass"


def test_a_place_that_is_known_stays() -> None:
    inner = BadInput("bad", file="a.csv", row=2)
    assert (inner.at().file, inner.at().row) == ("a.csv", 2)
    assert inner.at(prefix="ball").field == "ball"


def test_every_error_has_one_root_and_bad_input_is_a_value_error() -> None:
    assert all(issubclass(e, ShotwrightError) for e in (BadInput, ProjectProblem, NoAnswer, Cancelled))
    assert issubclass(BadInput, ValueError)
    assert not issubclass(ProjectProblem, ValueError)
