"""Panels of curves and spans: what is drawn where, and said to those who don't see it."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET

from shotwright.notebook.figures.curve_panels import (
    CurvePanel,
    PanelCurve,
    PanelMark,
    SpanPanel,
    curve_panels,
)

SPACE = "{http://www.w3.org/2000/svg}"


def drawn(*panels: CurvePanel | SpanPanel) -> ET.Element:
    return ET.fromstring(curve_panels(panels, key="it", width=600.0, title="Panels").svg())


def test_curves_of_one_name_look_the_same_and_gaps_are_left_out() -> None:
    line = PanelCurve("speed", [(0.0, 0.0), (1.0, math.nan), (2.0, 4.0)])
    other = PanelCurve("force", [(0.0, 3.0), (2.0, 1.0)])
    picture = drawn(
        CurvePanel("time [s]", "speed [m/s]", (line, other)), CurvePanel("time [s]", "again", (line,))
    )
    lines = [one for clip in picture.iter(f"{SPACE}g") for one in clip.iter(f"{SPACE}polyline")]
    assert len(lines) == 3
    assert lines[0].get("class") == lines[2].get("class") != lines[1].get("class")
    assert all(len(one.get("points", "").split()) == 2 for one in lines)
    said = picture.findtext(f"{SPACE}desc")
    assert said is not None
    assert "speed 0 to 4 (speed [m/s])" in said
    assert said.startswith("Predicted")


def test_marks_and_levels_lie_within_the_frame() -> None:
    panel = CurvePanel(
        "ratio",
        "seconds",
        (PanelCurve("cost", [(5.0, 10.0), (30.0, 20.0)]),),
        (PanelMark("the pick", 30.0, 24.0, "plus"),),
        (("limit", 22.0),),
        from_zero=False,
    )
    picture = drawn(panel)
    words = [text.text for text in picture.iter(f"{SPACE}text")]
    assert {"cost", "the pick", "limit", "ratio", "seconds", "predicted"} <= set(words)
    frame = next(one for one in picture.iter(f"{SPACE}rect") if "border" in (one.get("class") or ""))
    left, right = float(frame.get("x", 0)), float(frame.get("x", 0)) + float(frame.get("width", 0))
    marks = [one for one in picture.iter(f"{SPACE}path") if one.get("stroke-width") == "1.5"]
    place = re.match(r"M([\d.]+)", marks[-1].get("d", ""))
    assert place is not None
    assert left < float(place[1]) < right


def test_spans_stand_over_the_same_times_as_the_curves_below() -> None:
    rows = (("a rather long name", ((0.0, 50.0),)), ("b", ((25.0, 50.0), (90.0, 120.0))))
    picture = drawn(
        SpanPanel("time [s]", rows, (0.0, 100.0)),
        CurvePanel("time [s]", "current [A]", (PanelCurve("all", [(0.0, 1.0), (100.0, 2.0)]),)),
    )
    spans = [one for one in picture.iter(f"{SPACE}rect") if "span" in (one.get("class") or "")]
    frames = [one for one in picture.iter(f"{SPACE}rect") if "border" in (one.get("class") or "")]
    assert len(spans) == 3
    assert len({(one.get("x"), one.get("width")) for one in frames}) == 1
    left, width = float(frames[0].get("x", 0)), float(frames[0].get("width", 0))
    assert float(spans[1].get("x", 0)) == round(left + width / 4, 2)
    assert float(spans[1].get("width", 0)) == round(width / 4, 2)
    # what runs on after the end is cut off there
    assert float(spans[2].get("x", 0)) + float(spans[2].get("width", 0)) <= left + width + 0.01
