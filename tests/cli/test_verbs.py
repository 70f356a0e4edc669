"""Every verb hands on what was typed, and prints text or the same as JSON."""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import json
import sys
from pathlib import Path
from typing import Any

import click
import pytest

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.base.progress import silent
from shotwright.bench.demonstration import DemoResult
from shotwright.bench.results import (
    FlightResult,
    HitTable,
    ImportReport,
    ProjectSummary,
    RowTrouble,
    ShotList,
    Verification,
    WindowsResult,
    WrittenFiles,
)
from shotwright.bench.warming import WarmUp
from shotwright.choice.decision import Chance, CriterionValue, Decision, Gate, RankShares
from shotwright.choice.records import HitProbability, SpreadSummary
from shotwright.cli.main import main
from shotwright.flight.needed_shots import NeededShot
from shotwright.flight.windows import ShotWindow
from shotwright.published.table import CheckOutcome
from shotwright.trials.comparison_records import Comparison, PairComparison, Side
from shotwright.trials.planning import plan_shots
from shotwright.trials.records import Shot

FILES = WrittenFiles(files=("a.html", "a.pdf"), words=("Wrote a.html.",))
SUMMARY = ProjectSummary(
    file="a.shotwright",
    name="a",
    game=None,
    positions=(),
    targets=("lantern",),
    prototypes=("roller",),
    trials=(),
    shots=7,
    set_aside=1,
    words=("Next: bring in a game.",),
)
REPORT = ImportReport(
    source="shots.csv",
    kind="shots",
    imported=True,
    new_shots=6,
    known_shots=1,
    new_prototypes=(),
    new_trials=("T1",),
    problems=(),
    notes=("column 'x' is read as along",),
    words=("Read 6 new shots.",),
)
BAD = RowTrouble(row=7, field="along", reason="'n/a' is not a number")
SHOTS = ShotList(
    trials=(),
    prototypes=(),
    shots=(Shot(uid="u", trial="T1", order=3, along=4.2, cross=-0.03, elevation=0.9, set_aside="slipped"),),
    words=("1 shot.",),
)
FLIGHT = FlightResult(
    ended="on the floor",
    distance_m=5.344,
    cross_m=0.0,
    height_m=-2.8e-17,
    time_s=1.238,
    speed_m_s=6.845,
    entry_angle_deg=56.4,
    apex_m=1.852,
    apex_time_s=0.606,
    air_density_kg_m3=1.142,
    drag="constant",
    lift="cross",
    words=("It lands.",),
)
NEEDED = NeededShot(
    "minimum speed", 8.471, 52.19, 0.0, 3.0, 0.15, 36.2, 2.714, 0.996, 2e-10, 0.482, None, "", 0.4585
)
WINDOW = ShotWindow(
    position="rail",
    target="lantern",
    release_height_m=0.5,
    spin_parameter=0.15,
    spin_rev_s=None,
    defended=False,
    speed_range_m_s=(5.0, 11.0),
    elevations_deg=tuple(30.0 + k for k in range(31)),
    azimuths_deg=(0.0,) * 31,
    intervals_m_s=((),) * 3 + (((8.0, 8.5), (9.0, 9.5)),) * 28,
    minimum_speed=NEEDED,
    minimum_speed_through_centre=None,
    most_forgiving=None,
    scatter_speed=0.02,
    scatter_elevation_deg=0.7,
    scatter_azimuth_deg=0.7,
    scatter_origin="assumed",
    blocked=False,
    reason="",
    words=("28 of 31 elevations score.",),
)
# The common settings may come with the result or not; the verb prints its sentences.
EMPTY = {f.name: None for f in dataclasses.fields(WindowsResult)}
WINDOWS = WindowsResult(**{**EMPTY, "windows": (WINDOW,), "words": ("One elevation serves all.",)})
HALF = Estimate(0.714, 0.52, 0.85)
HIT = HitProbability(
    prototype="roller",
    position="rail",
    target="lantern",
    defended=False,
    points=5.0,
    origin="measured",
    probability=HALF,
    leads="model",
    model=HALF,
    counted=None,
    setting=None,
    all_speed=None,
    all_elevation=None,
    doubt=None,
    method="flown",
    shortcut_error=0.0,
    shots=7,
    trials=("T1",),
    seed=1,
    words=("It scores.", "More shots would tell."),
)
NONE = NotEstimated("1 shot, at least 2 needed")
SPREAD = SpreadSummary("roller", Estimate(1.0, 0.6, 2.3), Estimate(1.3, 0.3, 2.9), NONE, NONE, 7, ("T1",))
SIDE = Side("roller", "roller", ("T1",), "measured", "floor", "along", 7, 6, HALF, HALF, HALF, 0.821)
PAIR = PairComparison(
    "roller", "catapult", NONE, NONE, 0.0421, NONE, NONE, None, None, None, 1.5, None, "Not to be told."
)
COMPARISON = Comparison((SIDE,), (PAIR,), NONE, NONE, False, 0.8, ("roller: 7 shots.",))
DECISION = Decision(
    prototypes=("roller", "catapult"),
    admitted=("roller",),
    gates=(Gate("roller", "mass", None, "mass not stated"), Gate("roller", "motors", True, "motors 2")),
    criteria=(CriterionValue("roller", "mass", 3.1, "kg"),),
    weights=None,
    first_chance=(Chance("roller", 0.6917),),
    first_by_points=(Chance("roller", 0.9),),
    acceptability=(RankShares("roller", (0.6917, 0.3083)),),
    dominated=(Chance("roller", 0.001),),
    recorded=None,
    seed=1,
    words=("roller ranks first.",),
)
CHECK = CheckOutcome("density of dry air", "a table", "authority", 1.225, 1e-4, 1.2249, True)
WRONG = CheckOutcome("terminal speed", "closed form", "identity", 9.0, 0.1, 9.5, False)

