"""Pages of the notebook for prototypes on paper, from their predictions."""

from __future__ import annotations

import dataclasses
from functools import partial

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.progress import Progress, silent
from shotwright.bench.calibrating import calibration_of
from shotwright.bench.launchers import SEED, Predictions, PrototypePrediction, ShotShares, predictions_of
from shotwright.bench.workbook import Workbook
from shotwright.game.records import Ball
from shotwright.launcher.prediction import Predicted
from shotwright.launcher.protocol import Launcher
from shotwright.notebook.blocks import Block, Picture, Words
from shotwright.notebook.calibration_blocks import calibration_blocks
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.launcher_drawing import launcher_drawing
from shotwright.notebook.on_paper import PaperHit, PaperPage, ShareBar, ShareGroup

_SHOTS, _DRAWS = 4000, 512  # fewer than `predict` takes: the page prints whole percents
_INPUTS = 6  # bars of one group
_OUTPUTS = {"along": "distance", "cross": "sideways", "hit": "hits"}


def paper_pages(book: Workbook, *, seed: int = SEED, progress: Progress = silent) -> tuple[PaperPage, ...]:
    """Predict every prototype that a launcher file describes, as pages of the notebook.

    Parameters
    ----------
    book : Workbook
        The loaded project; must hold a game.
    seed : int
        Of the draws.
    progress : Progress
        Told how far it is.

    Returns
    -------
    tuple of PaperPage
        Empty when no launcher file is there.
    """
    if not book.launchers:
        return ()
    found = predictions_of(book, draws=_DRAWS, shots=_SHOTS, seed=seed, progress=progress)
    return pages_of(book, found, seed=seed)


def pages_of(book: Workbook, found: Predictions, *, seed: int = SEED) -> tuple[PaperPage, ...]:
    """Return the pages of predictions that are there already.

    Parameters
    ----------
    book : Workbook
        The project that they are of.
    found : Predictions
        What was predicted.
    seed : int
        Of the draws of what the trials teach.

    Returns
    -------
    tuple of PaperPage
        One for each.
    """
    return tuple(_filled(book, _page(one), number, seed) for number, one in enumerate(found.prototypes, 1))


def _filled(book: Workbook, page: PaperPage, number: int, seed: int) -> PaperPage:
    """Add the drawing, and what the prototype's own trials say of its model."""
    described, ball = book.launcher_of(page.prototype), book.needed_game().ball
    assert described is not None  # the page was made from it
    drawing = Picture(
        f"paper-{number}-drawing",
        f"Contact geometry of {page.prototype}, to scale, from the dimensions in its launcher file.",
        partial(_drawn, described.launcher, ball),
    )
    return dataclasses.replace(
        page, drawing=(drawing,), calibration=_learned(book, page.prototype, number, seed)
    )


def _drawn(launcher: Launcher, ball: Ball, key: str, width: float) -> Drawing:
    return launcher_drawing(launcher, ball, key=key, width=width)


def _learned(book: Workbook, prototype: str, number: int, seed: int) -> tuple[Block, ...]:
    """Predicted against measured; a sentence where there is nothing to compare with."""
    if not any(shots for _, shots in book.trials_of(prototype)):
        return (Words("No trial of this prototype yet: nothing here is checked against a shot."),)
    try:
        return calibration_blocks(calibration_of(book, prototype, seed=seed), number)
    except (NoAnswer, BadInput) as reason:
        return (Words(f"Its trials could not be compared with the model: {reason}."),)


def _page(found: PrototypePrediction) -> PaperPage:
    release = found.release
    at = ", ".join(f"{name} {shown}" for name, shown in release.settings) or "its one setting"
    return PaperPage(
        prototype=found.prototype,
        kind=found.kind,
        figures=(
            ("at", at),
            ("speed", _shown(release.speed_m_s, "m/s")),
            ("elevation", _shown(release.elevation_deg, "°")),
            ("backspin", _shown(release.backspin_rev_s, "rev/s")),
            ("distance to the floor", _shown(release.range_m, "m")),
            ("energy stored before a shot", f"{release.stored_energy_j:.3g} J"),
        ),
        energies=tuple((name, j) for name, j in release.energy_by_part.items() if abs(j) > 1e-9),
        hits=tuple(
            PaperHit(
                position=hit.position,
                target=hit.target,
                setting_words=", ".join(f"{one.name.replace('_', ' ')} {one.shown}" for one in hit.setting),
                reach_words=", ".join(f"{name} {low} to {high}" for name, low, high in hit.reach),
                chance=hit.probability,
                along_sd_m=hit.along_sd_m,
                cross_sd_m=hit.cross_sd_m,
            )
            for hit in found.hits
        ),
        shares=tuple(group for one in found.sources[:1] for group in _groups(one)),
        share_words=found.source_words,
        cautions=release.cautions,
        notes=release.notes,
    )


def _groups(one: ShotShares) -> list[ShareGroup]:
    """Bars of the first shot in reach; the sentences speak of all."""
    return [
        ShareGroup(
            f"{_OUTPUTS[shares.output]}, {one.position} to {one.target}",
            tuple(
                ShareBar(share.input.replace("_", " "), share.first, share.total)
                for share in shares.shares[:_INPUTS]
                if share.total.high > 0.005
            ),
        )
        for shares in one.shares
        if shares.output in _OUTPUTS and shares.shares
    ]


def _shown(value: Predicted, unit: str) -> str:
    space = "" if unit == "°" else " "
    return f"{value.mean:.3g}{space}{unit}, sd {value.sd:.2g}{space}{unit}"
