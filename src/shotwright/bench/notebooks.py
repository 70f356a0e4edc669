"""Put the whole project into the engineering notebook."""

from __future__ import annotations

import datetime
import math
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shotwright import __version__
from shotwright.base.estimate import Estimate
from shotwright.base.progress import Progress, silent
from shotwright.bench.choosing import latest_choice, rank
from shotwright.bench.drive_pages import drive_pages
from shotwright.bench.evidence import SEED, dispersion_of, hits_of
from shotwright.bench.match_day import match_day
from shotwright.bench.paper_pages import paper_pages
from shotwright.bench.part_pages import part_pages
from shotwright.bench.results import Decision, HitTable, WrittenFiles
from shotwright.bench.robot_pages import robot_pages
from shotwright.bench.workbook import Workbook, load, opened
from shotwright.choice.decision import RecordedChoice
from shotwright.choice.records import HitDraws
from shotwright.choice.worth_of_testing import gain_lines
from shotwright.flight.crossing import trace
from shotwright.flight.model import FlightModel, flight_model, launch_vectors
from shotwright.flight.needed_shots import NeededShot
from shotwright.flight.shared_settings import settings_in_common
from shotwright.flight.windows import ShotWindow, shot_window
from shotwright.game.records import FiringPosition
from shotwright.notebook.content import ChoiceEntry, NotebookContent, TruthRow
from shotwright.notebook.from_results import (
    choice_entry,
    comparison_rows,
    criteria_rows,
    gate_rows,
    hit_row,
    rank_rows,
    trial_page,
    window_panel,
)
from shotwright.trials.comparison import compare_trials

FloatArray = NDArray[np.float64]
TRUTH = "simulated truth"  # the fact under which the demo keeps what it simulated from


def write_notebook(
    project: Path,
    *,
    html: Path | None = None,
    pdf: Path | None = None,
    seed: int = SEED,
    defended: bool = False,
    progress: Progress = silent,
    hits: tuple[HitTable, tuple[HitDraws, ...]] | None = None,
) -> WrittenFiles:
    """Write the notebook; both kinds beside the project file unless one is named.

    Parameters
    ----------
    project : Path
        The project file.
    html, pdf : Path, optional
        Where to write.
    seed : int
        Seed of the draws.
    defended : bool
        Hit probabilities with the defenders in the way.
    progress : Progress
        Told how far it is.
    hits : tuple of HitTable and HitDraws, optional
        Computed already with the same seed.

    Returns
    -------
    WrittenFiles
        What was written.
    """
    from shotwright.notebook.document import write_pdf
    from shotwright.notebook.page import write_html

    if html is None and pdf is None:
        html, pdf = project.with_suffix(".html"), project.with_suffix(".pdf")
    content = notebook_content(project, seed=seed, defended=defended, progress=progress, hits=hits)
    written = []
    if html is not None:
        html.write_text(write_html(content), encoding="utf-8")
        written.append(str(html))
    if pdf is not None:
        write_pdf(content, pdf)
        written.append(str(pdf))
    return WrittenFiles(tuple(written), tuple(f"Wrote {name}." for name in written))


def notebook_content(
    project: Path,
    *,
    seed: int = SEED,
    defended: bool = False,
    progress: Progress = silent,
    hits: tuple[HitTable, tuple[HitDraws, ...]] | None = None,
) -> NotebookContent:
    """Compute everything that the notebook prints.

    Parameters
    ----------
    project : Path
        The project file.
    seed : int
        Seed of the draws.
    defended : bool
        Hit probabilities with the defenders in the way.
    progress : Progress
        Told how far it is.
    hits : tuple of HitTable and HitDraws, optional
        Computed already with the same seed; spares doing it again.

    Returns
    -------
    NotebookContent
        Ready to print.
    """
    with opened(project, read_only=True) as file:
        book = load(file)
        recorded = latest_choice(file.choices())
        facts = file.facts()
        truth = facts.get(TRUTH)
    game = book.needed_game()
    model = flight_model(game.ball, game.weather)

    def scaled(start: float, share: float) -> Progress:
        return lambda fraction, what="": progress(start + share * fraction, what)

    windows = _windows(book, model, scaled(0.0, 0.3))
    common = settings_in_common([w for w, _ in windows]) if len(windows) > 1 else None
    shown = dispersion_of(book).trials if book.trials else ()
    by_name = {found.trial: found for found in shown}
    with_shots = [(t, s) for t, s in book.trials if s]
    comparison = None
    if len(with_shots) >= 2:
        comparison = compare_trials(with_shots, rng=np.random.default_rng(seed))
    table, draws = hits or hits_of(book, defended=defended, seed=seed, progress=scaled(0.3, 0.4))
    decision = rank(book, table, draws, recorded, seed=seed)
    still = recorded is not None and bool(decision.admitted) and decision.admitted[0] == recorded.prototype
    return NotebookContent(
        project_name=book.name,
        made_on=datetime.datetime.now().astimezone().date(),
        version=__version__,
        game=game,
        prototypes=book.prototypes,
        summary=decision.words,
        seed=seed,
        origin_notes=tuple(sorted({s.source.split(" row ")[0] for _, group in book.trials for s in group})),
        windows=tuple(
            window_panel(w, paths=shot_paths(model, game.position(w.position), w), prototype=name)
            for w, name in windows
        ),
        service_words=common.words if common else (),
        trials=tuple(trial_page(t, s, by_name[t.name]) for t, s in book.trials if t.name in by_name),
        comparison=comparison_rows(comparison) if comparison else (),
        comparison_words=comparison.words if comparison else (),
        hits=tuple(hit_row(h) for h in table.rows),
        gates=gate_rows(decision),
        criteria=criteria_rows(decision),
        ranks=rank_rows(decision),
        choices=choice_on_record(recorded, decision),
        testing_words=(*_testing(decision), *(() if still else table.words)),
        truth=truth_rows(table, truth),
        on_paper=paper_pages(book, seed=seed, progress=scaled(0.7, 0.15)),
        drives=drive_pages(book, progress=scaled(0.85, 0.05)),
        parts=part_pages(book),
        robot=robot_pages(book, seed=seed, progress=scaled(0.85, 0.05)),
        match_day=match_day(book, (table, draws), facts, seed=seed, progress=scaled(0.9, 0.1)),
    )


