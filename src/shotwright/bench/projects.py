"""Start a project, bring things in, write it out."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from shotwright.base.errors import BadInput
from shotwright.base.toml_tables import parse_toml, read_text
from shotwright.bench.results import ImportReport, ProjectSummary, RowTrouble, WrittenFiles
from shotwright.bench.workbook import load, opened
from shotwright.flight.model import flight_model
from shotwright.game.reading import game_from_text
from shotwright.launcher.reading import launchers_from_text
from shotwright.powertrain.drive_file import drive_from_text
from shotwright.store.crew_files import CREW_FILES, kind_of
from shotwright.store.folder import differing, export_folder, import_folder, read_folder
from shotwright.store.project_file import ProjectFile
from shotwright.trials.measure.tables import TableReading, read_shot_table
from shotwright.trials.reading import prototypes_from_text, trials_from_text
from shotwright.trials.records import Prototype, Trial

TABLE_ENDINGS = (".csv", ".tsv", ".txt", ".xlsx", ".xlsm")


def create_project(
    path: Path, *, name: str | None = None, game: Path | None = None, overwrite: bool = False
) -> ProjectSummary:
    """Make a project file, with its game if there is one already.

    Parameters
    ----------
    path : Path
        The project file; ``.shotwright`` is added when it has no ending.
    name : str, optional
        Title; the file's name without ending by default.
    game : Path, optional
        Game file to read in.
    overwrite : bool
        Replace a project that is there.

    Returns
    -------
    ProjectSummary
        What it holds.
    """
    path = path if path.suffix else path.with_suffix(".shotwright")
    text = read_text(game) if game is not None else None
    if text is not None and game is not None:
        _checked_game(text, game.name)
    with ProjectFile.create(path, name or path.stem, overwrite=overwrite) as project:
        if text is not None and game is not None:
            project.set_game(text, game.name)
    return summary(path)


def summary(project: Path) -> ProjectSummary:
    """Say what a project holds and what to do next."""
    with opened(project, read_only=True) as file:
        book = load(file)
    shots = [s for _, group in book.trials for s in group]
    todo = []
    if book.game is None:
        todo.append("Next: bring in the game: shotwright import game.toml")
    if not book.prototypes:
        todo.append("Next: bring in the prototypes: shotwright import prototypes.toml")
    if book.prototypes and not shots:
        todo.append("Next: fire, and bring in the marks: shotwright import shots.csv")
    return ProjectSummary(
        file=str(project),
        name=book.name,
        game=book.game.name if book.game else None,
        positions=tuple(p.name for p in book.game.positions) if book.game else (),
        targets=tuple(t.name for t in book.game.targets) if book.game else (),
        prototypes=tuple(p.name for p in book.prototypes),
        trials=tuple(t.name for t, _ in book.trials),
        drives=tuple(one.name for one in book.drives),
        shots=len(shots),
        set_aside=sum(s.set_aside is not None for s in shots),
        words=tuple(todo),
    )


def edition(project: Path) -> str:
    """Return a word that differs after every change of what the project holds."""
    with opened(project, read_only=True) as file:
        return file.edition()


def import_into(
    project: Path,
    source: Path,
    *,
    trial: str | None = None,
    prototype: str | None = None,
    columns: Mapping[str, str] | None = None,
    units: Mapping[str, str] | None = None,
    skip_bad_rows: bool = False,
    dry_run: bool = False,
) -> ImportReport:
    """Bring a file into a project: game, prototypes, launchers, drive, trials, shots, or an exported folder.

    Parameters
    ----------
    project : Path
        The project file.
    source : Path
        TOML, CSV, TSV, XLSX, or a folder that export wrote.
    trial, prototype : str, optional
        Trial and prototype of a table that names none.
    columns, units : mapping, optional
        Our column name to the table's header, and to the unit of its numbers.
    skip_bad_rows : bool
        Bring in the rows that can be read and leave the others out.
    dry_run : bool
        Report only.

    Returns
    -------
    ImportReport
        What came in; nothing did when a row can't be read and `skip_bad_rows` is not set.
    """
    if not source.exists():
        raise BadInput("no such file or folder", file=str(source))
    if source.is_dir() and not project.exists():
        return _restore(source, project, dry_run)
    with opened(project) as file:
        if source.is_dir():
            return _import_folder(file, source, dry_run)
        if source.suffix.lower() == ".toml":
            return _import_toml(file, source, dry_run)
        if source.suffix.lower() not in TABLE_ENDINGS:
            raise BadInput(
                f"{source.suffix or 'no ending'} is not read; bring a .toml, .csv, .tsv or .xlsx file, "
                "or a folder that export wrote",
                file=source.name,
            )
        orders = {t.name: file.next_order(t.name) - 1 for t in file.trials()}
        reading = read_shot_table(
            source, trial=trial, prototype=prototype, columns=columns, units=units, start_after=orders
        )
        return _import_table(file, source, reading, skip_bad_rows, dry_run)


def _checked_game(text: str, file_name: str) -> None:
    """Read a game and build its flight model, so that an unknown law is told at the door."""
    game = game_from_text(text, file_name)
    try:
        flight_model(game.ball, game.weather)
    except BadInput as problem:
        raise problem.at(file=file_name, prefix="[ball]") from None


def _import_toml(file: ProjectFile, source: Path, dry_run: bool) -> ImportReport:
    text = read_text(source)
    sections = parse_toml(text, source.name)
    known_prototypes = {p.name for p in file.prototypes()}
    known_trials = {t.name for t in file.trials()}
    prototypes: tuple[Prototype, ...] = ()
    trials: tuple[Trial, ...] = ()
    kinds = []
    if "game" in sections or "field" in sections:
        kinds.append("game")
        _checked_game(text, source.name)
        if not dry_run:
            file.set_game(text, source.name)
    elif (kept := kind_of(sections)) is not None:
        kinds.append(CREW_FILES[kept].what)
        CREW_FILES[kept].check(text, source.name)
        if not dry_run:
            file.put_crew_file(kept, text, source.name)
    elif "launcher" in sections:
        described = launchers_from_text(text, source.name, sorted(known_prototypes))
        kinds.append("launcher" if len(described) == 1 else "launchers")
        if not dry_run:
            file.put_launchers(text, source.name)
    elif "prototype" in sections or "trial" in sections:
        if "prototype" in sections:
            kinds.append("prototypes")
            prototypes = prototypes_from_text(text, source.name)
        if "trial" in sections:
            kinds.append("trials")
            names = [*known_prototypes, *(p.name for p in prototypes)]
            trials = trials_from_text(text, source.name, names)
        if not dry_run:
            with file.transaction():
                file.put_prototypes(prototypes)
                file.put_trials(trials)
    elif "motor" in sections or "supply" in sections:
        kinds.append("drive")
        drive_from_text(text, source.name)
        if not dry_run:
            file.put_drive(text, source.name)
    else:
        other = "".join(f", [{one.marks[0]}]" for one in CREW_FILES.values())
        raise BadInput(
            f"holds neither [game] nor [[prototype]], [[launcher]], [[trial]]{other} or a drive's [[motor]]",
            file=source.name,
        )
    kind = " and ".join(kinds)
    return ImportReport(
        source=str(source),
        kind=kind,
        imported=not dry_run,
        new_shots=0,
        known_shots=0,
        new_prototypes=tuple(p.name for p in prototypes if p.name not in known_prototypes),
        new_trials=tuple(t.name for t in trials if t.name not in known_trials),
        problems=(),
        notes=(),
        words=(f"{'Would read' if dry_run else 'Read'} {kind} from {source.name}.",),
    )


def _import_table(
    file: ProjectFile, source: Path, reading: TableReading, skip_bad_rows: bool, dry_run: bool
) -> ImportReport:
    problems = tuple(RowTrouble(p.row, p.field, p.reason) for p in reading.problems)
    known = {s.uid for s in file.shots()}
    fresh = [s for s in reading.shots if s.uid not in known]
    # A row that was changed in the table after an earlier import would otherwise count twice.
    places = {(s.trial, s.source): s.order for s in file.shots()}
    changed = [(s, places[s.trial, s.source]) for s in fresh if (s.trial, s.source) in places]
    problems += tuple(
        RowTrouble(
            _row_of(s.source),
            "shot",
            f"differs from shot {order} of {s.trial}, read from this row before; set that shot aside first, "
            "or give the row a shot number of its own in another file",
        )
        for s, order in changed
    )
    fresh = [s for s in fresh if (s.trial, s.source) not in places]
    have_prototypes = {p.name for p in file.prototypes()}
    have_trials = {t.name for t in file.trials()}
    prototypes = [p for p in reading.prototypes if p.name not in have_prototypes]
    trials = [t for t in reading.trials if t.name not in have_trials]
    write = not dry_run and (skip_bad_rows or not problems)
    if write:
        with file.transaction():
            file.put_prototypes(prototypes)
            file.put_trials(trials)
            file.add_shots(fresh)
    verb = "Read" if write else "Would read" if dry_run else "Nothing read yet:"
    count = f"{len(fresh)} new shot{'s' if len(fresh) != 1 else ''}"
    words = [f"{verb} {count} from {source.name}."]
    if problems:
        words.append(
            f"{len(problems)} row{'s' if len(problems) != 1 else ''} can't be read"
            + ("; left out." if write else "; mend them, or bring in the others with --skip-bad-rows.")
        )
    return ImportReport(
        source=str(source),
        kind="shots",
        imported=write,
        new_shots=len(fresh),
        known_shots=len(reading.shots) - len(fresh) - len(changed),
        new_prototypes=tuple(p.name for p in prototypes),
        new_trials=tuple(t.name for t in trials),
        problems=problems,
        notes=reading.notes,
        words=tuple(words),
    )


def _restore(source: Path, project: Path, dry_run: bool) -> ImportReport:
    """Make the very project that a folder was exported from."""
    content = read_folder(source)
    if not dry_run:
        import_folder(source, project)
    return ImportReport(
        source=str(source),
        kind="folder",
        imported=not dry_run,
        new_shots=len(content.shots),
        known_shots=0,
        new_prototypes=tuple(p.name for p in content.prototypes),
        new_trials=tuple(t.name for t in content.trials),
        problems=(),
        notes=(),
        words=(f"{'Would make' if dry_run else 'Made'} {project.name} from the folder {source.name}.",),
    )


def _row_of(source: str) -> int:
    """Row number at the end of a shot's source, 0 when there is none."""
    last = source.rsplit(" ", 1)[-1]
    return int(last) if last.isdigit() else 0


