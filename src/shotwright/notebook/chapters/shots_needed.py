"""What each firing position asks of a launcher."""

from __future__ import annotations

from functools import partial

from shotwright.game.records import Game
from shotwright.notebook.blocks import (
    Block,
    Bullets,
    Caution,
    Column,
    Heading,
    Picture,
    Section,
    Table,
    Words,
)
from shotwright.notebook.content import NotebookContent
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.evidence import WindowPanel
from shotwright.notebook.figures.shot_window import shot_window
from shotwright.notebook.figures.side_view import side_view
from shotwright.notebook.wording import fixed, percent
from shotwright.trials.records import Prototype


def shots_needed(content: NotebookContent) -> Section:
    """Return the chapter on shots needed."""
    blocks: list[Block] = [
        Words(
            "These figures are predicted by the flight calculation, not measured. A window shows which "
            "pairs of speed and elevation bring the ball through the opening: the wider the window, the "
            "more a launcher may stray."
        )
    ]
    if not content.windows:
        blocks.append(Words("No shot window has been worked out yet."))
    if content.service_words:
        blocks.append(Bullets(content.service_words))
    if any(panel.shots for panel in content.windows):
        blocks.append(_table(content))
    for k, panel in enumerate(content.windows):
        blocks += _panel(content, panel, k + 1)
    return Section("shots-needed", "Shots needed", tuple(blocks), fresh_page=True)


def _table(content: NotebookContent) -> Table:
    columns = (
        Column("from", share=1.3),
        Column("to", share=1.3),
        Column("shot", share=1.5),
        Column("speed [m/s]", True),
        Column("elevation [°]", True, 1.1),
        Column("entry [°]", True),
        Column("apex [m]", True),
        Column("time [s]", True),
        Column("clearance [m]", True, 1.1),
        Column("hits", True),
    )
    rows = tuple(
        (
            panel.position,
            panel.target,
            shot.kind,
            fixed(shot.speed_m_s, 2),
            fixed(shot.elevation_deg, 1),
            fixed(shot.entry_angle_deg, 0),
            fixed(shot.apex_height_m, 2),
            fixed(shot.flight_time_s, 2),
            fixed(shot.clearance_m, 2),
            "–" if shot.hit_probability is None else percent(shot.hit_probability),
        )
        for panel in content.windows
        for shot in panel.shots
    )
    caption = (
        "Predicted shots. Entry is the angle below level at the opening, clearance the least distance "
        "between the ball and anything in its way, hits the predicted share for the launch spread stated "
        "with each window."
    )
    return Table(caption, columns, rows)


def _panel(content: NotebookContent, panel: WindowPanel, order: int) -> list[Block]:
    where = f"{panel.position} to {panel.target}"
    if panel.blocked:
        return [Heading(where), Caution(f"This position is blocked: {panel.blocked}.")]
    prototypes = [p for p in content.prototypes if not panel.prototype or p.name == panel.prototype]
    spread = (
        f" The most forgiving shot is that for a launch spread of {panel.spread_words}"
        if panel.spread_words
        else ""
    )
    whose = f" ({panel.prototype})" if panel.prototype and spread else ""
    blocks: list[Block] = [
        Heading(where),
        Picture(
            f"window-{order}",
            f"Shot window from {where}, predicted: every speed and elevation in the shaded strip scores. "
            f"Release {panel.release_height_m:.2f} m over the floor, {panel.backspin_words}."
            + (f"{spread}{whose}." if spread else ""),
            partial(_window, panel, prototypes),
        ),
    ]
    if any(shot.path_m is not None for shot in panel.shots):
        blocks.append(
            Picture(
                f"side-{order}",
                f"The marked shots from {where} seen from the side, predicted; height and distance at one "
                "scale. The ball is drawn at its size where it is released. Grey: what stands within one "
                "ball's width of the aim line.",
                partial(_side, content.game, panel),
            )
        )
    return blocks


def _window(panel: WindowPanel, prototypes: list[Prototype], key: str, width: float) -> Drawing:
    return shot_window(panel, key=key, width=width, prototypes=prototypes)


def _side(game: Game, panel: WindowPanel, key: str, width: float) -> Drawing:
    return side_view(game, panel, key=key, width=width)
