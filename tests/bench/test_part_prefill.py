"""Parts filled in from launcher files: what is cut has the contact that the prediction reckons with."""

from __future__ import annotations

import datetime
import math
from pathlib import Path

import pytest

from shotwright.base.errors import BadInput
from shotwright.bench.part_prefill import fitting, from_prototype
from shotwright.bench.parts import make_part
from shotwright.bench.projects import create_project, import_into
from shotwright.bench.workbook import read_workbook
from shotwright.launcher.protocol import input_arrays

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"
DAY = datetime.date(2026, 1, 17)


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("prefill") / "yard.shotwright"
    create_project(path, name="Yard (simulated)", game=YARD / "game.toml")
    import_into(path, YARD / "prototypes.toml")
    import_into(path, YARD / "launchers.toml")
    return path


def test_the_hood_that_is_cut_has_the_contact_that_is_predicted(project: Path) -> None:
    filled = from_prototype(project, "hood-plate", "Hooded wheel")
    made = make_part("hood-plate", filled, date=DAY)
    launcher = read_workbook(project).launcher_of("hooded wheel")
    assert launcher is not None
    # The launcher's own layout: path of the ball's centre times the wrap, as its slip model runs it.
    book = read_workbook(project)
    ball, gap = book.needed_game().ball, launcher.launcher.gap.value
    layout = launcher.launcher.layout(input_arrays(launcher.launcher, ball))
    assert made.part.figures["gap_m"] == pytest.approx(gap)
    assert made.part.figures["contact_length_m"] == pytest.approx(float(layout.contact_length[0]), rel=1e-6)
    assert made.part.figures["exit_deg"] - 90 == pytest.approx(
        math.degrees(launcher.launcher.elevation.value)
    )


def test_the_cam_winds_the_energy_that_the_piston_reckons_with(project: Path) -> None:
    made = make_part("snail-cam", from_prototype(project, "snail-cam", "piston"), date=DAY)
    # k/2 (x1^2 - x0^2) of the launcher file: 900 N/m, 50 mm, 115 mm.
    energy = 450 * (0.165**2 - 0.05**2)
    assert dict(made.part.rows)["energy of the stroke"].startswith(f"{energy:.4g} J")


def test_only_what_fits_is_offered(project: Path) -> None:
    assert fitting(project, "hood-plate") == ("hooded wheel",)
    assert fitting(project, "snail-cam") == ("piston",)
    assert fitting(project, "hub-plate") == ()
    with pytest.raises(BadInput, match="takes its numbers from"):
        from_prototype(project, "hood-plate", "piston")
    with pytest.raises(BadInput, match="no numbers in a launcher file"):
        from_prototype(project, "hub-plate", "piston")
    with pytest.raises(BadInput, match="there is no prototype"):
        from_prototype(project, "snail-cam", "nobody")
