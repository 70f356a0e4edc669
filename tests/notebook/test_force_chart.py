"""The chart of a spring's force: read back from its SVG."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import numpy as np
import pytest

from shotwright.notebook.figures.force_curve import ForceLine, force_chart

SVG = "{http://www.w3.org/2000/svg}"


def drawn() -> ET.Element:
    x = np.linspace(0, 100, 51)
    up = ForceLine("loading", x, 30 + x, np.array([[0.0, 30], [50, 80], [100, 130]]))
    down = ForceLine("unloading", x, 20 + x, np.array([[0.0, 20], [50, 70], [100, 120]]))
    svg = force_chart(
        [up, down], key="s", width=720, title="Force", origin="measured", stroke=(10.0, 90.0)
    ).svg()
    return ET.fromstring(svg)


def test_the_area_under_the_stroke_is_its_work() -> None:
    """Shoelace in pixels, turned back by the ticks: 0.5 (40 + 120) N over 80 mm is 6.4 J."""
    root = drawn()
    ticks = {way: [] for way in "xy"}
    for text in root.iter(f"{SVG}text"):
        for way in "xy":
            if f"tick-{way}" in text.get("class", ""):
                ticks[way].append((float(text.text or "nan"), float(text.get(way, "nan"))))
    scale = {way: np.polyfit(*zip(*pairs, strict=True), 1)[0] for way, pairs in ticks.items()}
    areas = [one for one in root.iter(f"{SVG}path") if one.get("fill-opacity") == "0.15"]
    path = max((one.get("d", "") for one in areas), key=len)
    points = np.array([[float(v) for v in one.split()] for one in path[1:-1].split("L")])
    x, y = points.T
    pixels = 0.5 * abs(np.dot(x, np.roll(y, 1)) - np.dot(y, np.roll(x, 1)))
    assert pixels / abs(scale["x"] * scale["y"]) / 1000 == pytest.approx(6.4, rel=0.005)


def test_readings_stand_on_the_chart_and_the_origin_is_told() -> None:
    root = drawn()
    circles = [one for one in root.iter(f"{SVG}circle") if "s0" in one.get("class", "")]
    assert len(circles) == 3 + 1  # and the legend's
    words = [one.text for one in root.iter(f"{SVG}text")]
    assert {"measured", "loading", "unloading", "work of the stroke", "force [N]"} <= set(words)
    told = root.find(f"{SVG}desc")
    assert told is not None
    assert "loading: 30 N at 0 mm to 130 N at 100 mm" in (told.text or "")
