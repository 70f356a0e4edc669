"""Parts from typed numbers: every kind with its defaults, and what is refused."""

from __future__ import annotations

import datetime
import json

import pytest

from shotwright.base.errors import BadFile, BadInput
from shotwright.bench.part_kinds import KINDS, fields_of, part_kind
from shotwright.bench.parts import make_part, read_fields

DAY = datetime.date(2026, 1, 2)


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_is_made_from_its_defaults_and_told_as_json(kind: str) -> None:
    made = make_part(kind, {}, date=DAY)
    assert made.name == part_kind(kind).label
    assert made.part.rows
    assert made.part.cautions
    assert json.loads(json.dumps(made.to_dict(), allow_nan=False))["kind"] == kind
    for sheet in made.sheets:
        assert sheet.title.caution
        assert sheet.title.date == DAY


@pytest.mark.parametrize("kind", KINDS)
def test_a_preview_has_the_size_of_the_part(kind: str) -> None:
    exact, rough = make_part(kind, {}, date=DAY), make_part(kind, {}, date=DAY, coarse=True)
    for one, other in zip(exact.sheets, rough.sheets, strict=True):
        assert other.area_m2 == pytest.approx(one.area_m2, rel=0.02)


@pytest.mark.parametrize("kind", KINDS)
def test_every_field_of_a_kind_reads_its_own_default(kind: str) -> None:
    fields = fields_of(part_kind(kind))
    values = read_fields(fields, {})
    assert set(values) == {one.key for one in fields}
    assert len({one.key for one in fields}) == len(fields)


def test_all_problems_are_told_at_once_by_field() -> None:
    typed = {"bore": "4", "diametr": "3 mm", "seat": "oval", "bolts": "x", "kerf": "-1 mm"}
    with pytest.raises(BadFile) as told:
        make_part("hub-plate", typed)
    assert [one.field for one in told.value.problems] == ["diametr", "bore", "seat", "bolts", "kerf"]


def test_a_wheel_of_a_known_material_is_judged_and_another_says_why_not() -> None:
    # Closed form of a disc with a hole (Timoshenko): 1.02440279 MPa at the hole, acrylic, 101.6 mm, 12.7 mm
    # bore, 6000 rpm.
    typed = {"diameter": "101.6 mm", "bore": "12.7 mm", "bolts": "0", "speed": "6000 rpm"}
    made = make_part("wheel-disc", {**typed, "material": "clear acrylic"}, date=DAY)
    strength = made.to_dict()["strength"]
    assert strength["largest_pa"] == pytest.approx(1.02440279e6, rel=1e-8)
    assert strength["margin"] == pytest.approx(70e6 / 1.02440279e6)
    other = make_part("wheel-disc", {**typed, "material": "cheese"}, date=DAY)
    assert "strength" not in other.to_dict()
    assert "not judged" in other.part.words[0]


def test_an_unknown_kind_lists_those_that_are() -> None:
    with pytest.raises(BadInput, match="hub-plate"):
        make_part("gearbox", {})