def _testing(decision: Decision) -> tuple[str, ...]:
    """What more shots before choosing would gain, in one line for each number of them."""
    return gain_lines(decision.testing) if decision.testing else ()


def _windows(book: Workbook, model: FlightModel, progress: Progress) -> list[tuple[ShotWindow, str]]:
    """Windows of every pair for the first prototype; without a prototype none."""
    game = book.needed_game()
    if not book.prototypes:
        return []
    launcher, pairs, found = book.prototypes[0], game.shots_wanted(), []
    for i, (place, opening) in enumerate(pairs):
        progress(i / len(pairs), f"{place.name} to {opening.name}")
        window = shot_window(
            model,
            game,
            place,
            opening,
            release_height=launcher.release_height,
            spin_parameter=launcher.spin_parameter,
            speed_range=(launcher.speed_low or 1.0, launcher.speed_high or 25.0),
        )
        found.append((window, launcher.name))
    return found


def shot_paths(
    model: FlightModel, position: FiringPosition, window: ShotWindow, points: int = 60
) -> dict[str, FloatArray]:
    """Fly the shots of a window that are worth drawing.

    Parameters
    ----------
    model : FlightModel
        Ball and air.
    position : FiringPosition
        Where from.
    window : ShotWindow
        Its slowest and its most forgiving shot.
    points : int
        Of each path.

    Returns
    -------
    dict of str to ndarray, shape (k, 3)
        Path of the ball's centre by name of the shot. [m]
    """
    shots: dict[str, NeededShot | None] = {
        "minimum speed": window.minimum_speed,
        "most forgiving": window.most_forgiving,
    }
    start = np.array([position.x, position.y, window.release_height_m])
    found = {}
    for kind, shot in shots.items():
        if shot is None:
            continue
        velocity, spin = launch_vectors(
            shot.speed_m_s,
            math.radians(shot.elevation_deg),
            math.radians(shot.azimuth_deg),
            2 * math.pi * shot.spin_rev_s,
        )
        times = np.linspace(0.0, shot.flight_time_s, points)
        found[kind] = trace(model, start, velocity, spin, times)
    return found


def choice_on_record(recorded: RecordedChoice | None, decision: Decision) -> tuple[ChoiceEntry, ...]:
    """Return the choice on record as the notebook prints it, with what speaks against it by now.

    Parameters
    ----------
    recorded : RecordedChoice or None
        The last choice on record.
    decision : Decision
        The ranking of today.

    Returns
    -------
    tuple of ChoiceEntry
        One, or none.
    """
    if recorded is None:
        return ()
    look_again = " ".join(w for w in decision.words if w.startswith("Look again"))
    return (choice_entry(recorded, evidence=_evidence_words(recorded.evidence), now_words=look_again),)


def _evidence_words(evidence: dict[str, Any]) -> tuple[str, ...]:
    """Say what a recorded choice rested on."""
    words = []
    trials = evidence.get("trials")
    if trials:
        words.append("Trials: " + ", ".join(f"{name} ({n} shots)" for name, n in trials.items()) + ".")
    chances = evidence.get("first_chance")
    if chances:
        shown = ", ".join(f"{name} {100 * chance:.0f} %" for name, chance in chances.items())
        words.append(f"Chance to rank first, that day: {shown}.")
    return tuple(words)


def truth_rows(hits: HitTable, truth: object) -> tuple[TruthRow, ...]:
    """Set what was estimated beside what the shots were simulated from.

    Parameters
    ----------
    hits : HitTable
        Estimates.
    truth : object
        The demo's stored truth: launch spread by prototype and true hit rates; anything else gives no rows.

    Returns
    -------
    tuple of TruthRow
        Spread of each prototype, then hit rates.
    """
    if not isinstance(truth, dict):
        return ()
    rows = []
    for spread in hits.spreads:
        known = truth.get("spreads", {}).get(spread.prototype)
        if known is None:
            continue
        for what, value, estimate, unit in (
            ("speed spread", 100 * known["speed_spread"], spread.speed_percent, "%"),
            ("elevation spread", known["elevation_sd_deg"], spread.elevation_deg, "°"),
            ("azimuth spread", known["azimuth_sd_deg"], spread.azimuth_deg, "°"),
        ):
            rows.append(TruthRow(f"{what} of {spread.prototype}", value, estimate, unit))
    for row in hits.rows:
        rate = truth.get("hit_rates", {}).get(f"{row.prototype} / {row.position} / {row.target}")
        if rate is not None and isinstance(row.model, Estimate):
            what = f"hit probability of {row.prototype} from {row.position} at {row.target}"
            rows.append(TruthRow(what, rate, row.model, "%", 100.0))
    return tuple(rows)
