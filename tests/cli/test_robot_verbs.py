"""The verbs ``drive-base``, ``tilt``, ``feed``, ``brake`` and ``power`` as a person types them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from shotwright.cli.main import main

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"
ROBOT = str(YARD / "robot.toml")


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(list(words))
    shown = capsys.readouterr()
    return code, shown.out, shown.err


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Path:
    """A folder with the yard's project: game, prototypes, robot."""
    monkeypatch.chdir(tmp_path)
    assert main(["new", "yard", "--game", str(YARD / "game.toml")]) == 0
    for name in ("prototypes.toml", "robot.toml"):
        assert main(["import", str(YARD / name)]) == 0
    capsys.readouterr()
    return tmp_path


@pytest.mark.parametrize(
    ("verb", "said"),
    [
        ("drive-base", "3 m from rest take"),
        ("tilt", "Locking at rest has a margin of 1.70"),
        ("feed", "The channel holds 4 balls"),
        ("brake", "Bores of the standard series"),
        ("power", "Motors: 8 of 10 allowed"),
    ],
)
def test_each_verb_without_options(
    yard: Path, capsys: pytest.CaptureFixture[str], verb: str, said: str
) -> None:
    code, out, err = run(capsys, verb, "--picture", "it.svg")
    assert (code, err) == (0, "")
    assert said in " ".join(out.split())
    assert "PREDICTED" in out
    assert "Caution" in out
    assert (yard / "it.svg").read_text(encoding="utf-8").startswith("<svg")
    code, out, _ = run(capsys, verb, "--json")
    assert code == 0
    assert json.loads(out)["origin"] == "predicted"


def test_a_file_stands_alone_where_it_can(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(capsys, "power", ROBOT)[0] == 0
    code, _, err = run(capsys, "feed", ROBOT)
    assert code == 2
    assert "the feed needs the ball" in err
    code, _, err = run(capsys, "brake")
    assert code == 2
    assert len(err.splitlines()) == 1
    code, _, err = run(capsys, "brake", "none.toml")
    assert code == 2
    assert "there is no such file" in err


def test_a_missing_part_is_told(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = Path(ROBOT).read_text(encoding="utf-8")
    short = text[: text.index("[tilt]")] + text[text.index("[feed]") : text.index("[power]")]
    Path("short.toml").write_text(short, encoding="utf-8")
    code, _, err = run(capsys, "tilt", "short.toml")
    assert code == 2
    assert "the section [tilt] is missing" in err
