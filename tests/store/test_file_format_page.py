"""docs/file-format.md: its example is a project, and it explains every key that is read."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from shotwright.base.toml_tables import Section
from shotwright.game.reading import read_game
from shotwright.store.folder import FILES, export_folder, import_folder
from shotwright.store.project_file import ProjectFile
from shotwright.store.shots_csv import COLUMNS
from shotwright.trials.measure.headers import _WORDS
from shotwright.trials.reading import read_prototypes, read_trials

DOCS = Path(__file__).parents[2] / "docs"
PAGE = (DOCS / "file-format.md").read_text(encoding="utf-8")
EXAMPLE = dict(re.findall(r"^### (\S+)\n.*?^```\w+\n(.*?)^```$", PAGE, re.M | re.S))


@pytest.fixture
def project(tmp_path):
    (tmp_path / "page").mkdir()
    for name, text in EXAMPLE.items():
        (tmp_path / "page" / name).write_bytes(text.encode())
    import_folder(tmp_path / "page", tmp_path / "crew.shotwright")
    with ProjectFile.open(tmp_path / "crew.shotwright") as project:
        yield project


def test_the_example_has_every_file_and_is_a_project(project):
    assert sorted(EXAMPLE) == sorted(FILES)
    assert project.name == "Lantern crew"
    assert project.game().target("upper lantern").points == 5
    assert [s.set_aside for s in project.shots("roller low")] == [None, "ball was wet"]
    assert project.choices()[0]["evidence"] == {"hit_probability": 0.71}


def test_the_example_is_what_export_writes(project, tmp_path):
    export_folder(project, tmp_path / "out")

    for name, text in EXAMPLE.items():
        assert (tmp_path / "out" / name).read_text(encoding="utf-8") == text, name


def test_every_key_is_explained(monkeypatch):
    known = set()
    finish = Section.finish
    monkeypatch.setattr(
        Section, "finish", lambda self, *args: known.update(self._known) or finish(self, *args)
    )
    read_game(DOCS / "examples" / "game.toml")
    read_prototypes(DOCS / "examples" / "prototypes.toml")
    read_trials(DOCS / "examples" / "trials.toml")

    explained = set(re.findall(r"`([^`\n]+)`", re.sub(r"^```.*?^```$", "", PAGE, flags=re.M | re.S)))
    assert len(known) > 50
    assert known - set(re.findall(r"\w+", " ".join(explained))) == set()
    assert set(COLUMNS) <= explained


def test_every_header_of_a_shot_table_is_named():
    table = PAGE.split("## Tables of shots")[1].split("\n- ")[0]
    rows = dict(re.findall(r"^\| `(\w+)` \|(.*)\|$", table, re.M))
    missing = [
        word
        for word, (field, _) in _WORDS.items()
        if word != field.replace("_", " ") and not re.search(rf"[*, ]{re.escape(word)}[*,; ]", rows[field])
    ]

    assert missing == []
