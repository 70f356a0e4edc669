"""Figures: well formed, to scale, points where they belong, simulated data marked. Read back from the SVG."""

from __future__ import annotations

import dataclasses
import math
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.game.records import Target
from shotwright.notebook.content import RankRow, SharePart, WindowSlice
from shotwright.notebook.figures.field_plan import field_plan
from shotwright.notebook.figures.interval_chart import IntervalGroup, IntervalRow, interval_chart
from shotwright.notebook.figures.scatter_plot import scatter_plot
from shotwright.notebook.figures.share_bars import rank_chart, spread_share
from shotwright.notebook.figures.shot_window import regions, shot_window
from shotwright.notebook.figures.side_view import side_view
from shotwright.notebook.figures.sweep_map import MapLine, MapPanel, even_edges, sweep_map
from shotwright.notebook.figures.variance_bars import variance_bars

WIDTHS = (640.0, 328.0)


def everything(content, width):
    groups = [
        IntervalGroup("g", (IntervalRow("A", Estimate(0.5, 0.2, 0.8), True, Estimate(0.4, 0.1, 0.9)),)),
        IntervalGroup("h", (IntervalRow("B", NotEstimated("1 shot, at least 2 needed")),)),
    ]
    yield field_plan(content.game, key="plan", width=width)
    for k, panel in enumerate(content.windows):
        yield shot_window(panel, key=f"w{k}", width=width, prototypes=content.prototypes)
        if panel.shots:
            yield side_view(content.game, panel, key=f"s{k}", width=width)
    yield scatter_plot(content.trials, key="scatter", width=width)
    yield interval_chart(groups, key="i", width=width, title="t", x_label="x [%]", unit="%", scale=100)
    yield rank_chart(content.ranks, key="r", width=width)
    yield spread_share([("one", content.hits[0].parts)], key="p", width=width)
    yield variance_bars(content.on_paper[0].shares, key="v", width=width)
    yield sweep_map(a_map(), key="m", width=width)


def a_map():
    x, y = np.linspace(0, 9, 10), np.linspace(0, 4, 5)
    values = x[None, :] + 0 * y[:, None]
    lines = [MapLine("rail, lantern", [np.array([[1.0, 0.0], [5.0, 4.0]])]), MapLine("nowhere", [])]
    return MapPanel(
        "map", "stroke [mm]", "tilt [deg]", x, y, values, even_edges(values), " m", lines, (3.0, 2.0)
    )


def classed(root, name):
    return [e for e in root.iter() if name in (e.get("class") or "").split()]


def tagged(root, name):
    return [e for e in root.iter() if e.tag == f"{{http://www.w3.org/2000/svg}}{name}"]


def near(border, axis):
    """Whether a tick label belongs to the frame of that border."""
    left, top, wide, high = (float(border.get(k)) for k in ("x", "y", "width", "height"))

    def belongs(label):
        x, y = float(label.get("x")), float(label.get("y"))
        if axis == "x":
            return left - 9 <= x <= left + wide + 9 and top < y < top + high + 25
        return left - 60 < x < left and top - 9 <= y <= top + high + 9

    return belongs


def scale_of(root, axis, within=None):
    """Pixels per unit and pixel of zero, from the tick labels alone."""
    where = "x" if axis == "x" else "y"
    points = [
        (float(e.text.replace("−", "-")), float(e.get(where)) - (4 if axis == "y" else 0))
        for e in classed(root, f"tick-{axis}")
        if within is None or within(e)
    ]
    values, pixels = np.array(points).T
    slope, origin = np.polyfit(values, pixels, 1)
    assert np.allclose(slope * values + origin, pixels, atol=0.011)  # linear, to the digits written
    return slope, origin


@pytest.mark.parametrize("width", WIDTHS)
def test_each_figure_is_well_formed_described_and_as_wide_as_its_box(content, width):
    for drawing in everything(content, width):
        root = ET.fromstring(drawing.svg())
        assert root.get("width") == f"{width:g}"
        assert root.get("viewBox") == f"0 0 {root.get('width')} {root.get('height')}"  # nothing is scaled
        assert root.get("role") == "img"
        assert root.find("{*}title").text.strip()
        assert root.find("{*}desc").text.strip()
        named = root.get("aria-labelledby").split()
        assert named == [root.find("{*}title").get("id"), root.find("{*}desc").get("id")]
        assert not tagged(root, "style")
        assert not tagged(root, "script")
        assert min(float(t.get("font-size")) for t in tagged(root, "text")) >= 10