# Verb and what is typed -> function of the bench, what it must be handed, its answer, what the text holds.
CASES: dict[str, tuple[list[str], str, dict[str, Any], Any, list[str]]] = {
    "new": (
        ["new", "b", "--name", "B", "--overwrite"],
        "projects.create_project",
        {"path": Path("b.shotwright"), "name": "B", "game": None, "overwrite": True},
        SUMMARY,
        ["positions: none yet", "shots: 7, 1 of them set aside", "Next: bring in a game."],
    ),
    "import": (
        ["import", "shots.csv", "--column", "along=Dist. = m", "--unit", "along=in", "--unit", "cross=cm"],
        "projects.import_into",
        {
            "source": Path("shots.csv"),
            "columns": {"along": "Dist. = m"},
            "units": {"along": "in", "cross": "cm"},
            "skip_bad_rows": False,
            "trial": None,
        },
        REPORT,
        ["column 'x' is read as along", "Read 6 new shots."],
    ),
    "export": (
        ["export", "out", "--overwrite"],
        "projects.export_project",
        {"folder": Path("out"), "overwrite": True},
        FILES,
        ["Wrote a.html.", "\na.pdf"],
    ),
    "export a copy into a folder": (
        ["export", ".", "--copy"],
        "projects.copy_project",
        {"to": Path("a.shotwright")},
        FILES,
        ["Wrote a.html."],
    ),
    "log add": (
        ["log", "add", "T1", "--along", "4.2 m", "--cross", "-3 cm", "--miss"],
        "shots.add_shot",
        {"trial": "T1", "along": "4.2 m", "cross": "-3 cm", "hit": False, "order": None, "remark": ""},
        SHOTS,
        ["1 shot.", "T1        3  4.2 m  -0.03 m  51.57°     slipped"],
    ),
    "log list": (["log", "list"], "shots.list_shots", {"trial": None}, SHOTS, ["slipped"]),
    "log set-aside": (
        ["log", "set-aside", "T1", "3", "--reason", "slipped"],
        "shots.set_aside",
        {"trial": "T1", "order": 3, "reason": "slipped"},
        SHOTS,
        ["slipped"],
    ),
    "log take-back": (
        ["log", "take-back", "T1", "3"],
        "shots.take_back",
        {"trial": "T1", "order": 3},
        SHOTS,
        ["1 shot."],
    ),
    "flight": (
        ["flight", "--speed", "8 m/s", "--elevation", "52deg", "--diameter", "150mm", "--mass", "130g"],
        "one_flight.fly",
        {"speed": "8 m/s", "elevation": "52deg", "diameter": "150mm", "mass": "130g", "project": None},
        FLIGHT,
        ["It lands.", "distance                     5.344 m", "centre  0 m", "drag: constant"],
    ),
    "flight of the project's ball": (
        ["flight", "--speed", "8 m/s", "--elevation", "52deg", "--wind", "-2 m/s"],
        "one_flight.fly",
        {"wind": "-2 m/s", "diameter": None, "project": Path("a.shotwright")},
        FLIGHT,
        ["It lands."],
    ),
    "warm-up": (
        ["warm-up"],
        "warming.warm_up",
        {"progress": silent},
        WarmUp(("kernel",), (9.0,), "a folder", True, 0, ("Kernel ready after 9.0 s.",)),
        ["Kernel ready after 9.0 s."],
    ),
    "windows": (
        ["windows", "--position", "rail", "--slowest", "5 m/s", "--defended"],
        "flights.windows",
        {"position": "rail", "target": None, "slowest": "5 m/s", "defended": True, "progress": silent},
        WINDOWS,
        [
            "rail: lantern\n=====",
            "slowest  8.47 m/s  52.2°      36.2°  2.71 m  1.00 s  0 mm    482 mm         -  46 %",
            "35°        8.00 to 8.50 m/s, 9.00 to 9.50 m/s",
            "One elevation serves all.",
        ],
    ),
    "compare": (
        ["compare", "--prototype", "roller", "--prototype", "catapult", "--pooled", "--seed", "5"],
        "evidence.compare",
        {"prototypes": ("roller", "catapult"), "pooled": True, "seed": 5},
        COMPARISON,
        ["roller: 7 shots.", "82 %", "0.042", "not estimated: 1 shot, at least 2 needed"],
    ),
    "sample-size": (
        ["sample-size", "--ratio", "1.5", "--shots", "7", "--hit-rate", "80 %"],
        "evidence.sample_size",
        {"ratio": 1.5, "shots": 7, "hit_rate": "80 %", "width": None, "power": "80 %"},
        plan_shots(ratio=1.5, current=7),
        ["that is 19 more of each"],
    ),
    "hit": (
        ["hit", "--target", "lantern"],
        "evidence.hit_probabilities",
        {"prototypes": (), "target": "lantern", "defended": False, "seed": 1, "progress": silent},
        HitTable((SPREAD,), (HIT,), ()),
        ["1.3° (0.3 to 2.9°)", "71 % (52 to 85 %)", "It scores. More shots would tell."],
    ),
    "choose": (
        ["choose", "--weight", "points=3", "--weight", "mass=0.5"],
        "choosing.choose",
        {"weights": {"points": 3.0, "mass": 0.5}, "decide": None, "progress": silent},
        DECISION,
        ["roller ranks first.", "roller       69 %    31 %         90 %           <1 %", "3.1 kg"],
    ),
    "demo": (
        ["demo", "there"],
        "demonstration.run_demo",
        {"folder": Path("there"), "progress": silent},
        DemoResult("there", ("there/a.html",), HitTable((), (), ()), 8, 9, ("One screen.", "  8 of 9")),
        ["One screen.\n  8 of 9\n"],
    ),
    "notebook": (
        ["notebook", "--pdf", "a.pdf"],
        "notebooks.write_notebook",
        {"html": None, "pdf": Path("a.pdf"), "seed": 1, "defended": False, "progress": silent},
        FILES,
        ["Wrote a.html."],
    ),
    "verify": (
        ["verify", "--all"],
        "checking.verify",
        {},
        Verification(1, 0, (CHECK,), ("1 of 1 agree.",)),
        ["ok   density of dry air: 1.2249, expected 1.225 within 0.0001\n     a table", "1 of 1 agree."],
    ),
}


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with one project file and one table of shots, as the current folder."""
    (tmp_path / "a.shotwright").touch()
    (tmp_path / "shots.csv").touch()
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("SHOTWRIGHT_PROJECT", raising=False)
    return tmp_path


def plant(monkeypatch: pytest.MonkeyPatch, where: str, *answers: Any) -> list[dict[str, Any]]:
    """Put answers in the place of a function of the bench; returns what it is called with, call by call."""
    module_name, _, name = where.partition(".")
    module = importlib.import_module(f"shotwright.bench.{module_name}")
    signature = inspect.signature(getattr(module, name))
    calls: list[dict[str, Any]] = []

    def answer(*args: Any, **kwargs: Any) -> Any:
        bound = signature.bind(*args, **kwargs)  # a slip in a name fails here, as the real one would
        bound.apply_defaults()
        calls.append(bound.arguments)
        return answers[min(len(calls), len(answers)) - 1]

    monkeypatch.setattr(module, name, answer)
    return calls


def relative(value: Any, folder: Path) -> Any:
    if isinstance(value, Path) and value.is_absolute():
        return value.resolve().relative_to(folder.resolve())
    return value


@pytest.mark.parametrize("case", CASES)
def test_a_verb_hands_on_what_was_typed_and_prints_the_answer(
    case: str, here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    typed, where, handed, answer, holds = CASES[case]
    calls = plant(monkeypatch, where, answer)
    assert main(typed) == 0
    text = capsys.readouterr()
    assert text.err == ""
    assert [part for part in holds if part not in text.out] == [], text.out
    assert {name: relative(calls[0][name], here) for name in handed} == handed
    if "project" in calls[0] and "project" not in handed:
        assert relative(calls[0]["project"], here) == Path("a.shotwright")

    assert main([*typed, "--json"]) == 0
    printed = capsys.readouterr()
    assert json.loads(printed.out) == answer.to_dict()
    assert printed.err == ""
    assert calls[1] == calls[0]


@pytest.mark.parametrize(
    ("typed", "line"),
    [
        (["import", "shots.csv", "--unit", "along"], "--unit: 'along' is not FIELD=UNIT"),
        (["import", "gone.csv"], "Path 'gone.csv' does not exist"),
        (["export", "out", "--copy", "--overwrite"], "--overwrite: a copy never replaces a file"),
        (["log", "set-aside", "T1", "0", "--reason", "x"], "0 is not in the range x>=1"),
        (["log", "set-aside", "T1", "1"], "Missing option '--reason'"),
        (["log", "take-back", "T1", "one"], "'one' is not a valid integer"),
        (["flight", "--speed", "8 m/s"], "Missing option '--elevation'"),
        (["choose", "--weight", "mass=heavy"], "--weight: 'heavy' is not a number; write mass=2"),
        (["choose", "--decide", "roller"], "--decide NAME and --reason TEXT go together"),
        (["hit", "--project", "gone.shotwright"], "'gone.shotwright' is no file"),
    ],
)
def test_what_can_be_mended_is_one_line_and_two(
    typed: list[str], line: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(typed) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert line in captured.err
    assert captured.err.count("\n") == 1


def test_an_error_of_the_bench_is_one_line_and_two(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(project: Path, trial: str | None = None) -> None:
        raise BadInput("there is no trial 'T9'; there is: T1", field="trial")

    monkeypatch.setattr("shotwright.bench.evidence.dispersion", fail)
    assert main(["dispersion", "T9", "--json"]) == 2
    captured = capsys.readouterr()
    assert (captured.out, captured.err) == ("", "shotwright: trial: there is no trial 'T9'; there is: T1\n")


def test_a_flight_without_ball_and_project_says_what_is_missing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("SHOTWRIGHT_PROJECT", raising=False)
    assert main(["flight", "--speed", "8 m/s", "--elevation", "52deg", "--mass", "130g"]) == 2
    assert "give the ball by --diameter and --mass, or a project" in capsys.readouterr().err


HELD = ImportReport("shots.csv", "shots", False, 6, 0, (), (), (BAD,), (), ("Nothing read yet.",))


@pytest.mark.parametrize("more", [[], ["--json"], ["--dry-run"]])
def test_bad_rows_are_printed_and_end_with_two(
    more: list[str], here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    calls = plant(monkeypatch, "projects.import_into", HELD)
    assert main(["import", "shots.csv", *more]) == 2
    captured = capsys.readouterr()
    assert len(calls) == 1
    assert "'n/a' is not a number" in captured.out
    assert captured.err == ""
    if more == ["--json"]:
        assert json.loads(captured.out) == HELD.to_dict()


@pytest.mark.parametrize(("reply", "runs", "code"), [("y\n", [False, True], 0), ("\n", [False], 2)])
def test_on_a_terminal_the_good_rows_can_be_taken(
    reply: str, runs: list[bool], code: int, here: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls = plant(monkeypatch, "projects.import_into", HELD, REPORT)
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
    asked: list[str] = []
    monkeypatch.setattr(click, "confirm", lambda text: asked.append(text) or reply == "y\n")
    assert main(["import", "shots.csv"]) == code
    assert [call["skip_bad_rows"] for call in calls] == runs
    assert asked == ["import the good rows and leave these out?"]


def test_a_failed_check_is_named_and_ends_with_one(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    plant(monkeypatch, "checking.verify", Verification(1, 1, (CHECK, WRONG), ("terminal speed: found 9.5",)))
    assert main(["verify"]) == 1
    assert capsys.readouterr().out == "terminal speed: found 9.5\n"
    assert main(["verify", "--all"]) == 1
    assert "FAIL terminal speed: 9.5, expected 9 within 0.1" in capsys.readouterr().out
