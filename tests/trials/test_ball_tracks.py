"""Flights told from everything else that moves."""

from __future__ import annotations

import math

import numpy as np
import pytest

from shotwright.trials.measure.ball_tracks import corrected, tracks_in
from shotwright.trials.synthetic.film import Camera, Film, FilmedShot, places_of

CAMERA = Camera()
TIMES = np.arange(240) / 60


def rows_of(model, *shots):
    """Perfect candidates of some shots: frame, x, y, radius, streak, direction, fit, contrast, shadow."""
    rows = []
    film = Film(CAMERA, model, shots, TIMES)
    for shot in shots:
        places = places_of(film, shot, TIMES)
        pixels, per_metre = CAMERA.pixels(places)
        for k in np.flatnonzero(np.isfinite(places[:, 0])):
            x, y = pixels[k]
            if 20 < x < CAMERA.width - 20 and 20 < y < CAMERA.height - 20:
                rows.append([k, x, y, 0.075 * per_metre[k], 0.0, 0.0, 0.95, 90.0, 0.0])
    return rows


def found(rows, **options):
    table = np.array(sorted(rows), dtype=float).reshape(-1, 9)
    return tracks_in(np.arange(len(TIMES)), TIMES, table, **options)


@pytest.fixture(scope="module")
def two(ball_model):
    return rows_of(ball_model, FilmedShot(0.2, 7.0, math.radians(55)), FilmedShot(1.9, 6.4, math.radians(48)))


def test_two_shots_are_two_tracks(two):
    tracks = found(two)

    assert [t.after_bounce for t in tracks] == [False, False]
    assert sum(len(t.points) for t in tracks) == len(two)
    assert all(t.fall > 0 for t in tracks)


def test_specks_everywhere_change_nothing(two):
    rng = np.random.default_rng(3)
    specks = [
        [k, rng.uniform(0, 1280), rng.uniform(0, 720), rng.uniform(8, 24), 3.0, 0.0, 0.6, 30.0, 0.0]
        for k in range(len(TIMES))
        for _ in range(5)
    ]
    tracks = found(two + specks)

    assert [len(t.points) for t in tracks] == pytest.approx([len(t.points) for t in found(two)], abs=2)


def test_something_that_walks_or_swings_is_no_shot():
    rows = []
    for k, t in enumerate(TIMES):
        rows.append([k, 100 + 280 * t, 400.0, 16.0, 2.0, 0.0, 0.9, 80.0, 0.0])
        swing = 90 * math.sin(2 * math.pi * 1.1 * t)
        rows.append([k, 100 + 280 * t + swing, 520 - 0.2 * abs(swing), 15.0, 4.0, 0.0, 0.8, 60.0, 0.0])

    assert found(rows, diameter=0.15) == ()


def test_a_shadow_alongside_is_not_a_second_ball(two):
    shadow = [[k, x + 60, y + 75, r, 0.0, 0.0, 0.9, 35.0, 0.9] for k, x, y, r, *_ in two]

    assert len(found(two + shadow)) == 2


def test_hidden_for_a_while_is_one_flight(two):
    tracks = found([row for row in two if not 45 <= row[0] < 62])

    assert len(tracks) == 2
    assert max(b.frame - a.frame for a, b in zip(tracks[0].points, tracks[0].points[1:], strict=False)) == 18


def test_a_bounce_is_no_shot(ball_model):
    first = rows_of(ball_model, FilmedShot(0.2, 5.0, math.radians(40)))
    last = max(first)
    up = [row for row in first if row[0] > last[0] - 12]
    again = [[2 * last[0] - r[0] + 1, 2 * last[1] - r[1] + 9, *r[2:]] for r in up]
    tracks = found(first + again)

    assert [t.after_bounce for t in tracks] == [False, True]


def test_corrections_by_hand(two):
    track = found(two)[0]
    first = track.points[0]
    times = dict(enumerate(TIMES.tolist()))
    after = corrected(
        track, {first.frame: None, first.frame + 1: (3.0, 4.0), first.frame - 1: (1.0, 2.0)}, times
    )

    assert [p.frame for p in after.points[:2]] == [first.frame - 1, first.frame + 1]
    assert [(p.x, p.y, p.by_hand) for p in after.points[:3]] == [
        (1.0, 2.0, True),
        (3.0, 4.0, True),
        (track.points[2].x, track.points[2].y, False),
    ]