@pytest.mark.parametrize("width", WIDTHS)
def test_no_lettering_leaves_its_drawing(content, width):
    from shotwright.notebook import lettering

    for drawing in everything(content, width):
        root = ET.fromstring(drawing.svg())
        for t in tagged(root, "text"):
            if t.get("transform"):
                continue
            wide = lettering.width(t.text, float(t.get("font-size")))
            left = float(t.get("x")) - {"start": 0, "middle": wide / 2, "end": wide}[t.get("text-anchor")]
            assert left >= -1, t.text
            assert left + wide <= width + 2, t.text
            assert 0 < float(t.get("y")) <= drawing.height


@pytest.mark.parametrize("width", WIDTHS)
def test_field_plan_and_side_view_have_one_scale_on_both_axes(content, width):
    drawings = [field_plan(content.game, key="a", width=width)]
    drawings += [side_view(content.game, p, key="b", width=width) for p in content.windows if p.shots]
    for drawing in drawings:
        root = ET.fromstring(drawing.svg())
        assert scale_of(root, "x")[0] == pytest.approx(-scale_of(root, "y")[0], rel=2e-4)


def test_field_plan_puts_things_where_the_game_says(game):
    root = ET.fromstring(field_plan(game, key="a", width=640).svg())
    (sx, x0), (sy, y0) = scale_of(root, "x"), scale_of(root, "y")
    corners = [
        tuple(map(float, p.split()))
        for p in re.findall(r"[-\d.]+ [-\d.]+", classed(root, "field")[0].get("d"))
    ]
    assert {(round((x - x0) / sx, 2), round((y - y0) / sy, 2)) for x, y in corners} == {
        (0, 0),
        (12, 0),
        (12, 6),
        (0, 6),
    }
    post = classed(root, "obstacle")[1].get("d")
    points = np.array([tuple(map(float, p.split())) for p in re.findall(r"[-\d.]+ [-\d.]+", post)])
    centre = points.mean(axis=0)
    assert ((centre[0] - x0) / sx, (centre[1] - y0) / sy) == pytest.approx((3.4, 4.2), abs=0.005)
    radius = np.hypot(*(points - centre).T).mean() / sx
    assert radius == pytest.approx(0.12, abs=0.003)


def test_place_spread_is_drawn_at_two_standard_deviations(game):
    root = ET.fromstring(field_plan(game, key="a", width=640).svg())
    scale = scale_of(root, "x")[0]
    rings = sorted(float(e.get("r")) / scale for e in tagged(root, "circle") if e.get("fill") == "none")
    assert rings == pytest.approx([0.02, 0.12, 0.24], abs=0.0003)


def test_opening_that_faces_the_ceiling_gets_no_arrow(game):
    flat = Target("bin", (6, 3, 0.5), 0.0, math.pi / 2, radius=0.4)
    root = ET.fromstring(
        field_plan(dataclasses.replace(game, targets=(flat,), positions=()), key="a", width=640).svg()
    )
    rim = classed(root, "target")[0].get("d")
    points = np.array([tuple(map(float, p.split())) for p in re.findall(r"[-\d.]+ [-\d.]+", rim)])
    spans = points.max(axis=0) - points.min(axis=0)
    assert spans[0] == pytest.approx(spans[1], rel=0.01)  # a circle seen from above stays one


@pytest.mark.parametrize("width", WIDTHS)
def test_scatter_panels_share_one_scale(content, width):
    root = ET.fromstring(scatter_plot(content.trials, key="a", width=width).svg())
    scales = []
    for border in classed(root, "border"):
        x, y = (scale_of(root, axis, near(border, axis)) for axis in "xy")
        scales += [x[0], -y[0]]
    assert len(scales) == 2 * len(content.trials)
    assert scales == pytest.approx([scales[0]] * len(scales), rel=1e-3)


def test_scatter_marks_stand_where_the_shots_fell(content):
    page = content.trials[2]  # measured: diamonds
    root = ET.fromstring(scatter_plot([page], key="a", width=640).svg())
    (sx, x0), (sy, y0) = scale_of(root, "x"), scale_of(root, "y")
    drawn = []
    for e in classed(root, "shot"):
        if e.tag.endswith("circle"):
            drawn.append(((float(e.get("cx")) - x0) / sx, (float(e.get("cy")) - y0) / sy))
    shots = [s for s in page.shots if s.set_aside is None]
    assert len(drawn) == len(shots)
    expected = np.array([(s.along, s.cross) for s in shots])
    assert np.allclose(np.array(drawn), expected, atol=0.6 / sx)  # half a pixel


