"""Drag laws against published formulas, an independent library, and what a law of drag must do."""

from __future__ import annotations

from pathlib import Path

import fluids
import numpy as np
import pytest

from shotwright.base.errors import BadInput
from shotwright.flight.drag import DRAG_LAWS, drag_coefficient, drag_in_range
from shotwright.game.records import CoefficientLaw

TABLE = np.genfromtxt(
    Path(__file__).parents[1] / "authorities" / "sphere_drag.csv", delimiter=",", comments="#"
)
COLUMNS = {"haider-levenspiel": 1, "clift-gauvin": 2, "brown-lawler": 3, "morsi-alexander": 4}
PRINTED = 0.6e-8  # half of the last printed digit
CRISIS = CoefficientLaw("table", table=((5e4, 0.5), (1e5, 0.48), (1.5e5, 0.3), (2e5, 0.3)))


@pytest.mark.authority
@pytest.mark.parametrize("name", COLUMNS)
def test_published_law(name):
    printed = TABLE[:, COLUMNS[name]]
    known = np.isfinite(printed)
    found = drag_coefficient(CoefficientLaw(name), TABLE[known, 0])
    np.testing.assert_allclose(found, printed[known], rtol=0, atol=PRINTED)


@pytest.mark.authority
@pytest.mark.parametrize(
    ("name", "theirs"),
    [
        ("haider-levenspiel", fluids.drag.Haider_Levenspiel),
        ("clift-gauvin", fluids.drag.Clift_Gauvin),
        ("morsi-alexander", fluids.drag.Morsi_Alexander),
    ],
)
def test_the_whole_range_agrees_with_an_independent_library(name, theirs):
    reynolds = np.geomspace(0.05, DRAG_LAWS[name].high, 400)
    expected = [theirs(re) for re in reynolds]
    np.testing.assert_allclose(drag_coefficient(CoefficientLaw(name), reynolds), expected, rtol=1e-12)


def test_sphere_laws_agree_within_what_is_known_of_spheres():
    # The laws were fitted to the same kind of measurement; they differ by less than 8 % from 1e3 to 5e4.
    values = TABLE[TABLE[:, 0] <= 5e4, 1:]
    ours = np.array([drag_coefficient(CoefficientLaw(n), TABLE[TABLE[:, 0] <= 5e4, 0]) for n in COLUMNS]).T
    assert np.abs(ours / values.mean(axis=1)[:, None] - 1).max() < 0.08


@pytest.mark.parametrize("name", COLUMNS)
def test_slow_flow_is_that_of_stokes(name):
    # C_D -> 24/Re as Re -> 0: Stokes' law
    assert drag_coefficient(CoefficientLaw(name), 1e-6) * 1e-6 == pytest.approx(24.0, rel=1e-3)


def test_spin_dependent_law_begins_at_its_constant_and_rises():
    law = CoefficientLaw("stepanek")
    found = drag_coefficient(law, 1e5, [0.0, 0.1, 0.5, 1.0, 1e6])
    assert found[0] == 0.508
    assert (np.diff(found) > 0).all()
    assert np.isfinite(found).all()


def test_table_meets_its_points_and_runs_on_level():
    points = np.array(CRISIS.table)
    np.testing.assert_allclose(drag_coefficient(CRISIS, points[:, 0]), points[:, 1], atol=1e-12)
    np.testing.assert_allclose(drag_coefficient(CRISIS, [1.0, 1e7]), [0.5, 0.3], atol=1e-12)


def test_scale_multiplies_every_law():
    for name in DRAG_LAWS:
        plain = CoefficientLaw(name, constant=0.5, table=CRISIS.table)
        scaled = CoefficientLaw(name, constant=0.5, table=CRISIS.table, scale=1.3)
        assert drag_coefficient(scaled, 8e4, 0.3) == pytest.approx(1.3 * drag_coefficient(plain, 8e4, 0.3))


def test_values_keep_the_shape_of_their_arguments():
    assert drag_coefficient(CoefficientLaw("stepanek"), np.full((2, 1), 1e5), [0.1, 0.2, 0.3]).shape == (2, 3)
    assert drag_coefficient(CoefficientLaw("constant", 0.5), 1e5).shape == ()


def test_range_is_told():
    assert drag_in_range(CoefficientLaw("haider-levenspiel"), [1e5, 3e5]).tolist() == [True, False]
    assert drag_in_range(CoefficientLaw("stepanek"), 1e5, [0.3, 0.9]).tolist() == [True, False]
    assert drag_in_range(CRISIS, [4e4, 6e4, 3e5]).tolist() == [False, True, False]
    assert drag_in_range(CoefficientLaw("constant", 0.5), 1e9)


@pytest.mark.parametrize(
    ("law", "words"),
    [
        (CoefficientLaw("sphere"), "'sphere' is not a law; choose one of constant, table, haider-levenspiel"),
        (CoefficientLaw("constant"), "needs its coefficient, e.g. 0.5"),
        (CoefficientLaw("constant", float("nan")), "needs its coefficient"),
        (CoefficientLaw("constant", -0.1), "must not be negative"),
        (CoefficientLaw("constant", 0.5, scale=-1.0), "is not a scale"),
        (CoefficientLaw("table", table=((1e5, 0.5),)), "at least 2 points, this one has 1"),
        (CoefficientLaw("table", table=((1e5, 0.5), (1e5, 0.4))), "sort the points and type each once"),
        (CoefficientLaw("table", table=((1e5, 0.5), (2e5, float("inf")))), "point 2 is"),
        (
            CoefficientLaw("table", table=((1.0, 0.5), (2.0, 0.01), (3.0, 0.01), (4.0, 0.01))),
            "add points where",
        ),
    ],
)
def test_bad_law_is_named(law, words):
    with pytest.raises(BadInput, match=r"ball\.drag") as raised:
        drag_coefficient(law, 1e5)
    assert words in str(raised.value)


def test_every_law_says_where_it_is_from():
    assert all(law.source and law.low < law.high for law in DRAG_LAWS.values())
    assert len({law.code for law in DRAG_LAWS.values()}) == len(DRAG_LAWS)
