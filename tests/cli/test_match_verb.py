"""The verb ``match`` as a person types it."""

from __future__ import annotations

import json

import pytest

from shotwright.cli.main import main

TEXT = """
[match]
length = "60 s"
[robot]
start = ["0 m", "0 m"]
speed = "2 m/s"
acceleration = "2 m/s^2"
storage = 2
preload = 2
[launcher]
recovery = "1 s"
[[position]]
name = "rail"
x = "3 m"
y = "1 m"
points = 3
hit = "60 %"
[[station]]
name = "depot"
x = "1 m"
y = "4 m"
time_per_ball = "0.8 s"
[[plan]]
name = "steady"
positions = ["rail"]
stations = ["depot"]
"""


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "m.toml").write_text(TEXT, encoding="utf-8")
    return tmp_path


def test_a_file_by_itself(here, capsys):
    assert main(["match", "m.toml", "--matches", "200", "--picture", "m.svg"]) == 0
    said = capsys.readouterr().out

    assert "steady" in said
    assert "To-do list for steady" in said
    assert "PREDICTED" in said
    assert (here / "m.svg").read_text(encoding="utf-8").startswith("<svg")


def test_json_and_nothing_else(here, capsys):
    assert main(["match", "m.toml", "--matches", "200", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)

    assert found["origin"] == "predicted"
    assert found["matches"] == 200
    assert found["plans"][0]["plan"] == "steady"


def test_one_line_when_something_is_wrong(here, capsys):
    (here / "m.toml").write_text(TEXT.replace('"1 s"', '"1"'), encoding="utf-8")

    assert main(["match", "m.toml"]) == 2
    said = capsys.readouterr().err
    assert said.startswith("shotwright: m.toml, [launcher], recovery: '1' has no unit")
    assert said.count("\n") == 1


def test_without_a_file_and_a_project(here, capsys):
    assert main(["match"]) == 2
    assert "no .shotwright file in this folder" in capsys.readouterr().err


def test_one_match_is_told(here, capsys):
    assert main(["match", "m.toml", "--tell", "3"]) == 0
    said = capsys.readouterr().out

    assert "match 3 of 10000 of steady" in said
    assert "picked up" in said
