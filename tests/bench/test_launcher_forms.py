"""A launcher by form: what is asked, what stays of the crew's own file, what it would throw."""

from __future__ import annotations

from pathlib import Path

import pytest

from shotwright.base.errors import BadInput
from shotwright.bench.launcher_forms import (
    form_kinds,
    launcher_form,
    preview,
    save_launcher,
    set_launcher_text,
    typed_text,
)
from shotwright.bench.projects import create_project, import_into
from shotwright.launcher.kinds import KINDS
from shotwright.launcher.reading import launchers_from_text

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"
PISTON = {
    "action": "push",
    "elevation.value": "56 deg",
    "release_height.value": "50 cm",
    "stiffness.value": "900 N/m",
    "stiffness.sd": "1 %",
    "preload.value": "50 mm",
    "stroke.value": "115 mm",
    "stroke.low": "70 mm",
    "stroke.high": "130 mm",
    "piston_mass.value": "150 g",
}


@pytest.fixture
def project(tmp_path: Path) -> Path:
    file = tmp_path / "crew.shotwright"
    create_project(file, game=YARD / "game.toml")
    import_into(file, YARD / "prototypes.toml")
    return file


@pytest.mark.parametrize("kind", form_kinds())
def test_every_kind_asks_for_all_that_its_record_needs(project: Path, kind: str) -> None:
    form = launcher_form(project, "piston", kind)
    asked = {field.name.partition(".")[0] for field in form.fields if field.needed}
    import dataclasses

    needed = {
        one.name
        for one in dataclasses.fields(KINDS[kind])
        if one.default is dataclasses.MISSING and {"amount", "choice", "compression"} & set(one.metadata)
    }
    assert asked == needed
    assert all(field.words for field in form.fields)


def test_what_is_typed_becomes_a_launcher_and_comes_back(project: Path) -> None:
    assert save_launcher(project, "piston", "spring piston", PISTON) == ""
    form = launcher_form(project, "piston")
    assert form.kind == "spring piston"
    shown = {field.name: field for field in form.fields}
    assert (shown["stroke"].value, shown["stroke"].low, shown["stroke"].high) == ("115 mm", "70 mm", "130 mm")
    assert shown["stiffness"].sd == "1 %"
    (described,) = launchers_from_text(form.text)
    assert described.setting("stroke").low == pytest.approx(0.07)


def test_the_crew_s_comments_stay(project: Path) -> None:
    import_into(project, YARD / "launchers.toml")
    before = launcher_form(project, "piston")
    typed = {}
    for field in before.fields:
        for part in ("value", "sd", "low", "high"):
            key = field.name if field.kind == "choice" else f"{field.name}.{part}"
            typed[key] = typed.get(key) or getattr(field, part)
    assert typed_text(before.text, "piston", "spring piston", typed) == before.text
    changed = typed_text(before.text, "piston", "spring piston", {**typed, "friction.value": "6 N"})
    lines = [b for a, b in zip(before.text.splitlines(), changed.splitlines(), strict=True) if a != b]
    assert len(lines) == 1
    assert "6 N" in lines[0]


def test_the_preview_is_marked_as_predicted_words_and_saves_nothing(project: Path) -> None:
    seen = preview(project, "piston", "spring piston", PISTON)
    assert "throws" in seen.words[0]
    assert seen.cautions
    assert launcher_form(project, "piston").text == ""
    stronger = preview(project, "piston", "spring piston", {**PISTON, "stiffness.value": "1800 N/m"})
    assert stronger.words != seen.words


def test_everything_that_is_wrong_is_told_at_once(project: Path) -> None:
    with pytest.raises(BadInput) as wrong:
        preview(
            project, "piston", "spring piston", {**PISTON, "stroke.value": "115", "piston_mass.value": ""}
        )
    assert "stroke" in str(wrong.value)
    assert "piston_mass" in str(wrong.value)


def test_an_unknown_prototype_or_kind_is_told(project: Path) -> None:
    with pytest.raises(BadInput, match="no prototype"):
        launcher_form(project, "catapult")
    with pytest.raises(BadInput, match="no kind"):
        launcher_form(project, "piston", "catapult")


def test_text_is_checked_before_it_is_kept(project: Path) -> None:
    with pytest.raises(BadInput):
        set_launcher_text(project, '[[launcher]]\nprototype = "piston"\nkind = "spring piston"\n')
    assert launcher_form(project, "piston").text == ""
