"""The demo: an invented game, an invented crew, simulated shots, the whole chain."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate, in_words
from shotwright.base.plain import Result
from shotwright.base.progress import Progress, silent
from shotwright.bench.choosing import evidence_of, rank
from shotwright.bench.evidence import hits_of
from shotwright.bench.notebooks import TRUTH, truth_rows, write_notebook
from shotwright.bench.projects import create_project, import_into
from shotwright.bench.results import HitTable
from shotwright.bench.workbook import opened, read_workbook
from shotwright.choice.records import HitProbability
from shotwright.flight.chance import COLUMNS, Aim, Scatter, flown_hits, surroundings
from shotwright.flight.model import FlightModel, flight_model
from shotwright.game.records import Game
from shotwright.notebook.content import TruthRow
from shotwright.trials.reading import prototypes_from_text, trials_from_text
from shotwright.trials.records import Prototype
from shotwright.trials.synthetic.crew import Truth, draw_balls, simulate_trial

SEED = 20260117
SHOTS = 7
_JUDGING_BALLS = 20_000
HIDDEN = (
    Truth("hooded wheel", speed_spread=0.022, elevation_sd_deg=0.7, azimuth_sd_deg=0.8),
    Truth("twin wheels", speed_spread=0.034, elevation_sd_deg=1.1, azimuth_sd_deg=1.5),
    Truth("piston", speed_spread=0.011, elevation_sd_deg=0.5, azimuth_sd_deg=0.5),
)
SPEEDS = {"hood at 56": 7.7, "twin at 55": 7.9, "piston at 52": 7.6, "piston at 62": 7.6}


@dataclass(frozen=True, slots=True)
class DemoResult(Result):
    """What the demo made.

    Parameters
    ----------
    folder : str
        Where.
    files : tuple of str
        What it wrote.
    hits : HitTable
        Hit probabilities.
    truth_inside, truth_rows : int
        How many of the hidden values lie inside their interval, of how many.
    words : tuple of str
        One screen to print.
    """

    folder: str
    files: tuple[str, ...]
    hits: HitTable
    truth_inside: int
    truth_rows: int
    words: tuple[str, ...]


def run_demo(folder: Path, *, progress: Progress = silent) -> DemoResult:
    """Write the demo's files as a crew would have them, and run the whole chain on them.

    Parameters
    ----------
    folder : Path
        Made when missing; files of an earlier demo in it are replaced.
    progress : Progress
        Told how far it is.

    Returns
    -------
    DemoResult
        What was found, and how close it came to the hidden truth.
    """
    folder.mkdir(parents=True, exist_ok=True)
    others = [f.name for f in folder.iterdir() if f.name not in _OURS]
    if others:
        raise BadInput(f"{folder} holds other files ({others[0]}); name another folder", field="folder")
    yard = resources.files("shotwright.bench") / "yard"
    for name in ("game.toml", "prototypes.toml", "launchers.toml", "trials.toml", *_MECHANISMS):
        (folder / name).write_text((yard / name).read_text(encoding="utf-8"), encoding="utf-8")
    progress(0.02, "firing simulated shots")
    project = folder / "lantern-yard.shotwright"
    create_project(project, name="Lantern Yard (simulated)", game=folder / "game.toml", overwrite=True)
    _fire(folder, project)
    for name in ("prototypes.toml", "launchers.toml", "trials.toml", *_MECHANISMS, "shots.csv"):
        import_into(project, folder / name)

    def part(start: float, share: float) -> Progress:
        return lambda fraction, what="": progress(start + share * fraction, what)

    book = read_workbook(project)
    hits, draws = hits_of(book, progress=part(0.05, 0.6))
    decision = rank(book, hits, draws, None)
    if decision.admitted:
        reason = "ranks first over all weightings of the criteria (chosen by the demo)"
        with opened(project) as file:
            evidence = evidence_of(book, decision, hits)
            file.add_choice({"prototype": decision.admitted[0], "reason": reason, "evidence": evidence})
    truth = {
        "spreads": {t.prototype: t.to_dict() for t in HIDDEN},
        "hit_rates": _true_rates(book.needed_game(), book.prototypes, hits.rows),
    }
    with opened(project) as file:
        file.set_fact(TRUTH, truth)
    written = write_notebook(project, progress=part(0.7, 0.3), hits=(hits, draws))
    rows = truth_rows(hits, truth)
    inside = sum(
        isinstance(r.estimate, Estimate) and r.estimate.low <= r.truth <= r.estimate.high for r in rows
    )
    files = [str(folder / n) for n in _OURS[: 5 + len(_MECHANISMS)]]
    return DemoResult(
        folder=str(folder),
        files=(*files, str(project), *written.files),
        hits=hits,
        truth_inside=inside,
        truth_rows=len(rows),
        words=_words(decision.words, hits, rows, inside, written.files),
    )


_MECHANISMS = ("parts.toml", "drive.toml", "piston-drive.toml", "robot.toml", "match.toml")
_OURS = (
    "game.toml",
    "prototypes.toml",
    "launchers.toml",
    "trials.toml",
    *_MECHANISMS,
    "shots.csv",
    "lantern-yard.shotwright",
    "lantern-yard.html",
    "lantern-yard.pdf",
)


def _fire(folder: Path, project: Path) -> None:
    """Simulate every trial from the hidden truth and write the marks as a crew's table, in centimetres."""
    book = read_workbook(project)
    game = book.needed_game()
    model = flight_model(game.ball, game.weather)
    prototypes = {
        p.name: p for p in prototypes_from_text((folder / "prototypes.toml").read_text(encoding="utf-8"))
    }
    trials = trials_from_text(
        (folder / "trials.toml").read_text(encoding="utf-8"), "trials.toml", list(prototypes)
    )
    hidden = {t.prototype: t for t in HIDDEN}
    rng = np.random.default_rng(SEED)
    balls = draw_balls(game.ball, SHOTS, rng)
    with (folder / "shots.csv").open("w", newline="", encoding="utf-8") as out:
        out.write("# Simulated shots of an invented crew; nobody fired them.\n")
        table = csv.writer(out)
        table.writerow(["trial", "prototype", "shot", "ball", "along (cm)", "left (cm)"])
        for trial in trials:
            fired = simulate_trial(
                model,
                prototypes[trial.prototype],
                trial,
                hidden[trial.prototype],
                SPEEDS[trial.name],
                SHOTS,
                rng,
                balls=balls,
            )
            for shot in fired:
                along, cross = 100 * (shot.along or 0.0), 100 * (shot.cross or 0.0)
                table.writerow(
                    [trial.name, trial.prototype, shot.order, shot.ball, f"{along:.1f}", f"{cross:.1f}"]
                )


