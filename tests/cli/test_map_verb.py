"""The verb ``map`` as a person calls it, and the picture that it draws."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest

from shotwright.bench.demonstration import run_demo
from shotwright.cli.main import main
from shotwright.notebook.figures.floor_map import BANDS, opacity
from shotwright.notebook.palette import DARK, LIGHT


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("map") / "demo"
    run_demo(folder)
    return next(folder.glob("*.shotwright"))


def run(project: Path, *arguments: str) -> int:
    return main(["map", *arguments, "--project", str(project), "--workers", "1", "--draws", "100"])


@pytest.mark.slow
def test_map_prints_words_a_table_and_a_picture(
    project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    picture = tmp_path / "map.svg"
    asked = ("hooded wheel", "--target", "lantern", "--step", "50 cm", "--out", str(picture))
    assert run(project, *asked) == 0
    shown = capsys.readouterr().out
    for part in ("scores most in the lantern from", "Best places", "Firing positions", "simulated"):
        assert part in shown
    drawn = picture.read_text(encoding="utf-8")
    assert drawn.startswith("<svg")
    assert "Hit probability of hooded wheel" in drawn

    assert run(project, *asked[:-2], "--json") == 0
    found = json.loads(capsys.readouterr().out)
    rows = found["hit_probability"]
    assert (len(rows), len(rows[0])) == (len(found["y_m"]), len(found["x_m"])) == (12, 18)
    assert found["computed"] == 1.0
    assert found["difference_error"] < 0.002
    best = max(value for row in rows for value in row if value is not None)
    assert found["best"][0]["hit_probability"] == pytest.approx(best, abs=1e-6)
    # the same numbers from the same seed
    assert run(project, *asked[:-2], "--json") == 0
    assert json.loads(capsys.readouterr().out) == found


@pytest.mark.slow
@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((), "3 prototypes have trials; name one of"),
        (("nobody",), "there is no prototype 'nobody'"),
        (("piston", "--target", "moon"), "there is no target 'moon'"),
        (("piston", "--placed-as", "roof"), "there is no position 'roof'"),
        (("piston", "--x", "3 m"), "is no range; type LOW .. HIGH"),
        (("piston", "--x", "0 m .. 99 m"), "is no part of the floor"),
        (("piston", "--step", "5"), "unit"),
    ],
)
def test_map_says_what_is_wrong(
    project: Path, arguments: tuple[str, ...], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(project, *arguments) == 2
    assert told in capsys.readouterr().err


def lightness(colour: str) -> float:
    """CIE 1976 L* of an sRGB colour: IEC 61966-2-1 and CIE 15, from memory."""
    linear = [
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
        for c in (int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5))
    ]
    y = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return 116 * y ** (1 / 3) - 16 if y > (6 / 29) ** 3 else y * (29 / 3) ** 3


@pytest.mark.parametrize("look", [LIGHT, DARK], ids=["paper", "dark"])
def test_shades_are_even_steps_of_lightness_on_paper_and_in_the_dark(look: dict[str, str]) -> None:
    paper, hue = (np.array([int(look[n][k : k + 2], 16) for k in (1, 3, 5)]) for n in ("paper", "s0"))
    steps = np.diff(
        [
            lightness("#" + "".join(f"{round(c):02x}" for c in paper + (hue - paper) * opacity(k)))
            for k in range(BANDS)
        ]
    )
    assert (np.sign(steps) == np.sign(steps[0])).all()
    assert np.abs(steps).min() > 3.0  # about three times what an eye tells apart side by side
    assert np.abs(steps).max() < 1.6 * np.abs(steps).min()
    assert math.isclose(opacity(0), 0.05)
