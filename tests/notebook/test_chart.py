"""Ticks, frames, lettering, label placing: laws that every chart rests on."""

from __future__ import annotations

import itertools
import math
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.notebook import chart, lettering, ticks
from shotwright.notebook.chart import LegendEntry
from shotwright.notebook.drawing import Drawing, clean
from shotwright.notebook.palette import DARK, LIGHT
from shotwright.notebook.placing import Placer

ends = st.tuples(
    st.floats(-1e6, 1e6, allow_nan=False), st.floats(1e-6, 1e6, allow_nan=False), st.integers(1, 12)
)


@settings(max_examples=200, deadline=None)
@given(ends)
def test_ticks_are_round_even_and_within(range_):
    low, span, at_most = range_
    high = low + span
    if high - low < 1e-9 * max(abs(low), abs(high)):  # a span that floats cannot resolve
        return
    found = ticks.ticks(low, high, at_most)
    step = ticks.round_step(high - low, at_most)
    mantissa = step / 10 ** math.floor(math.log10(step) + 1e-9)
    assert min(abs(mantissa - m) for m in (1, 2, 5, 10)) < 1e-6
    assert len(found) <= at_most + 1
    slack = 1e-6 * step + 1e-9 * max(abs(low), abs(high))
    assert all(low - slack <= t <= high + slack for t in found)
    assert all(abs((b - a) - step) < 1e-3 * step for a, b in itertools.pairwise(found))
    assert not any(math.copysign(1, t) < 0 and t == 0 for t in found)


@settings(max_examples=100, deadline=None)
@given(st.floats(-1e4, 1e4), st.floats(0, 1e4))
def test_rounded_out_holds_the_data(low, span):
    wide = ticks.rounded_out(low, low + span)
    assert wide[0] <= low + 1e-6
    assert wide[1] >= low + span - 1e-6
    assert wide[1] > wide[0]


@settings(max_examples=100, deadline=None)
@given(st.floats(-50, 50), st.floats(0.01, 80), st.floats(-50, 50), st.floats(0.01, 80), st.floats(150, 900))
def test_equal_frame_has_one_scale_and_holds_the_data(x, x_span, y, y_span, width):
    frame = chart.equal_frame(50, 10, width, (80, 400), (x, x + x_span), (y, y + y_span))
    assert frame.x_scale == pytest.approx(frame.y_scale, rel=1e-9)
    assert frame.x_low <= x + 1e-9
    assert frame.x_high >= x + x_span - 1e-9
    assert frame.y_low <= y + 1e-9
    assert frame.y_high >= y + y_span - 1e-9
    assert frame.width == pytest.approx(width)
    assert 80 - 1e-9 <= frame.height <= 400 + 1e-9


def test_mirrored_frame_grows_to_the_left():
    frame = chart.Frame(0, 0, 100, 100, -1, 1, 0, 1, mirrored=True)
    assert frame.x(1.0) == 0
    assert frame.x(-1.0) == 100


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=60), st.floats(20, 300))
def test_fitted_and_wrapped_text_keeps_to_its_room(text, room):
    assert lettering.width(lettering.fit(text, 11, room), 11) <= room + 1e-9
    assert all(lettering.width(line, 11) <= room + 1e-9 for line in lettering.wrap(text, 11, room))


def test_wrap_keeps_every_word():
    text = "firing position; circle and fan: place and heading"
    assert " ".join(lettering.wrap(text, 11, 120)) == text


def test_legend_never_leaves_its_width_and_reserves_its_height():
    entries = [LegendEntry(f"entry {k} with a rather long name", "s0", mark="circle") for k in range(7)]
    drawing = Drawing("k", 300, 400, "t", "d")
    chart.draw_legend(drawing, 0, 0, entries, 290)
    texts = ET.fromstring(drawing.svg()).findall("{*}text")
    right = max(float(t.get("x")) + lettering.width(t.text, 11) for t in texts)
    low = max(float(t.get("y")) for t in texts)
    assert right <= 300
    assert low <= chart.legend_height(entries, 290)


def test_labels_that_have_room_do_not_overlap():
    drawing = Drawing("k", 400, 400, "t", "d")
    placer = Placer((0, 0, 400, 400))
    points = [(200 + 18 * k, 200 + 3 * k) for k in range(5)]
    placer.keep_free_round(points)
    for k, at in enumerate(points):
        placer.label(drawing, at, f"label {k}")
    boxes = []
    for t in ET.fromstring(drawing.svg()).findall("{*}text"):
        wide = lettering.width(t.text, 11)
        left = float(t.get("x")) - {"start": 0, "middle": wide / 2, "end": wide}[t.get("text-anchor")]
        boxes.append((left, float(t.get("y")) - 8, left + wide, float(t.get("y")) + 2))
    for i, a in enumerate(boxes):
        for b in boxes[:i]:
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


def test_control_characters_never_reach_a_file():
    assert clean("a\x00b\x1fc\ufffe\x85é") == "a b c  é"


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=40))
def test_any_text_gives_well_formed_xml(text):
    drawing = Drawing("k", 100, 100, text, text)
    drawing.text((1, 1), text)
    assert ET.fromstring(drawing.svg()).find("{*}text") is not None


def luminance(colour: str) -> float:
    """Relative luminance: WCAG 2.1, definition of relative luminance (recalled, from memory)."""
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("theme", [LIGHT, DARK])
def test_text_and_series_stand_out_from_the_paper(theme):
    # WCAG 2.1: 1.4.3 asks 4.5 to 1 for text, 1.4.11 asks 3 to 1 for graphics (from memory)
    paper = luminance(theme["paper"])
    for name, colour in theme.items():
        if name in {"paper", "grid", "shade"}:
            continue
        light, dark = sorted((luminance(colour), paper), reverse=True)
        assert (light + 0.05) / (dark + 0.05) >= 4.5, name