def test_plane_marks_are_seen_from_behind_the_launcher(content):
    page = content.trials[0]
    trial = dataclasses.replace(page.trial, surface="plane", origin="measured")
    shots = tuple(dataclasses.replace(s, along=None, height=s.along) for s in page.shots)
    page = dataclasses.replace(page, trial=trial, shots=shots)
    root = ET.fromstring(scatter_plot([page], key="a", width=640).svg())
    (sx, x0), (sy, y0) = scale_of(root, "x"), scale_of(root, "y")
    assert sx < 0 < -sy  # cross is positive to the left
    drawn = [((float(e.get("cx")) - x0) / sx, (float(e.get("cy")) - y0) / sy) for e in classed(root, "shot")]
    expected = np.array([(s.cross, s.height) for s in shots if s.set_aside is None])
    assert np.allclose(np.array(drawn), expected, atol=0.6 / abs(sx))


def test_ellipse_has_the_axes_of_its_covariance(content):
    page = content.trials[0]
    root = ET.fromstring(scatter_plot([page], key="a", width=640).svg())
    (sx, x0), (sy, y0) = scale_of(root, "x"), scale_of(root, "y")
    points = np.array(
        [tuple(map(float, p.split(","))) for p in classed(root, "ellipse")[0].get("points").split()]
    )
    data = (points - [x0, y0]) / [sx, sy] - np.asarray(page.mean_m)
    inverse = np.linalg.inv(np.asarray(page.ellipses[0].covariance_m2))
    squared = np.einsum("ij,jk,ik->i", data, inverse, data)
    assert np.sqrt(squared) == pytest.approx(page.ellipses[0].factor, rel=0.03)


def test_simulated_marks_are_hollow_and_say_so(content):
    simulated, measured = content.trials[0], content.trials[2]
    told = scatter_plot([simulated], key="a", width=640).svg()
    assert "SIMULATED" in told
    assert {e.get("fill") for e in classed(ET.fromstring(told), "shot")} == {"#ffffff"}
    plain = scatter_plot([measured], key="a", width=640).svg()
    assert "SIMULATED" not in plain
    assert "#ffffff" not in {e.get("fill") for e in classed(ET.fromstring(plain), "shot")}


def test_set_aside_shots_are_crossed_and_flagged_ones_ringed(content):
    page = content.trials[0]
    root = ET.fromstring(scatter_plot([page], key="a", width=640).svg())
    assert len(classed(root, "set-aside")) == 1
    assert len(classed(root, "shot")) == len(page.shots) - 1
    assert [e for e in tagged(root, "circle") if e.get("fill") == "none" and "l-warn" in e.get("class")]


def test_side_view_shows_only_what_stands_on_the_line(content):
    fender, mid = content.windows[:2]
    one = ET.fromstring(side_view(content.game, fender, key="a", width=640).svg())
    two = ET.fromstring(side_view(content.game, mid, key="a", width=640).svg())
    assert len(classed(one, "solid")) == 1  # the wall; mast and defender stand elsewhere
    assert len(classed(two, "solid")) == 2  # the wall and the defender


def test_side_view_draws_the_path_it_is_given(content):
    panel = content.windows[0]
    position, shot = content.game.position("fender"), panel.shots[0]
    root = ET.fromstring(side_view(content.game, panel, key="a", width=640).svg())
    (sx, x0), (sy, y0) = scale_of(root, "x"), scale_of(root, "y")
    line = classed(root, "path")[0].get("points").split()
    points = (np.array([tuple(map(float, p.split(","))) for p in line]) - [x0, y0]) / [sx, sy]
    along = np.hypot(shot.path_m[:, 0] - position.x, shot.path_m[:, 1] - position.y)
    assert np.allclose(points, np.column_stack([along, shot.path_m[:, 2]]), atol=0.6 / sx)


def test_window_outline_goes_through_the_slices():
    slices = [WindowSlice(40.0 + k, ((8.0 + 0.1 * k, 9.0 + 0.1 * k),)) for k in range(5)]
    (ring,) = regions(slices)
    assert set(ring) == {(40.0 + k, v + 0.1 * k) for k in range(5) for v in (8.0, 9.0)}


def test_window_with_a_hole_stays_two_strips_there():
    whole, split = ((8.0, 9.0),), ((8.0, 8.3), (8.7, 9.0))
    slices = [WindowSlice(40.0 + k, split if 2 <= k <= 3 else whole) for k in range(6)]
    rings = regions(slices)
    assert len(rings) == 4
    assert not any((42.0, 8.0) in ring and (42.0, 9.0) in ring for ring in rings)


