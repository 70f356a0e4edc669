"""Parts in a project: kept, listed, made again to the byte, shown in the notebook, removed, exported."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from shotwright.base.errors import BadInput
from shotwright.bench.kept_parts import keep_part, kept_part, list_parts, remove_part
from shotwright.bench.part_files import ENDINGS, part_bytes, write_part
from shotwright.bench.part_kinds import fields_of, part_kind
from shotwright.bench.part_pages import part_pages, part_svg, view_part
from shotwright.bench.parts import make_part
from shotwright.bench.workbook import opened, read_workbook
from shotwright.store.folder import export_folder, import_folder
from shotwright.store.project_file import ProjectFile


def fields_with_defaults(kind: str) -> dict[str, str]:
    return {one.key: one.default for one in fields_of(part_kind(kind)) if one.default}


DAY = datetime.date(2026, 1, 17)


@pytest.fixture
def project(tmp_path: Path) -> Path:
    path = tmp_path / "crew.shotwright"
    with ProjectFile.create(path, "Invented crew"):
        pass
    return path


def test_a_kept_part_is_made_again_to_the_byte(project: Path) -> None:
    typed = {"kerf": "0.15 mm", "bore": "6 mm", "material": "birch plywood"}
    made = make_part("hub-plate", typed, name="hub", project="Invented crew", date=DAY)
    assert keep_part(project, made, date=DAY) == "Kept 'hub'."
    again = kept_part(project, "HUB")
    for ending in ENDINGS:
        assert part_bytes(again.sheets[0], ending) == part_bytes(made.sheets[0], ending)
    assert {**again.to_dict(), "inputs": 0} == {**made.to_dict(), "inputs": 0}
    # Every default is kept as well: a part stays as it is when a later default differs.
    assert again.inputs == {**fields_with_defaults("hub-plate"), **typed}
    assert keep_part(project, made, date=DAY).endswith("kept under that name.")
    assert [one.name for one in list_parts(project).parts] == ["hub"]


def test_the_journal_tells_and_the_folder_carries_them(project: Path, tmp_path: Path) -> None:
    for name in ("one", "two"):
        keep_part(project, make_part("hub-plate", {}, name=name, date=DAY), date=DAY)
    assert [one.name for one in remove_part(project, "one").parts] == ["two"]
    with opened(project) as file:
        export_folder(file, tmp_path / "out")
        said = [what for _, what in file.journal()]
    assert said[-3:] == ["part 'one' kept (hub-plate)", "part 'two' kept (hub-plate)", "part 'one' removed"]
    import_folder(tmp_path / "out", tmp_path / "again.shotwright")
    assert list_parts(tmp_path / "again.shotwright") == list_parts(project)
    with opened(tmp_path / "again.shotwright") as file:
        export_folder(file, tmp_path / "out2")
    for one in (tmp_path / "out").iterdir():
        assert (tmp_path / "out2" / one.name).read_bytes() == one.read_bytes()


def test_the_last_part_can_go_and_the_folder_still_comes_back(project: Path, tmp_path: Path) -> None:
    keep_part(project, make_part("hub-plate", {}, name="one", date=DAY), date=DAY)
    assert remove_part(project, "one").parts == ()
    with opened(project) as file:
        export_folder(file, tmp_path / "out")
    import_folder(tmp_path / "out", tmp_path / "again.shotwright")
    assert list_parts(tmp_path / "again.shotwright").parts == ()


def test_a_name_that_is_not_there_lists_those_that_are(project: Path) -> None:
    keep_part(project, make_part("hub-plate", {}, name="hub", date=DAY))
    for ask in (kept_part, remove_part):
        with pytest.raises(BadInput, match="there is: hub"):
            ask(project, "cam")


def test_the_notebook_shows_each_part_and_says_which_can_not_be_made(project: Path) -> None:
    keep_part(project, make_part("hood-plate", {"wrap_angle": "80 deg"}, name="left", date=DAY), date=DAY)
    with opened(project) as file:
        text = file.crew_files()["parts"]
        lost = '\n[[part]]\nname = "lost"\nkind = "gearbox"\ndate = 2026-01-17\n[part.inputs]\nx = "1"\n'
        file.put_crew_file("parts", text + lost)
    left, gone = part_pages(read_workbook(project))
    assert left.kind == "Hood side plate"
    assert ("Wrap angle", "80 deg") in left.typed
    assert left.sheets
    assert "no kind of part" in gone.problem


def test_a_picture_has_the_proportions_of_the_part() -> None:
    made = make_part("hood-plate", {}, date=DAY)
    svg = part_svg(made, width=500)
    assert 'width="500"' in svg
    assert "288" in svg or "296" in svg  # the description states its size


def test_nothing_is_written_with_an_unknown_ending(tmp_path: Path) -> None:
    made = make_part("hub-plate", {}, date=DAY)
    with pytest.raises(BadInput, match=r"\.dxf, \.svg, \.pdf, \.stl"):
        write_part(made, [tmp_path / "a.dxf", tmp_path / "a.nc"])
    assert list(tmp_path.iterdir()) == []
    assert [Path(one).name for one in write_part(made, [tmp_path / "a.DXF"])] == ["a.DXF"]
    with pytest.raises(BadInput, match="can't be written"):
        write_part(made, [tmp_path / "none" / "a.dxf"])


def test_a_view_is_rough_until_asked_and_has_the_figures() -> None:
    # The size is that of the part; the kerf belongs to the cut line.
    typed = {"bore": "6 mm", "kerf": "0.3 mm"}
    rough, exact = (view_part("hub-plate", typed, exact=one) for one in (False, True))
    assert (rough.exact, exact.exact) == (False, True)
    assert ("bore", "6 mm") in rough.rows
    assert ("size", "40.00 x 40.00 mm") in rough.rows
    assert rough.drawing_svg.startswith("<svg")
    assert rough.torque_svg == ""
    with pytest.raises(BadInput):
        view_part("hub-plate", {"bore": "6"})
