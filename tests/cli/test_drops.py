"""The verb ``drop-test`` as a person types it."""

from __future__ import annotations

import json
import math

import pytest

from shotwright.cli.main import main


def run(capsys, *words: str) -> tuple[int, str, str]:
    code = main(["drop-test", *words])
    shown = capsys.readouterr()
    return code, shown.out, shown.err


def test_heights_with_and_without_spaces(capsys):
    code, out, _ = run(capsys, "1.8", "m", "1.02", "m", "180cm", "105 cm", "5.9 ft", "1.03m", "--json")
    found = json.loads(out)
    assert code == 0
    assert len(found["drops"]) == 3
    assert found["drops"][0]["restitution"] == pytest.approx(math.sqrt(1.02 / 1.8))
    assert found["drops"][2]["dropped_m"] == pytest.approx(5.9 * 0.3048)
    assert found["air"] is False


def test_the_ball_corrects_for_air(capsys):
    # foam ball, 1.5 m to 0.6 m: 0.667089982 with air at 1.225 kg/m^3, 0.632455532 without (closed forms)
    code, out, _ = run(
        capsys, "1.5m", "0.6m", "--diameter", "178mm", "--mass", "140g", "--drag", "0.47", "--json"
    )
    assert code == 0
    assert json.loads(out)["mean"] == pytest.approx(0.667, abs=1.5e-3)  # at 20 degC, with buoyancy


def test_words_for_people(capsys):
    code, out, _ = run(capsys, "1.8m", "1.02m", "1.8m", "1.05m", "1.8m", "1.03m")
    assert code == 0
    assert "Coefficient of restitution from 3 drops: 0.758" in " ".join(out.split())
    assert "Air is left out" in out
    assert "For the game file: restitution = 0.758" in out


def test_a_table(capsys, tmp_path):
    table = tmp_path / "drops.csv"
    table.write_text("Drop (cm);Rebound height (cm)\n180;102\n\n180;1,05 m\n", encoding="utf-8")
    code, out, _ = run(capsys, "--table", str(table), "--json")
    assert code == 0
    assert [d["rebound_m"] for d in json.loads(out)["drops"]] == pytest.approx([1.02, 1.05])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["1.8m"], "an odd number of heights (1) makes no pairs"),
        (["1.8", "1.0"], "drop 1: '1.8' has no unit"),
        (["1.0m", "1.8m"], "write the drop first"),
        ([], "type drop and rebound heights"),
        (["1.8m", "1m", "--rebound-point", "top"], "needs its diameter"),
        (["1.8m", "1m", "--height-sd", "0m"], "height_sd"),
        (["1.8m", "1m", "--table", "x.csv"], "or name a table"),
        (["--table", "none.csv"], "there is no such file"),
    ],
)
def test_slips_take_one_line(capsys, words, said):
    code, out, err = run(capsys, *words)
    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1


def test_a_table_without_the_columns_says_so(capsys, tmp_path):
    table = tmp_path / "drops.csv"
    table.write_text("high,low\n1,2\n", encoding="utf-8")
    assert 'has no columns "drop" and "rebound"' in run(capsys, "--table", str(table))[2]
    table.write_text("drop,rebound\n1 m,\n", encoding="utf-8")
    assert "row 2: has one of drop and rebound only" in run(capsys, "--table", str(table))[2]