def _import_folder(file: ProjectFile, source: Path, dry_run: bool) -> ImportReport:
    """Merge an exported folder: what the project has already stays, what is new comes in."""
    content = read_folder(source)
    known = {s.uid for s in file.shots()}
    fresh = [s for s in content.shots if s.uid not in known]
    have_prototypes = {p.name for p in file.prototypes()}
    have_trials = {t.name for t in file.trials()}
    have_choices = [{**c, "date": str(c.get("date"))} for c in file.choices()]
    if not dry_run:
        with file.transaction():
            if content.game is not None:
                file.set_game(content.game)
            file.put_prototypes(content.prototypes)
            if content.launchers is not None:
                file.put_launchers(content.launchers)
            for text in content.drives:
                file.put_drive(text)
            file.put_trials(content.trials)
            file.add_shots(content.shots)
            for choice in content.choices:
                if {**choice, "date": str(choice.get("date"))} not in have_choices:
                    file.add_choice(choice)
            for key, value in content.facts.items():
                file.set_fact(key, value)
            for kind, text in content.crew_files.items():
                file.put_crew_file(kind, text)
    return ImportReport(
        source=str(source),
        kind="folder",
        imported=not dry_run,
        new_shots=len(fresh),
        known_shots=len(content.shots) - len(fresh),
        new_prototypes=tuple(p.name for p in content.prototypes if p.name not in have_prototypes),
        new_trials=tuple(t.name for t in content.trials if t.name not in have_trials),
        problems=(),
        notes=(),
        words=(f"{'Would read' if dry_run else 'Read'} the folder {source.name}: {len(fresh)} new shots.",),
    )


