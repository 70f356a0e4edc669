"""Where the balls came down: the marks of several trials side by side, all at one scale."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from shotwright.notebook import chart, lettering
from shotwright.notebook.chart import Frame, LegendEntry
from shotwright.notebook.drawing import Drawing, Point
from shotwright.notebook.evidence import FloatArray, ScatterEllipse, TrialPage
from shotwright.notebook.palette import SMALL, Series, series
from shotwright.notebook.placing import Placer
from shotwright.notebook.wording import shots_in_words
from shotwright.trials.records import Shot, Trial

PANEL = 210.0  # px, least width of one panel
NUMBERED = 40  # up to so many shots each mark carries its number; beyond only those that stand out
GAP = 14.0
SIMULATED = "SIMULATED"


def scatter_plot(
    pages: Sequence[TrialPage],
    *,
    key: str,
    width: float,
    looks: dict[str, Series] | None = None,
    scaled_as: Sequence[TrialPage] = (),
) -> Drawing:
    """Draw the scatter of trials, one panel each, every panel at the same scale.

    On a floor, `along` runs to the right and `cross` upwards: the floor seen from above with the launcher
    at the left. On an upright plane, as the launcher sees it: `cross` to the left, height upwards.
    Filled marks are measured, hollow ones simulated; a cross was set aside; a ring flags a shot.

    Parameters
    ----------
    pages : sequence of TrialPage
        Trials with at least one mark each.
    key : str
        Unique on the page.
    width : float
        Width of the box. [px]
    looks : dict of str to Series, optional
        Look of each prototype; without it, in order of appearance.
    scaled_as : sequence of TrialPage
        Further trials that are drawn elsewhere and must have the same scale.

    Returns
    -------
    Drawing
        The panels.
    """
    looks = looks or {p: series(k) for k, p in enumerate(dict.fromkeys(p.trial.prototype for p in pages))}
    legend = _legend(pages, looks)
    top = chart.legend_height(legend, width - 8) + 8
    columns = max(1, min(len(pages), int((width + GAP) // (PANEL + GAP))))
    frames, height = _frames(pages, columns, top, width, scaled_as)
    title = "Scatter of " + ", ".join(page.trial.name for page in pages)
    drawing = Drawing(key, width, height, title, " ".join(describe(page) for page in pages))
    chart.draw_legend(drawing, 8, 0, legend, width - 8)
    for page, frame in zip(pages, frames, strict=True):
        _panel(drawing, frame, page, looks[page.trial.prototype])
    return drawing


def mark_of(trial: Trial, shot: Shot) -> Point | None:
    """Return a shot's mark in the axes of its panel, or None without one.

    Parameters
    ----------
    trial : Trial
        Tells floor from plane.
    shot : Shot
        The shot.

    Returns
    -------
    tuple of float or None
        (along, cross) on a floor, (cross, height) on a plane. [m]
    """
    across, up = (shot.along, shot.cross) if trial.surface == "floor" else (shot.cross, shot.height)
    return None if across is None or up is None else (across, up)


def describe(page: TrialPage) -> str:
    """Return one panel in words."""
    said = f"Trial {page.trial.name} of {page.trial.prototype}, {shots_in_words(page)}."
    if page.mean_m is not None:
        first, second = page.mean_m
        names = ("along", "cross") if page.trial.surface == "floor" else ("height", "cross")
        said += f" Mean point {names[0]} {first:.3f} m, {names[1]} {second:.3f} m."
    return said + (" The data are simulated." if page.trial.origin == "simulated" else "")


def _turned(page: TrialPage, point: tuple[float, float]) -> Point:
    return point if page.trial.surface == "floor" else (point[1], point[0])


def _ellipse(page: TrialPage, ellipse: ScatterEllipse) -> FloatArray:
    """Points on the ellipse in the panel's axes, shape (k, 2)."""
    assert page.mean_m is not None
    values, vectors = np.linalg.eigh(np.asarray(ellipse.covariance_m2))
    turn = np.linspace(0, 2 * math.pi, 73)
    round_ = np.vstack([np.cos(turn), np.sin(turn)])
    axes = ellipse.factor * vectors @ np.diag(np.sqrt(np.clip(values, 0, None)))
    points: FloatArray = (np.asarray(page.mean_m)[:, None] + axes @ round_).T
    return points if page.trial.surface == "floor" else points[:, ::-1]


def _extent(page: TrialPage) -> tuple[Point, Point]:
    """Ranges of what a panel must show; a shot set aside may lie outside."""
    marks = [(shot, mark) for shot in page.shots if (mark := mark_of(page.trial, shot)) is not None]
    counted = [mark for shot, mark in marks if shot.set_aside is None]
    points = counted or [mark for _, mark in marks]
    if page.mean_m is not None:
        points.append(_turned(page, page.mean_m))
        points += [(float(a), float(b)) for e in page.ellipses for a, b in _ellipse(page, e)[::3]]
    if page.aim_m is not None:
        points.append(_turned(page, page.aim_m))
    x, y = np.asarray(points or [(0.0, 0.0)]).T
    return (float(x.min()), float(x.max())), (float(y.min()), float(y.max()))


