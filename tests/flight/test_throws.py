"""Balls drawn, flown and counted on the spot, against the same balls flown and judged one by one."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from shotwright.base.errors import BadInput
from shotwright.flight import throws as throws_of_flight
from shotwright.flight.chance import Aim, Launches, Scatter, Surroundings, hits_of, scattered_launches
from shotwright.flight.lanes import draws, elementary, layout, tally, throws
from shotwright.flight.model import flight_model
from shotwright.flight.opening import edge_sides, greatest_width
from shotwright.flight.throws import counted_hits
from shotwright.game.records import Ball, CoefficientLaw, Post, Target, Weather

BALL = Ball("foam", 0.178, 0.140, CoefficientLaw("constant", 0.5), CoefficientLaw("cross"))
MODEL = flight_model(BALL, Weather())
AIM = Aim(np.array([0.0, 0.0, 0.4]), 8.4, 1.0, 0.0, 0.5)
SCATTER = Scatter(0.02, 0.02, 0.02)
NOTCHED = ((-0.3, -0.3), (0.3, -0.3), (0.3, 0.3), (0.0, 0.05), (-0.3, 0.3))
TARGETS = {
    "ring": Target("ring", (4.0, 0.0, 2.0), 0.0, math.pi / 2, radius=0.3),
    "tilted ring": Target("ring", (4.0, 0.1, 2.0), math.pi, 0.8, radius=0.25),
    "notched": Target("notched", (4.0, 0.0, 2.0), math.pi, 0.9, corners=NOTCHED),
}
BALLS = Surroundings(0.02, 0.01, 0.003, 0.002, 0.05)


def all_launches(model, around, count, seed):
    row = throws_of_flight._aim_row(model, AIM, SCATTER, around, model.ball)
    starts = range(0, count, draws.MOST)
    parts = [throws.drawn_launches(row, k, min(draws.MOST, count - k), seed) for k in starts]
    return Launches(*(np.concatenate(one) for one in zip(*parts, strict=True)))


@pytest.mark.parametrize("target", TARGETS.values(), ids=TARGETS)
@pytest.mark.parametrize("around", [Surroundings(), BALLS], ids=["alone", "balls"])
def test_hits_are_those_of_the_same_balls_judged_one_by_one(target, around):
    count = 20_000
    launches = all_launches(MODEL, around, count, 7)
    expected = int(hits_of(MODEL, target, launches).sum())
    assert 0.2 < expected / count < 0.95
    assert counted_hits(MODEL, target, AIM, SCATTER, around, count, 7, ball=BALL) == expected


@pytest.mark.parametrize("drag", ["drag-crisis", "stepanek"])
def test_other_laws_and_obstacles_count_the_same_balls(drag):
    ball = Ball("b", 0.178, 0.140, CoefficientLaw(drag), CoefficientLaw("cross"), spin_decay=0.1)
    model, target = flight_model(ball, Weather(wind=(0.5, 0.1, 0.0))), TARGETS["ring"]
    launches = all_launches(model, BALLS, 5000, 1)
    found = counted_hits(model, target, AIM, SCATTER, BALLS, 5000, 1, ball=ball)
    assert found == hits_of(model, target, launches).sum()
    post = (Post("post", 2.5, 0.05, 0.05, 0.0, 4.0),)
    fewer = counted_hits(model, target, AIM, SCATTER, BALLS, 5000, 1, ball=ball, obstacles=post)
    assert fewer == hits_of(model, target, launches, obstacles=post).sum() < found


def test_count_does_not_depend_on_threads_and_adds_up(monkeypatch):
    monkeypatch.setattr(throws, "_TOGETHER", 1)
    found = []
    for cores in (1, 2, 3):
        monkeypatch.setattr(throws, "cores", lambda cores=cores: cores)
        found.append(counted_hits(MODEL, TARGETS["ring"], AIM, SCATTER, BALLS, 20_000, 5, ball=BALL))
    assert len(set(found)) == 1
    other = counted_hits(MODEL, TARGETS["ring"], AIM, SCATTER, BALLS, 20_000, 6, ball=BALL)
    assert 0 < abs(other - found[0]) < 6 * math.sqrt(20_000 * 0.5)
    assert counted_hits(MODEL, TARGETS["ring"], AIM, SCATTER, BALLS, 0, 5, ball=BALL) == 0


def test_launches_are_those_of_the_scatter():
    # the draws turned into launches by the formula of `scattered_launches`
    row = throws_of_flight._aim_row(MODEL, AIM, SCATTER, BALLS, BALL)
    chunk = np.zeros(draws.CHUNK)
    with np.errstate(over="ignore"):
        draws.draw_launches(chunk, 100, 50, draws.stream(3), row)
    normals = chunk[draws.DRAWS :].reshape(8, -1)[:, :50].T
    expected = scattered_launches(MODEL, AIM, SCATTER, BALLS, normals, ball=BALL)
    found = throws.drawn_launches(row, 0, 200, 3)
    for one, two in zip(found, expected, strict=True):
        np.testing.assert_allclose(one[100:150], two, rtol=1e-13, atol=1e-13)


def test_draws_are_normal_and_independent():
    row = throws_of_flight._aim_row(MODEL, AIM, SCATTER, BALLS, BALL)
    columns = []
    compiled = throws._compiled(draws.draw_launches)
    for first in range(0, 40 * draws.MOST, draws.MOST):
        chunk = np.zeros(draws.CHUNK)
        compiled(chunk, first, draws.MOST, draws.stream(11), row)
        columns.append(chunk[draws.DRAWS :].reshape(8, -1)[:, : draws.MOST].copy())
    normals = np.concatenate(columns, axis=1)
    n = normals.shape[1]
    for column in normals:
        assert stats.kstest(column, "norm").pvalue > 1e-4
        assert abs(np.corrcoef(column[1:], column[:-1])[0, 1]) < 5 / math.sqrt(n)
        assert abs(stats.kurtosis(column)) < 5 * math.sqrt(24 / n)
    off = np.corrcoef(normals) - np.eye(8)
    assert np.abs(off).max() < 5 / math.sqrt(n)


@pytest.mark.authority
def test_mixing_function_gives_its_published_numbers():
    # SplitMix64 from seed 1234567: first outputs of the reference program in the public domain, from memory
    with np.errstate(over="ignore"):
        golden = 0x9E3779B97F4A7C15
        state = 1234567
        expected = [6457827717110365317, 3203168211198807973, 9817491932198370423]
        inverse = pow(golden, -1, 2**64)
        for k, value in enumerate(expected, 1):
            counter = (state + k * golden) * inverse % 2**64  # the counter that leads to this state
            assert int(draws.mixed(np.uint64(counter))) == value


def test_logarithm_sine_and_cosine():
    for x in (*np.geomspace(1e-16, 1.0, 200), 0.9999999999, 1.4142135, 1.4142136):
        assert elementary.logarithm(float(x)) == pytest.approx(math.log(x), rel=1e-13, abs=1e-15)
    for quarters in np.linspace(-9.0, 9.0, 721):
        sine, cosine = elementary.sine_cosine(float(quarters))
        angle = quarters * math.pi / 2
        assert sine == pytest.approx(math.sin(angle), abs=1e-14)
        assert cosine == pytest.approx(math.cos(angle), abs=1e-14)


def test_plain_tally_is_the_compiled_one():
    target = TARGETS["notched"]
    rng = np.random.default_rng(4)
    n = 150
    values = np.zeros((n, layout.VALUES))
    values[:, 0] = 1.0
    values[:, 1:4] = np.array(target.centre) + rng.uniform(-0.3, 0.3, (n, 3))
    values[:, 4:7] = rng.normal((5.0, 0.3, -2.0), 1.0, (n, 3))
    values[:, 7:10] = (-1.0, 0.0, -10.0)
    status = np.ones(n, np.uint8)
    status[::17] = 0
    status[5::19] = 2
    frame = np.array([*target.axes(), target.centre]).ravel()
    edge = frame, greatest_width(target), edge_sides(target).ravel(), False
    found = []
    for run in (tally.tally, throws._compiled(tally.tally)):
        unsure = np.zeros(2 * n + 2, np.int64)
        with np.errstate(all="ignore"):
            hits, doubts = run(
                np.zeros(tally.TALLY), n, status, values.ravel(), np.full(n, 0.1), *edge,
                np.zeros(64, np.int64), unsure,
            )  # fmt: skip
        found.append((int(hits), unsure[:doubts].tolist()))
    assert found[0] == found[1]
    assert found[0][0] > 10


def test_a_count_or_seed_below_zero():
    with pytest.raises(BadInput, match="balls"):
        counted_hits(MODEL, TARGETS["ring"], AIM, SCATTER, BALLS, -1, 0, ball=BALL)
