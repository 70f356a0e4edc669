"""A shot table from trials: rows that hit best, forms that say the same, and what new shots change."""

from __future__ import annotations

import csv
import dataclasses
import json
import math
import shutil
import subprocess

import numpy as np
import pytest

from shotwright.base.errors import BadInput
from shotwright.bench.projects import create_project, import_into
from shotwright.bench.shot_table_files import card_bytes, shot_table_svg, write_shot_table
from shotwright.bench.shot_tables import shot_table
from shotwright.bench.workbook import opened, read_workbook
from shotwright.flight.model import flight_model
from shotwright.trials.synthetic.crew import Truth, simulate_trial

GAME = """
[game]
name = "Pond"
origin = "invented"
[field]
length = "9 m"
width = "6 m"
[ball]
name = "foam ball"
diameter = "150 mm"
mass = "150 g"
drag = 0.5
lift = "none"
hollow = "solid"
[[target]]
name = "well"
shape = "circle"
x = "6 m"
y = "3 m"
z = "1.2 m"
faces = "up"
diameter = "90 cm"
points = 2
[[position]]
name = "bank"
x = "3 m"
y = "3 m"
place_sd = "10 mm"
heading_sd = "0.3 deg"
"""
PROTOTYPES = """
[[prototype]]
name = "slinger"
release_height = "50 cm"
elevation_low = "60 deg"
elevation_high = "60 deg"
speed_low = "4 m/s"
speed_high = "11 m/s"
"""
TRIALS = """
[[trial]]
name = "low"
prototype = "slinger"
setting = "notch 2"
elevation = "60 deg"
mark_sd = "5 mm"
origin = "simulated"
[[trial]]
name = "high"
prototype = "slinger"
setting = "notch 8"
elevation = "60 deg"
mark_sd = "5 mm"
origin = "simulated"
"""
SPEEDS = {"low": 5.6, "high": 7.6}


def fired(project, trial, first, count, seed, factor=1.0):
    book = read_workbook(project)
    by_name = {t.name: t for t, _ in book.trials}
    found = simulate_trial(
        flight_model(book.game.ball, book.game.weather),
        book.prototypes[0],
        by_name[trial],
        Truth("slinger", 0.01, 0.3, 0.5),
        factor * SPEEDS[trial],
        count,
        np.random.default_rng(seed),
    )
    return [dataclasses.replace(s, uid=f"{trial}-{first + i}", order=first + i) for i, s in enumerate(found)]


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    folder = tmp_path_factory.mktemp("pond")
    for name, text in (("game", GAME), ("prototypes", PROTOTYPES), ("trials", TRIALS)):
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    path = folder / "pond.shotwright"
    create_project(path, game=folder / "game.toml")
    import_into(path, folder / "prototypes.toml")
    import_into(path, folder / "trials.toml")
    with opened(path) as file:
        for seed, trial in enumerate(SPEEDS):
            file.add_shots(fired(path, trial, 1, 10, seed))
    return path


@pytest.fixture(scope="module")
def table(project):
    return shot_table(project, distances="2 m .. 3.5 m", step="50 cm", setting="speed", keep=True)


def test_rows_run_up_and_hit(table):
    assert [row.distance_m for row in table.rows] == pytest.approx([2.0, 2.5, 3.0, 3.5])
    assert all(a.speed_m_s < b.speed_m_s for a, b in zip(table.rows, table.rows[1:], strict=False))
    assert table.fixed_elevation
    assert all(row.hit.low <= row.hit.value <= row.hit.high for row in table.rows)
    assert min(row.hit.value for row in table.rows) > 0.5


def test_a_row_is_as_good_as_the_best_setting_of_its_position(project, table):
    from shotwright.bench.evidence import hit_probabilities

    (wanted,) = hit_probabilities(project, prototypes=("slinger",)).rows
    row = table.rows[2]  # 3 m, the position's own distance

    assert row.hit.value == pytest.approx(wanted.probability.value, abs=0.01)
    assert row.speed_m_s == pytest.approx(wanted.setting.speed_m_s, abs=0.05)


def test_without_air_the_speed_is_near_the_parabola(table):
    """Drag asks for some percent more than the parabola through the middle at 60 degrees."""
    for row in table.rows:
        d, rise, angle = row.distance_m, 0.7, math.radians(60)
        # closed form: v^2 = g d^2 / (2 cos^2 (d tan - h))
        v = math.sqrt(9.80665 * d**2 / (2 * math.cos(angle) ** 2 * (d * math.tan(angle) - rise)))
        assert 1.0 < row.speed_m_s / v < 1.08


def test_notches_keep_their_level_and_cover_the_distances(table):
    assert not table.gaps_m
    assert table.notches[0].from_m == pytest.approx(2.0)
    assert table.notches[-1].to_m == pytest.approx(3.5)
    assert all(notch.least_hit >= table.level - 0.01 for notch in table.notches)


def test_interpolation_between_rows_costs_little(table):
    assert 0 <= table.between.speed_m_s < 0.05
    assert 0 <= table.between.hit < 0.02