def _frames(
    pages: Sequence[TrialPage], columns: int, top: float, width: float, scaled_as: Sequence[TrialPage]
) -> tuple[list[Frame], float]:
    """One frame for each trial, all with the same spans, and the height of the drawing."""
    extents = [_extent(page) for page in pages]
    spans = extents + [_extent(page) for page in scaled_as]
    x_span = max(max(x[1] - x[0] for x, _ in spans) * 1.16, 0.05)
    y_span = max(max(y[1] - y[0] for _, y in spans) * 1.16, 0.05)
    cell = (width - GAP * (columns - 1)) / columns
    inner = cell - chart.LEFT - 6
    y_span = max(y_span, 0.6 * x_span)
    high = inner * y_span / x_span
    if high > 1.25 * inner:
        high, x_span = 1.25 * inner, y_span / 1.25
    frames = []
    for k, (page, (x, y)) in enumerate(zip(pages, extents, strict=True)):
        row, column = divmod(k, columns)
        left = chart.LEFT + column * (cell + GAP)
        above = top + 36 + row * (high + 36 + chart.BELOW + 6)
        mx, my = (x[0] + x[1]) / 2, (y[0] + y[1]) / 2
        ends = (mx - x_span / 2, mx + x_span / 2, my - y_span / 2, my + y_span / 2)
        frames.append(Frame(left, above, inner, high, *ends, mirrored=page.trial.surface == "plane"))
    return frames, frames[-1].bottom + chart.BELOW


def _legend(pages: Sequence[TrialPage], looks: dict[str, Series]) -> list[LegendEntry]:
    simulated = {p.trial.prototype for p in pages if p.trial.origin == "simulated"}
    entries = [
        LegendEntry(
            f"{name}, simulated" if name in simulated else name,
            looks[name].name,
            mark=looks[name].mark,
            hollow=name in simulated,
        )
        for name in dict.fromkeys(p.trial.prototype for p in pages)
    ]
    if any(p.mean_m for p in pages):
        entries.append(LegendEntry("mean point of impact", "ink", mark="plus"))
    if any(p.aim_m for p in pages):
        entries.append(LegendEntry("aim point", "s5", mark="aim", hollow=True))
    seen = dict.fromkeys((k, e.words) for p in pages for k, e in enumerate(p.ellipses))
    entries += [LegendEntry(words, "ink", dash="" if k == 0 else "5 3") for k, words in seen]
    if any(p.flagged for p in pages):
        entries.append(LegendEntry("flagged, still counted", "warn", mark="circle", hollow=True))
    if any(s.set_aside for p in pages for s in p.shots):
        entries.append(LegendEntry("set aside; at the edge: farther out", "soft", mark="cross"))
    return entries


def _panel(drawing: Drawing, frame: Frame, page: TrialPage, look: Series) -> None:
    trial = page.trial
    floor = trial.surface == "floor"
    labels = ("along [m]", "cross, left + [m]") if floor else ("cross, left + [m]", "height [m]")
    chart.draw_axes(drawing, frame, *labels, equal=True)
    simulated = trial.origin == "simulated"
    room = frame.width + 30
    drawing.text(
        (frame.left - 30, frame.top - 21), lettering.fit(trial.name, 12, room), bold=True, kind="panel"
    )
    second = trial.prototype + (f", {trial.setting}" if trial.setting else "")
    drawing.text(
        (frame.left - 30, frame.top - 7), lettering.fit(second, SMALL, room), size=SMALL, colour="soft"
    )
    with drawing.clipped(frame.left, frame.top, frame.width, frame.height):
        for k, ellipse in enumerate(page.ellipses if page.mean_m is not None else ()):
            drawing.line(
                frame.path(_ellipse(page, ellipse)),
                "ink",
                width=1.1,
                dash="" if k == 0 else "5 3",
                kind="ellipse",
            )
    if page.aim_m is not None:
        drawing.mark(frame.at(*_turned(page, page.aim_m)), "aim", "s5", size=5, hollow=True, kind="aim")
    _marks(drawing, frame, page, look)
    if page.mean_m is not None:
        drawing.mark(frame.at(*_turned(page, page.mean_m)), "plus", "ink", size=7, kind="mean")
    if simulated:
        drawing.text(
            (frame.right - 6, frame.top + 14),
            SIMULATED,
            size=SMALL,
            anchor="end",
            colour="warn",
            bold=True,
            halo=True,
        )


def _inside(frame: Frame, at: Point) -> Point:
    """The point, or the nearest one on the frame's inner edge."""
    return (
        min(max(at[0], frame.left + 7), frame.right - 7),
        min(max(at[1], frame.top + 7), frame.bottom - 7),
    )


def _marks(drawing: Drawing, frame: Frame, page: TrialPage, look: Series) -> None:
    flagged = {one.order for one in page.flagged}
    marks = [(shot, mark) for shot in page.shots if (mark := mark_of(page.trial, shot)) is not None]
    placer = Placer((frame.left, frame.top, frame.right, frame.bottom))
    placer.keep_free_round([_inside(frame, frame.at(*mark)) for _, mark in marks], 4.5)
    if page.trial.origin == "simulated":
        placer.keep_free((frame.right - 80, frame.top, frame.right, frame.top + 18))
    if page.mean_m is not None:
        placer.keep_free_round([frame.at(*_turned(page, page.mean_m))], 6.0)
    hollow = page.trial.origin == "simulated"
    size = 4.0 if len(marks) <= 60 else 2.5 if len(marks) <= 600 else 1.5
    for shot, mark in marks:
        at = _inside(frame, frame.at(*mark))
        if shot.set_aside is not None:
            drawing.mark(at, "cross", "soft", size=1.1 * size, kind="set-aside")
        else:
            drawing.mark(at, look.mark, look.name, size=size, hollow=hollow, kind="shot")
        if shot.order in flagged:
            drawing.ring(at, 8.5, "warn")
    for shot, mark in marks:
        stands_out = shot.order in flagged or shot.set_aside is not None
        if stands_out or len(marks) <= NUMBERED:
            colour = "warn" if shot.order in flagged else "soft"
            placer.label(
                drawing,
                _inside(frame, frame.at(*mark)),
                str(shot.order),
                clear=7,
                size=10,
                colour=colour,
                must=stands_out,
                kind="order",
            )
