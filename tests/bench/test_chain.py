"""The whole chain on the package's invented game, with shots simulated from a hidden truth."""

from __future__ import annotations

from pathlib import Path

import pytest

from shotwright.base.errors import BadInput
from shotwright.bench.checking import verify
from shotwright.bench.demonstration import DemoResult, run_demo
from shotwright.bench.workbook import read_workbook


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> DemoResult:
    return run_demo(tmp_path_factory.mktemp("demo") / "yard")


@pytest.mark.slow
@pytest.mark.timeout(900)  # its fixture runs the whole demo
def test_the_demo_writes_what_a_crew_would_have(demo: DemoResult) -> None:
    names = {Path(f).name for f in demo.files}
    assert {
        *("game.toml", "prototypes.toml", "trials.toml", "drive.toml", "shots.csv", "lantern-yard.shotwright")
    } <= names
    assert {"lantern-yard.html", "lantern-yard.pdf"} <= names
    assert all(Path(f).stat().st_size > 0 for f in demo.files)
    assert Path(demo.folder, "lantern-yard.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.slow
def test_the_demo_says_that_its_shots_are_simulated(demo: DemoResult) -> None:
    assert "SIMULATED" in demo.words[0]
    assert "invented" in demo.words[0]
    folder = Path(demo.folder)
    assert (folder / "shots.csv").read_text(encoding="utf-8").startswith("# Simulated shots")
    assert "imulated" in (folder / "lantern-yard.html").read_text(encoding="utf-8")
    book = read_workbook(folder / "lantern-yard.shotwright")
    assert {t.origin for t, _ in book.trials} == {"simulated"}
    assert {row.origin for row in demo.hits.rows} == {"simulated"}


@pytest.mark.slow
def test_the_hidden_truth_lies_inside_most_intervals(demo: DemoResult) -> None:
    # 95 % intervals of related figures: far fewer than six in ten inside would be a broken chain.
    assert demo.truth_rows >= 12
    assert demo.truth_inside >= 0.6 * demo.truth_rows
    assert f"{demo.truth_inside} of {demo.truth_rows} hidden values" in " ".join(demo.words)


@pytest.mark.slow
def test_every_prototype_is_judged_from_every_position(demo: DemoResult) -> None:
    book = read_workbook(Path(demo.folder) / "lantern-yard.shotwright")
    wanted = {(p.name, t.name) for p, t in book.needed_game().shots_wanted()}
    for prototype in book.prototypes:
        found = {(r.position, r.target) for r in demo.hits.rows if r.prototype == prototype.name}
        assert found == wanted


def test_the_demo_leaves_a_folder_with_other_files_alone(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("keep", encoding="utf-8")
    with pytest.raises(BadInput, match=r"holds other files \(mine\.txt\)"):
        run_demo(tmp_path)
    assert [f.name for f in tmp_path.iterdir()] == ["mine.txt"]


@pytest.mark.slow
def test_verify_counts_every_check() -> None:
    found = verify()
    assert found.failed == 0
    assert found.passed == len(found.outcomes) > 0
    assert found.words[0] == f"{found.passed} of {found.passed} check values agree."