def test_new_shots_correct_the_table(project, table, tmp_path):
    copy = tmp_path / "later.shotwright"
    shutil.copy(project, copy)
    with opened(copy) as file:
        # the launcher throws harder than before: the marks of a fresh trial say so
        file.add_shots([s for t in SPEEDS for s in fired(copy, t, 11, 10, 7, factor=1.04)])
    later = shot_table(copy, distances="2 m .. 3.5 m", step="50 cm", setting="speed")
    notches = shot_table(copy, distances="2.4 m .. 3.2 m", step="40 cm")

    # half of the shots are 4 % faster, so a notch means 2 % more speed: some 0.4 notches of 0.33 m/s less
    before = shot_table(project, distances="2.4 m .. 3.2 m", step="40 cm")
    for now, then in zip(notches.rows, before.rows, strict=True):
        fall = 0.02 * now.speed_m_s * 3
        assert now.setting.value - then.setting.value == pytest.approx(-fall, abs=0.25)
    assert "20 shots of low, high" in later.compared_with
    assert [one.distance_m for one in later.changes] == pytest.approx([2.0, 2.5, 3.0, 3.5])
    # the scatter of the mixed shots is wider: it hits less, and the table says by how much
    assert all(one.hit < 0 for one in later.changes)
    assert any("Against the table kept before" in words for words in later.words)


def test_trials_at_two_notches_give_the_notch(project):
    found = shot_table(project, distances="2 m .. 3 m", step="50 cm")

    assert (found.setting_name, found.setting_unit) == ("notch", "")
    assert "2 settings" in found.setting_source
    for row in found.rows:
        # two settings: a straight line through both means
        wanted = 2 + 6 * (row.speed_m_s - 5.6) / 2.0
        assert row.setting.value == pytest.approx(wanted, abs=0.3)
        assert row.setting.low <= row.setting.value <= row.setting.high


def test_every_form_says_the_same(table, tmp_path):
    paths = {name: tmp_path / f"t.{name}" for name in ("csv", "header", "picture", "card")}
    assert len(write_shot_table(table, **paths)) == 4
    lines = [line for line in paths["csv"].read_text().splitlines() if not line.startswith("#")]
    rows = list(csv.DictReader(lines))

    assert [float(r["distance (m)"]) for r in rows] == pytest.approx([2.0, 2.5, 3.0, 3.5])
    assert [float(r["launch speed (m/s)"]) for r in rows] == pytest.approx(
        [row.speed_m_s for row in table.rows], rel=1e-5
    )
    assert json.loads(json.dumps(table.to_dict()))["rows"][0]["distance_m"] == 2.0
    assert paths["card"].read_bytes().startswith(b"%PDF")
    assert shot_table_svg(table) == paths["picture"].read_text(encoding="utf-8")


def test_the_card_is_one_a5_page(table):
    import io

    from pypdf import PdfReader

    read = PdfReader(io.BytesIO(card_bytes(table)))
    (page,) = read.pages
    # ISO 216: A5 is 148 x 210 mm
    assert [float(v) / 72 * 25.4 for v in page.mediabox[2:]] == pytest.approx([148, 210], abs=0.2)
    text = page.extract_text()
    assert "slinger: well" in text
    assert "PREDICTED from 20 SIMULATED shots" in text
    assert "2.50" in text


@pytest.mark.skipif(shutil.which("cc") is None, reason="no C compiler")
def test_the_c_header_reads_between_rows(table, tmp_path):
    write_shot_table(table, header=tmp_path / "shot_table.h")
    (tmp_path / "try.c").write_text(
        '#include <stdio.h>\n#include "shot_table.h"\nint main(void) {\n'
        "  for (int i = 0; i <= 40; i++) {\n    float d = 1.5f + 0.0625f * i;\n"
        '    printf("%.6f %.6f\\n", d, shot_table_read(shot_table_setting, d));\n  }\n  return 0;\n}\n'
    )
    built = ["cc", "-std=c99", "-Wall", "-Wextra", "-Werror", "-o", "try", "try.c"]
    subprocess.run(built, cwd=tmp_path, check=True)
    said = subprocess.run([str(tmp_path / "try")], capture_output=True, text=True, check=True).stdout
    read = np.array([line.split() for line in said.splitlines()], dtype=float)
    x, y = ([get(row) for row in table.rows] for get in (lambda r: r.distance_m, lambda r: r.setting.value))

    assert read[:, 1] == pytest.approx(np.interp(read[:, 0], x, y), rel=1e-5)


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"distances": "2 m"}, "'2 m' is no range; type e.g. '1.5 m .. 5 m'"),
        ({"distances": "3 m .. 2 m"}, "is no range of distances: rising"),
        ({"step": "9 m"}, "a step of 9 m makes no table"),
        ({"elevation": "20 deg"}, "20 deg is outside what slinger can be set to, 60 to 60°"),
        ({"level": "120 %"}, "'120 %' is not a hit probability; type e.g. 80 %"),
        ({"setting": "stroke"}, "'stroke' is no setting of slinger; there is: speed"),
        ({"prototype": "x"}, "there is no prototype 'x'"),
    ],
)
def test_slips(project, given, message):
    with pytest.raises(BadInput) as wrong:
        shot_table(project, **given)

    assert message in str(wrong.value)


def test_one_setting_fired_is_no_curve(project, tmp_path):
    copy = tmp_path / "one.shotwright"
    shutil.copy(project, copy)
    with opened(copy) as file:
        for shot in file.shots("high"):
            file.set_aside(shot.uid, "another spring")
    found = shot_table(copy, distances="2 m .. 3 m", step="50 cm")

    assert (found.setting_name, found.setting_unit) == ("speed", "m/s")
    assert [one.setting for one in found.measured] == [None]
    assert all(row.setting.value == pytest.approx(row.speed_m_s) for row in found.rows)
