"""A crew asks for a shot on the move, on the package's invented game."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.bench.moving import moving_shot
from shotwright.bench.projects import create_project, import_into
from shotwright.bench.shots import add_shot
from shotwright.cli.main import main

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"
CASE = {"position": "rail", "target": "lantern", "prototype": "hooded wheel"}
# Marks that nobody fired: invented for this test, cm along and to the left.
MARKS = ((498, 3), (527, 8), (525, -2), (512, -6), (506, 5), (519, 1), (510, -9), (516, 4))


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("moving") / "crew.shotwright"
    create_project(file, game=YARD / "game.toml")
    import_into(file, YARD / "prototypes.toml")
    import_into(file, YARD / "trials.toml")
    for along, left in MARKS:
        add_shot(file, "hood at 56", along=f"{along} cm", cross=f"{left} cm")
    return file


def test_standing_is_no_lead(project: Path) -> None:
    found = moving_shot(project, **CASE)
    best = found.settings[0]
    assert best.usable
    assert (best.lead_deg, best.speed_change_m_s) == pytest.approx((0.0, 0.0), abs=1e-3)
    assert isinstance(best.hit_probability, Estimate)
    assert isinstance(found.standing.hit_probability, Estimate)
    assert best.hit_probability.value == pytest.approx(found.standing.hit_probability.value, abs=0.002)
    assert found.origin == "simulated"
    assert (found.uncorrected_beyond_m, found.uncorrected_left_m) == pytest.approx((0.0, 0.0), abs=1e-5)


def test_a_shot_on_the_move(project: Path, tmp_path: Path) -> None:
    picture = tmp_path / "aim.svg"
    found = moving_shot(
        project,
        **CASE,
        toward="1 m/s",
        left="1.5 m/s",
        turn_rate="30 deg/s",
        offset_toward="20 cm",
        speed_error="0.1 m/s",
        delay="0.12 s",
        delay_error="20 ms",
        svg=picture,
    )
    assert found.settings[0].kind == "least change"
    assert {one.kind for one in found.settings} == {"least change", "same elevation", "same speed"}
    best = found.settings[0]
    # driving to the left, turning to the left: aim to the right, and slower since it drives up as well
    assert -35 < best.lead_deg < -15
    assert best.speed_change_m_s < 0
    assert found.release_speed_m_s == pytest.approx(math.hypot(1.0, 1.5 + math.radians(30) * 0.2))
    assert found.command_early_m == pytest.approx(0.12 * found.release_speed_m_s)
    chances = [one.hit_probability.value for one in found.falls if isinstance(one.hit_probability, Estimate)]
    assert chances == sorted(chances, reverse=True)
    assert chances[0] > chances[-1] + 0.3
    assert sum(one.share for one in found.sources) == pytest.approx(1.0)
    assert found.sources[0].share >= found.sources[-1].share
    toward, left = found.curves
    assert max(abs(lead) for lead in toward.lead_deg if lead is not None) < 1e-6
    leads = [lead for lead in left.lead_deg if lead is not None]
    assert leads == sorted(leads, reverse=True)
    assert picture.read_text(encoding="utf-8").startswith("<svg")
    assert "pointing" in found.words[0]


def test_held_values(project: Path) -> None:
    flat, steep = moving_shot(project, **CASE, toward="-0.5 m/s", speed="8.6 m/s").settings
    assert {round(one.speed_m_s, 9) for one in (flat, steep)} == {8.6}
    assert flat.elevation_deg != pytest.approx(steep.elevation_deg, abs=1)
    (one,) = moving_shot(project, **CASE, left="1 m/s", elevation="60 deg").settings
    assert one.elevation_deg == pytest.approx(60.0)


def test_no_setting_is_an_answer(project: Path) -> None:
    found = moving_shot(project, **CASE, toward="-6 m/s")
    assert not any(one.usable for one in found.settings)
    assert "no setting of hooded wheel hits" in found.words[0]
    assert found.falls == ()


def test_without_trials_there_is_an_aim_but_no_chance(project: Path) -> None:
    found = moving_shot(project, position="rail", target="lantern", prototype="piston", left="1 m/s")
    assert found.settings[0].usable
    assert isinstance(found.settings[0].hit_probability, NotEstimated)
    assert found.origin == "no trials"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"target": "lantern", "prototype": "piston"}, "name one position and one target"),
        ({"position": "rail", "target": "lantern"}, "name one prototype"),
        ({**CASE, "toward": "1"}, "'1' has no unit"),
        ({**CASE, "speed": "8 m/s", "elevation": "50 deg"}, "not both"),
        ({**CASE, "delay": "-1 s"}, "is not a delay"),
        ({**CASE, "speed_error": "-1 m/s"}, "a standard deviation is 0 or more"),
    ],
)
def test_what_can_not_be_asked(project: Path, typed: dict[str, str], said: str) -> None:
    with pytest.raises(BadInput, match=said):
        moving_shot(project, **typed)


def test_the_verb(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = ["moving-shot", "--project", str(project), "--position", "rail", "--target", "lantern"]
    given += ["--prototype", "hooded wheel", "--left", "1 m/s", "--delay-error", "20 ms"]
    assert main(given) == 0
    shown = capsys.readouterr().out
    assert "least change" in shown
    assert "release time" in shown
    assert main([*given, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["left_m_s"] == pytest.approx(1.0)
