"""The window of a shot: which speeds and elevations score, and the shots worth knowing in it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from shotwright.notebook import chart, ticks
from shotwright.notebook.chart import Frame, LegendEntry
from shotwright.notebook.drawing import Drawing, Point
from shotwright.notebook.evidence import WindowPanel, WindowSlice
from shotwright.notebook.figures.side_view import KINDS, describe
from shotwright.notebook.wording import listed
from shotwright.trials.records import Prototype

Link = tuple[float, float, float]  # elevation [deg], lowest and highest speed [m/s]


def shot_window(
    panel: WindowPanel, *, key: str, width: float, prototypes: Sequence[Prototype] = ()
) -> Drawing:
    """Draw the scoring set of one firing position: elevation across, speed up.

    Parameters
    ----------
    panel : WindowPanel
        Slices and marked shots.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]
    prototypes : sequence of Prototype
        Those whose range of settings is known are drawn as boxes.

    Returns
    -------
    Drawing
        The window. A blocked position gives the frame with the reason in it.
    """
    legend = [LegendEntry("scores", "s0", opacity=0.25)]
    kinds = list(dict.fromkeys(shot.kind for shot in panel.shots))
    legend += [LegendEntry(kind, KINDS[kind][1], mark=KINDS[kind][0]) for kind in kinds]
    known = [p for p in prototypes if p.speed_low is not None and p.speed_high is not None]
    if known and not panel.blocked:
        names = listed([p.name for p in known])
        legend.append(LegendEntry(f"range of the settings of {names}", "soft", dash="6 3"))
    top = chart.legend_height(legend, width - chart.LEFT) + 6
    x_low, x_high, y_low, y_high = _ranges(panel)
    height = 90.0 if panel.blocked else min(0.62 * width, 280.0)
    frame = Frame(chart.LEFT, top, width - chart.LEFT - 12, height, x_low, x_high, y_low, y_high)
    title = f"Shot window from {panel.position} to {panel.target}"
    drawing = Drawing(key, width, frame.bottom + chart.BELOW, title, describe(panel))
    chart.draw_legend(drawing, chart.LEFT, 0, legend, width - chart.LEFT)
    chart.draw_axes(drawing, frame, "elevation [°]", "speed [m/s]")
    if panel.blocked:
        middle = (frame.left + frame.width / 2, frame.top + frame.height / 2)
        drawing.text(middle, "blocked: no shot scores", anchor="middle", bold=True, halo=True, kind="blocked")
        return drawing
    with drawing.clipped(frame.left, frame.top, frame.width, frame.height):
        for ring in regions(panel.slices):
            drawing.area([[frame.at(*p) for p in ring]], "s0", opacity=0.25, edge="s0", kind="window")
        for prototype in known:
            _reach(drawing, frame, prototype)
    for shot in panel.shots:
        if frame.shows(shot.elevation_deg, shot.speed_m_s):
            mark, colour, _ = KINDS[shot.kind]
            drawing.mark(frame.at(shot.elevation_deg, shot.speed_m_s), mark, colour, size=5.5, kind="shot")
    return drawing


def _ranges(panel: WindowPanel) -> tuple[float, float, float, float]:
    scoring = [s for s in panel.slices if s.speeds_m_s]
    across = [s.elevation_deg for s in scoring or panel.slices] + [s.elevation_deg for s in panel.shots]
    up = [v for s in scoring for pair in s.speeds_m_s for v in pair] + [s.speed_m_s for s in panel.shots]
    x_low, x_high = ticks.rounded_out(min(across, default=0.0), max(across, default=90.0), 8)
    y_low, y_high = ticks.rounded_out(min(up, default=0.0), max(up, default=10.0), 6)
    return x_low, x_high, y_low, y_high


def regions(slices: Sequence[WindowSlice]) -> list[list[Point]]:
    """Join the intervals of neighbouring slices into closed outlines (elevation, speed).

    Slices with equally many intervals are joined one by one. Where the number changes, two intervals are
    joined when they overlap and neither overlaps a second one in the other's slice; so a hole or a fork stays
    visible.

    Parameters
    ----------
    slices : sequence of WindowSlice
        Elevations rising at an even step.

    Returns
    -------
    list of list of (float, float)
        One outline for each connected strip.
    """
    step = min((b.elevation_deg - a.elevation_deg for a, b in itertools.pairwise(slices)), default=1.0)
    done: list[list[Link]] = []
    running: list[list[Link]] = []
    for piece in slices:
        links = [(piece.elevation_deg, low, high) for low, high in piece.speeds_m_s]
        near = [c for c in running if piece.elevation_deg - c[-1][0] < 1.5 * step]
        kept = [chain if chain is not None else [] for chain in _partners(near, links)]
        for chain, link in zip(kept, links, strict=True):
            chain.append(link)
        done += [chain for chain in running if not any(chain is k for k in kept)]
        running = kept
    return [_outline(chain, step) for chain in done + running]


def _partners(chains: list[list[Link]], links: list[Link]) -> list[list[Link] | None]:
    """For each interval of a slice the running strip that it carries on, or None."""
    if len(chains) == len(links):
        return [c if _close(c[-1], link) else None for c, link in zip(chains, links, strict=True)]
    found: list[list[Link] | None] = []
    for link in links:
        before = [c for c in chains if _touch(c[-1], link)]
        alone = len(before) == 1 and sum(_touch(before[0][-1], other) for other in links) == 1
        found.append(before[0] if alone else None)
    return found


def _touch(a: Link, b: Link) -> bool:
    return a[1] <= b[2] and b[1] <= a[2]


def _close(a: Link, b: Link) -> bool:
    """Whether the gap between two intervals is no more than a tenth of the speed: a thin, steep strip."""
    return max(b[1] - a[2], a[1] - b[2]) <= 0.1 * max(a[2], b[2])


def _outline(chain: Sequence[Link], step: float) -> list[Point]:
    if len(chain) == 1:
        (at, low, high) = chain[0]
        return [(at - step / 4, low), (at + step / 4, low), (at + step / 4, high), (at - step / 4, high)]
    return [(at, low) for at, low, _ in chain] + [(at, high) for at, _, high in reversed(chain)]


def _reach(drawing: Drawing, frame: Frame, prototype: Prototype) -> None:
    if prototype.speed_low is None or prototype.speed_high is None:
        return
    left, right = (frame.x(math.degrees(e)) for e in (prototype.elevation_low, prototype.elevation_high))
    low, high = frame.y(prototype.speed_low), frame.y(prototype.speed_high)
    drawing.line(
        [(left, low), (right, low), (right, high), (left, high), (left, low)],
        "soft",
        dash="6 3",
        kind="reach",
    )
