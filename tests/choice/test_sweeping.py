"""Maps over two settings: lines against closed forms, counts against single shots, chunks against all."""

from __future__ import annotations

import math
import pickle
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.bench.launcher_sweep import CountChunk
from shotwright.bench.sweeps.chunks import seeded
from shotwright.bench.sweeps.run import run_chunks
from shotwright.choice.contours import level_lines
from shotwright.choice.predicted import AIM, Situation
from shotwright.choice.sweeping import Grid, HitCounts, mean_maps
from shotwright.flight.model import flight_model
from shotwright.game.reading import read_game
from shotwright.launcher.reaching import bearing
from shotwright.launcher.reading import launchers_from_text

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"
G = 9.80665


@pytest.fixture(scope="module")
def situation() -> Situation:
    game = read_game(YARD / "game.toml")
    text = (YARD / "launchers.toml").read_text(encoding="utf-8")
    piston = {one.prototype: one for one in launchers_from_text(text)}["piston"]
    model = flight_model(game.ball, game.weather)
    return Situation(model, piston, game.position("rail"), game.target("window"), game.obstacles)


GRID = Grid(
    "stroke",
    "elevation",
    tuple(np.linspace(0.100, 0.125, 6).tolist()),
    tuple(np.radians(np.linspace(50, 62, 5)).tolist()),
)


def test_a_ring_is_found_and_closed() -> None:
    x = np.linspace(-2, 2, 81)
    y = np.linspace(-1.5, 1.5, 61)
    field = x[None, :] ** 2 + y[:, None] ** 2
    (ring,) = level_lines(x, y, field, 1.0)
    assert ring[0] == pytest.approx(ring[-1])
    assert np.hypot(*ring.T) == pytest.approx(1.0, abs=2e-3)
    length = float(np.sum(np.hypot(*np.diff(ring, axis=0).T)))
    assert length == pytest.approx(2 * math.pi, rel=2e-3)


@settings(max_examples=50, deadline=None)
@given(st.floats(-2, 2), st.floats(-2, 2), st.floats(-1, 1))
def test_a_plane_gives_a_straight_line(a: float, b: float, c: float) -> None:
    x, y = np.linspace(-1, 1, 12), np.linspace(-1, 1, 9)
    lines = level_lines(x, y, a * x[None, :] + b * y[:, None] + c)
    assert len(lines) <= 1
    for line in lines:
        assert a * line[:, 0] + b * line[:, 1] + c == pytest.approx(0.0, abs=1e-9)


def test_crossing_lines_do_not_lose_a_piece_and_gaps_are_left_out() -> None:
    x = np.linspace(-1, 1, 10)
    saddle = x[None, :] * x[:, None]
    lines = level_lines(x, x, saddle - 0.02)
    assert len(lines) == 2
    assert level_lines(x, x, np.where(x[None, :] > 0, np.nan, saddle) + 10.0) == []


def test_the_line_of_a_position_is_the_parabola(situation: Situation) -> None:
    """Without air the stroke that crosses the middle follows from the speed of the parabola through it."""
    still = flight_model(situation.model.ball, situation.model.weather, density=0.0, viscosity=1.8e-5)
    fine = tuple(np.radians(np.linspace(50, 62, 41)).tolist())
    grid = Grid("stroke", "elevation", tuple(np.linspace(0.09, 0.13, 41).tolist()), fine)
    pair = (situation.position, situation.target)
    maps = mean_maps(still, situation.described, grid, [pair])
    (line,) = level_lines(np.array(grid.x), np.array(grid.y), maps.beyond[0])
    away = math.hypot(
        situation.target.centre[0] - situation.position.x, situation.target.centre[1] - situation.position.y
    )
    # the window faces -x and is met aslant; its middle is all the same where the aim line meets it
    rise = situation.target.centre[2] - 0.5
    means = situation.described.means(still.ball)
    for stroke, elevation in line[::5]:
        release = situation.described.release(means | {"stroke": stroke, "elevation": elevation})
        through = away * math.tan(elevation) - rise
        wanted = math.sqrt(G * away**2 / (2 * math.cos(elevation) ** 2 * through))
        assert float(release.speed[0]) == pytest.approx(wanted, rel=2e-4)


def test_counts_are_those_of_single_shots(situation: Situation) -> None:
    counts = HitCounts(situation, GRID, 50, 7).count(0, GRID.cells)
    normals = np.random.default_rng([7, 3]).standard_normal((50, situation.columns))
    aim = bearing(situation.position, situation.target)
    for cell in (0, 9, 14, 21, 29):
        setting = {k: float(v[0]) for k, v in GRID.settings(cell, cell + 1).items()}
        assert counts[cell] == situation.shots({**setting, AIM: aim}, normals).hits.sum()
    assert 0 < counts.max() <= 50


def test_chunks_travel_and_give_the_same_bits(situation: Situation) -> None:
    work = CountChunk(HitCounts(situation, GRID, 40, 3))
    whole = work.counts.count(0, GRID.cells)
    edges = [(0, 7), (7, 8), (8, 30)]
    sent = pickle.loads(pickle.dumps(work))
    parts = run_chunks(seeded(edges, 3), sent, workers=1)
    assert np.concatenate(parts).tolist() == whole.tolist()
    assert HitCounts(situation, GRID, 40, 4).count(0, GRID.cells).tolist() != whole.tolist()


@pytest.mark.slow
def test_two_workers_give_the_same_bits(situation: Situation) -> None:
    work = CountChunk(HitCounts(situation, GRID, 40, 3))
    edges = [(k, k + 5) for k in range(0, 30, 5)]
    alone, together = (run_chunks(seeded(edges, 3), work, workers=n) for n in (1, 2))
    assert [a.tolist() for a in alone] == [b.tolist() for b in together]