def _true_rates(
    game: Game, prototypes: tuple[Prototype, ...], rows: tuple[HitProbability, ...]
) -> dict[str, float]:
    """Hit rate of each hidden launcher at the setting that the chain chose, without calibration error."""
    model: FlightModel = flight_model(game.ball, game.weather)
    hidden = {t.prototype: t for t in HIDDEN}
    by_name = {p.name: p for p in prototypes}
    rates = {}
    rng = np.random.default_rng(SEED + 1)
    normals = rng.standard_normal((_JUDGING_BALLS, COLUMNS))
    for row in rows:
        if row.setting is None:
            continue
        prototype, position, truth = (
            by_name[row.prototype],
            game.position(row.position),
            hidden[row.prototype],
        )
        aim = Aim(
            np.array([position.x, position.y, prototype.release_height]),
            row.setting.speed_m_s,
            math.radians(row.setting.elevation_deg),
            math.radians(row.setting.azimuth_deg),
            prototype.spin_parameter,
        )
        scatter = Scatter(
            truth.speed_spread, math.radians(truth.elevation_sd_deg), math.radians(truth.azimuth_sd_deg)
        )
        hits = flown_hits(
            model,
            game.target(row.target),
            aim,
            scatter,
            surroundings(position, game.ball, prototype.spin_parameter_sd),
            normals,
            ball=game.ball,
            obstacles=game.obstacles,
        )
        rates[f"{row.prototype} / {row.position} / {row.target}"] = float(hits.mean())
    return rates


def _words(
    ranking: tuple[str, ...],
    hits: HitTable,
    rows: tuple[TruthRow, ...],
    inside: int,
    written: tuple[str, ...],
) -> tuple[str, ...]:
    """One screen: what was found, how close it came, where to look."""
    words = ["Lantern Yard, an invented game. Every shot is SIMULATED from a hidden truth."]
    for row in hits.rows:
        reason = getattr(row.probability, "reason", None)
        words.append(row.words[0] if row.words else f"{row.prototype} from {row.position}: {reason}.")
    words += ranking
    for known in rows[: 3 * len(hits.spreads)]:
        told = in_words(known.estimate, known.unit, known.scale)
        words.append(f"{known.what}: {told}; true {known.scale * known.truth:.2g} {known.unit}")
    words.append(f"{inside} of {len(rows)} hidden values lie inside their 95 % interval.")
    words += [f"Open {name}" for name in written]
    return tuple(words)
