"""Marks on drawn photos of a floor: chalk, tape and carbon dots among seams, stains and shade."""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFilter

from shotwright.base.errors import BadInput
from shotwright.trials.measure.mark_finder import find_marks
from shotwright.trials.measure.photo import plane_map

KNOWN = np.array([(2.0, 1.5), (2.0, -1.5), (6.0, -1.5), (6.0, 1.5)])


def pixel(along, cross):
    """Camera 2 m up, 1 m behind the release point, looking 25 degrees down; 1600 x 1200."""
    tilt = math.radians(25)
    ahead, up = along + 1.0, -2.0
    depth = ahead * math.cos(tilt) - up * math.sin(tilt)
    down = -ahead * math.sin(tilt) - up * math.cos(tilt)
    return 800 - 1500 * cross / depth, 600 + 1500 * down / depth


def photo(kind, seed):
    rng = np.random.default_rng(seed)
    marks = []
    while len(marks) < 9:
        spot = np.array([rng.uniform(2.4, 5.6), rng.uniform(-1.2, 1.2)])
        if abs((spot[1] + 0.3) % 0.6 - 0.3) < 0.08:
            continue  # on a seam a mark may be taken for a part of it; that is what the person is for
        if all(np.hypot(*(spot - other)) > 0.3 for other in marks):
            marks.append(spot)
    y, x = np.mgrid[0:1200, 0:1600]
    floor = 150 + 25 * np.sin(x / 400) + 20 * y / 1200
    image = Image.fromarray(np.stack([floor, floor * 0.96, floor * 0.9], axis=2).astype(np.uint8))
    pen = ImageDraw.Draw(image)
    for cross in np.arange(-3, 3, 0.6):  # seams of the boards
        pen.line([*pixel(1.5, cross), *pixel(7, cross)], (105, 100, 95), 3)
    pen.ellipse([500, 700, 900, 900], (140, 132, 120))  # a stain
    for along, cross in marks:
        size = {"carbon": 0.012, "chalk": 0.03, "tape": 0.05}[kind]
        ring = [
            pixel(along + size * math.cos(a), cross + size * math.sin(a)) for a in np.linspace(0, 6.28, 24)
        ]
        if kind == "carbon":
            pen.polygon(ring, (35, 35, 40))
        elif kind == "chalk":
            pen.polygon(ring, (240, 240, 235))
        else:
            for da, dc in ((1, 1), (1, -1)):
                ends = [(along + s * size * da, cross + s * size * dc) for s in (-1, 1)]
                pen.line([*pixel(*ends[0]), *pixel(*ends[1])], (40, 90, 200), 7)
    for along, cross in KNOWN:
        px, py = pixel(along, cross)
        pen.line([px - 14, py, px + 14, py], "black", 4)
        pen.line([px, py - 14, px, py + 14], "black", 4)
    noisy = np.asarray(image.filter(ImageFilter.GaussianBlur(1.0)), float) + rng.normal(0, 5, (1200, 1600, 3))
    out = io.BytesIO()
    Image.fromarray(np.clip(noisy, 0, 255).astype(np.uint8)).save(out, format="JPEG", quality=88)
    return out.getvalue(), np.array(marks)


@pytest.mark.parametrize("kind", ["carbon", "chalk", "tape"])
def test_marks_are_proposed_and_little_else(kind):
    picture, truth = photo(kind, 3)
    corners = np.array([pixel(*place) for place in KNOWN])
    mapped = plane_map(corners, KNOWN)
    found = find_marks(picture, mapped, corners)
    places = mapped.to_floor(np.array([[m.x, m.y] for m in found]))
    away = np.hypot(*(places[None] - truth[:, None]).transpose(2, 0, 1))

    # within 15 mm: half a chalk mark; the taps that a person makes are good to about 10 mm
    assert (away.min(axis=1) < 0.015).sum() >= 8
    assert len(found) <= len(truth) + 2


def test_a_bare_floor_has_no_marks():
    rng = np.random.default_rng(2)
    out = io.BytesIO()
    Image.fromarray(np.clip(rng.normal(150, 6, (600, 800, 3)), 0, 255).astype(np.uint8)).save(
        out, format="JPEG"
    )
    corners = np.array([[50.0, 50], [750, 50], [750, 550], [50, 550]])

    assert find_marks(out.getvalue(), plane_map(corners, KNOWN), corners) == ()


def test_what_is_no_photo():
    corners = np.array([[50.0, 50], [750, 50], [750, 550], [50, 550]])
    with pytest.raises(BadInput, match="send it again"):
        find_marks(b"no", plane_map(corners, KNOWN), corners)