def test_window_that_ends_and_begins_again_is_not_bridged():
    slices = [WindowSlice(40.0 + k, () if k in (2, 3) else ((8.0, 9.0),)) for k in range(6)]
    assert len(regions(slices)) == 2


def test_blocked_position_says_so(content):
    assert "blocked" in shot_window(content.windows[2], key="a", width=640).svg()


def test_interval_bars_end_where_the_estimate_does():
    row = IntervalRow("A", Estimate(0.71, 0.52, 0.85))
    root = ET.fromstring(
        interval_chart(
            [IntervalGroup("g", (row,))],
            key="a",
            width=640,
            title="t",
            x_label="x",
            unit="%",
            scale=100,
            ends=(0, 100),
        ).svg()
    )
    sx, x0 = scale_of(root, "x")
    bar = [float(p.split(",")[0]) for p in classed(root, "interval")[0].get("points").split()]
    assert [(x - x0) / sx for x in bar] == pytest.approx([52, 85], abs=0.05)
    assert (float(classed(root, "shot")[0].get("cx")) - x0) / sx == pytest.approx(71, abs=0.05)
    assert "71 % (52 to 85 %)" in [t.text for t in classed(root, "value")]


def test_rank_bars_are_as_long_as_their_shares():
    ranks = (RankRow("A", (0.81, 0.15, 0.04), "all weights"),)
    root = ET.fromstring(rank_chart(ranks, key="a", width=640).svg())
    sx, x0 = scale_of(root, "x")
    spans = []
    for bar in classed(root, "share"):
        xs = [float(p.split()[0]) for p in re.findall(r"[-\d.]+ [-\d.]+", bar.get("d"))]
        spans.append((max(xs) - min(xs)) / sx)
    assert spans == pytest.approx([81, 15, 4], abs=0.05)
    assert x0 == pytest.approx(min(float(e.get("x")) for e in classed(root, "border")), abs=0.02)


def test_shares_that_do_not_fit_keep_their_bar_without_words():
    parts = [SharePart("a", 0.99), SharePart("b", 0.01)]
    root = ET.fromstring(spread_share([("w", parts)], key="a", width=640).svg())
    assert [e.text for e in classed(root, "share-words")] == ["99 %"]


def test_hostile_names_stay_text(game):
    evil = '</text><script>alert("x")</script>&<'
    positions = tuple(dataclasses.replace(p, name=evil) for p in game.positions[:1])
    root = ET.fromstring(
        field_plan(dataclasses.replace(game, name=evil, positions=positions), key="a", width=640).svg()
    )
    assert not tagged(root, "script")
    assert evil in [t.text for t in tagged(root, "text")]


def test_variance_bars_end_where_their_share_says(content):
    groups = content.on_paper[0].shares
    drawn = variance_bars(groups, key="v", width=640.0)
    svg = drawn.svg()
    assert svg.count('class="f-s0 share"') + svg.count("f-s0 l-s0 share") >= 6
    assert "wheel speed 61 % alone, 65 % in all" in drawn.description
    (frame,) = re.findall(r'<rect class="f-paper frame" x="([\d.]+)" y="[\d.]+" width="([\d.]+)"', svg)
    left, wide = map(float, frame)
    ends = [float(x) for x in re.findall(r'<path class="f-s0 share" d="M[\d.]+ [\d.]+L([\d.]+) ', svg)]
    assert ends == pytest.approx([left + wide * share for share in (0.61, 0.22, 0.08)], abs=0.02)


def test_a_map_shades_every_cell_once_and_draws_each_line():
    drawn = sweep_map(a_map(), key="m", width=640.0)
    svg = drawn.svg()
    rings = re.findall(r'<path class="f-s5 shade" d="([^"]+)"', svg)
    area = sum(
        abs((float(right) - float(left)) * (float(bottom) - float(top)))
        for path in rings
        for left, bottom, right, top in re.findall(
            r"M([\d.]+) ([\d.]+)L[\d.]+ [\d.]+L([\d.]+) ([\d.]+)L", path
        )
    )
    frame = r'<rect class="f-paper frame" x="[\d.]+" y="[\d.]+" width="([\d.]+)" height="([\d.]+)"'
    ((wide, high),) = re.findall(frame, svg)
    assert area == pytest.approx(float(wide) * float(high), rel=1e-3)
    assert svg.count("position") == 1
    assert "rail, lantern runs from (1, 0) to (5, 4)" in drawn.description
    assert "predicted" in svg
