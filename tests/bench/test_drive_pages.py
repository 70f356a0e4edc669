"""Drives in the notebook: every drive has its section, and what can't be worked out says why."""

from __future__ import annotations

import datetime
import re
from pathlib import Path

from shotwright.bench.drive_pages import drive_pages
from shotwright.bench.projects import create_project, import_into
from shotwright.bench.workbook import Workbook, read_workbook
from shotwright.notebook.blocks import Picture, Table, Words
from shotwright.notebook.content import NotebookContent
from shotwright.notebook.page import write_html

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"


def book(tmp_path: Path, *swaps: tuple[str, str]) -> Workbook:
    project = tmp_path / "a.shotwright"
    create_project(project, name="a", game=YARD / "game.toml")
    text = (YARD / "drive.toml").read_text(encoding="utf-8")
    for old, new in (("motors = [1, 2, 3, 4]", "motors = [1]"), *swaps):
        assert old in text
        text = text.replace(old, new, 1)
    (tmp_path / "drive.toml").write_text(text, encoding="utf-8")
    import_into(project, tmp_path / "drive.toml")
    import_into(project, YARD / "piston-drive.toml")
    return read_workbook(project)


def test_both_kinds_of_drives_are_printed(tmp_path: Path) -> None:
    project = book(tmp_path)
    seen: list[float] = []
    pages = drive_pages(project, progress=lambda fraction, what="": seen.append(fraction))
    assert [page.name for page in pages] == ["Yard wheel drive", "Yard piston drive"]
    assert seen[-1] == 1.0
    keys = [block.key for page in pages for block in page.blocks if isinstance(block, Picture)]
    assert keys == ["drive-1-match", "drive-1-map", "drive-2-turn", "drive-2-wound"]
    breaks = [b for b in pages[0].blocks if isinstance(b, Table) and b.caption.endswith("what breaks first.")]
    assert len(breaks) == 1
    assert "voltage of the battery" in {row[0] for row in breaks[0].rows}
    game = project.needed_game()
    source = write_html(NotebookContent("a", datetime.date(2031, 3, 14), "0", game, drives=pages))
    ids = re.findall(r' id="([^"]+)"', source)
    assert len(ids) == len(set(ids))
    assert "What drives it: Yard piston drive" in source
    assert "measured motor, from 3 readings, 95" in source
    assert source.count("A wound spring keeps its energy") == 1


def test_what_can_not_be_worked_out_says_why(tmp_path: Path) -> None:
    pages = drive_pages(book(tmp_path, ('lowest_voltage = "7.5 V"', 'lowest_voltage = "13 V"')))
    told = [block.text for block in pages[0].blocks if isinstance(block, Words)]
    assert len(told) == 1
    assert told[0].startswith("Not worked out: no drive of")


def test_without_gears_the_map_stands_around_what_is_built(tmp_path: Path) -> None:
    pages = drive_pages(book(tmp_path, ("teeth = [12, 15, 18, 24, 30, 36, 48, 60]\n", "")))
    keys = [block.key for block in pages[0].blocks if isinstance(block, Picture)]
    assert keys == ["drive-1-match", "drive-1-map"]


def test_a_project_without_a_drive_prints_none(tmp_path: Path) -> None:
    project = tmp_path / "a.shotwright"
    create_project(project, name="a")
    assert drive_pages(read_workbook(project)) == ()