def export_project(project: Path, folder: Path, *, overwrite: bool = False) -> WrittenFiles:
    """Write a project as a folder of TOML and CSV that import reads back.

    Parameters
    ----------
    project : Path
        The project file.
    folder : Path
        Made when missing.
    overwrite : bool
        Write into a folder that holds other files too, and replace what an earlier export left there.

    Returns
    -------
    WrittenFiles
        What was written.
    """
    if folder.is_dir() and any(folder.iterdir()) and not (folder / "project.toml").exists() and not overwrite:
        raise BadInput(f"{folder} holds other files; name an empty folder, or allow it with --overwrite")
    with opened(project, read_only=True) as file:
        changed = () if overwrite else differing(file, folder)
        if changed:
            raise BadInput(
                f"{folder / changed[0]} does not say what the project says; bring in with import what was "
                f"changed by hand, or replace it with --overwrite",
                field="folder",
            )
        files = export_folder(file, folder)
    return WrittenFiles(tuple(str(f) for f in files), (f"Wrote {len(files)} files to {folder}.",))


def copy_project(project: Path, to: Path) -> WrittenFiles:
    """Copy a project file safely, also while somebody else has it open."""
    with opened(project, read_only=True) as file:
        file.copy_to(to)
    return WrittenFiles((str(to),), (f"Copied to {to}.",))
