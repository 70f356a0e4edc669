"""Lift laws against published formulas, and what a law of lift must do."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from shotwright.base.errors import BadInput
from shotwright.flight.drag import drag_coefficient
from shotwright.flight.lift import END_OF_DATA, LIFT_LAWS, lift_coefficient, lift_in_range
from shotwright.game.records import CoefficientLaw

TABLE = np.genfromtxt(
    Path(__file__).parents[1] / "authorities" / "spin_laws.csv", delimiter=",", comments="#"
)
COLUMNS = {"sawicki-hubbard-stronge": 1, "cross": 2, "nathan": 3, "stepanek": 4}
PRINTED = 0.6e-8  # half of the last printed digit


@pytest.mark.authority
@pytest.mark.parametrize("name", COLUMNS)
def test_published_law(name):
    printed = TABLE[:, COLUMNS[name]]
    known = np.isfinite(printed)
    found = lift_coefficient(CoefficientLaw(name), TABLE[known, 0])
    np.testing.assert_allclose(found, printed[known], rtol=0, atol=PRINTED)


@pytest.mark.authority
def test_published_drag_by_spin():
    found = drag_coefficient(CoefficientLaw("stepanek"), 1e5, TABLE[:, 0])
    np.testing.assert_allclose(found, TABLE[:, 5], rtol=0, atol=PRINTED)


@pytest.mark.parametrize("name", COLUMNS)
def test_no_spin_no_lift_and_no_law_runs_away(name):
    s = np.concatenate([[0.0], np.geomspace(1e-9, 1e9, 200)])
    found = lift_coefficient(CoefficientLaw(name), s)
    assert found[0] == 0.0
    assert (np.diff(found) >= 0).all()
    # half of the potential-flow bound 16 S/3 at S = 0.2, and never near it above
    assert found.max() < 0.54


def test_two_line_law_is_held_beyond_its_data():
    law = CoefficientLaw("sawicki-hubbard-stronge")
    assert lift_coefficient(law, [0.1, 0.1 + 1e-12]) == pytest.approx([0.15, 0.15], abs=1e-10)
    assert lift_coefficient(law, [END_OF_DATA, 1.0, 50.0]) == pytest.approx([0.45, 0.45, 0.45])
    assert lift_in_range(law, [0.5, 1.0]).tolist() == [True, False]


def test_a_ball_may_have_no_lift_or_a_reversed_one():
    assert lift_coefficient(CoefficientLaw("none"), 0.7) == 0.0
    assert lift_coefficient(CoefficientLaw("constant", -0.1), 0.7) == -0.1
    table = CoefficientLaw("table", table=((0.0, 0.0), (0.5, -0.05), (1.0, 0.2)))
    np.testing.assert_allclose(
        lift_coefficient(table, [0.0, 0.5, 1.0, 2.0]), [0.0, -0.05, 0.2, 0.2], atol=1e-12
    )


def test_bad_law_is_named():
    with pytest.raises(
        BadInput, match=r"ball\.lift: 'magnus' is not a law; choose one of constant, table, none"
    ):
        lift_coefficient(CoefficientLaw("magnus"), 0.5)


def test_every_law_says_where_it_is_from():
    assert all(law.source and law.low < law.high for law in LIFT_LAWS.values())
    assert len({law.code for law in LIFT_LAWS.values()}) == len(LIFT_LAWS)
