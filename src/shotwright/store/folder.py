"""A project as a folder of TOML and CSV, fit for version control, and back to an identical project.

``docs/file-format.md`` explains each file. Numbers are in SI and written so that they come back to the bit.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from shotwright.base.errors import BadFile, BadInput, ProjectProblem
from shotwright.base.toml_tables import Section, parse_toml, raise_problems, read_text
from shotwright.game.reading import game_from_text
from shotwright.launcher.reading import launchers_from_text, split_launchers
from shotwright.powertrain.drive_file import drive_from_text
from shotwright.store import connection as database
from shotwright.store.crew_files import CREW_FILES, CrewFile
from shotwright.store.project_file import ProjectFile
from shotwright.store.shots_csv import csv_text, read_csv, shots_from_text, shots_text
from shotwright.store.toml_text import choices_text, prototypes_text, toml_string, trials_text
from shotwright.trials.reading import prototypes_from_text, trials_from_text
from shotwright.trials.records import Prototype, Shot, Trial

FORMAT = 5  # 2 added launchers.toml, 3 what was measured on a video, 4 the files kept whole, 5 the drives
FILES = (
    "project.toml",
    "game.toml",
    "prototypes.toml",
    "launchers.toml",
    "drive-1.toml",
    "trials.toml",
    "shots.csv",
    "choices.toml",
    "facts.json",
    "journal.csv",
    *(one.file_name for one in CREW_FILES.values()),
)
_Part = TypeVar("_Part")


@dataclass(frozen=True, slots=True)
class FolderContent:
    """What an exported folder holds.

    Parameters
    ----------
    name : str
        The project's.
    created : datetime.datetime
        When the project was made.
    game : str, optional
        Its TOML as the crew wrote it.
    prototypes, trials, shots
        In the order of their files.
    launchers : str, optional
        TOML of the launchers as the crew wrote it.
    crew_files : dict
        Text of each file that is kept whole, by its kind.
    drives : tuple of str
        TOML of each drive as the crew wrote it, in the order of their files.
    choices : tuple of dict
        The oldest first.
    facts : dict
        Plain data by key.
    journal : tuple of (datetime, str)
        The oldest first.
    """

    name: str
    created: datetime.datetime
    game: str | None
    prototypes: tuple[Prototype, ...]
    trials: tuple[Trial, ...]
    shots: tuple[Shot, ...]
    choices: tuple[dict[str, Any], ...]
    facts: dict[str, Any]
    journal: tuple[tuple[datetime.datetime, str], ...]
    launchers: str | None = None
    crew_files: dict[str, str] = field(default_factory=dict)
    drives: tuple[str, ...] = ()


def export_folder(project: ProjectFile, folder: Path | str) -> tuple[Path, ...]:
    """Write a project as a folder; an earlier export there is brought up to date.

    Parameters
    ----------
    project : ProjectFile
        Open.
    folder : Path or str
        Made when it is not there. Other files in it are left alone.

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    ProjectProblem
        The folder can't be written, or holds other files of these names.
    """
    folder = Path(folder)
    texts = _texts(project)
    with database.in_plain_words(folder):
        folder.mkdir(parents=True, exist_ok=True)
        foreign = [name for name in FILES if (folder / name).exists()]
        if foreign and "project.toml" not in foreign:
            raise ProjectProblem(
                f"{folder}: holds {foreign[0]}, but is no exported project; name another folder"
            )
        # Numbers behind those of the project are of an earlier export.
        texts |= {path.name: None for path in _drive_files(folder) if path.name not in texts}
        for name, text in texts.items():
            if text is None:
                (folder / name).unlink(missing_ok=True)
                continue
            fresh = folder / f".{name}.new"
            fresh.write_bytes(text.encode())
            fresh.replace(folder / name)
    return tuple(folder / name for name, text in texts.items() if text is not None)


def differing(project: ProjectFile, folder: Path | str) -> tuple[str, ...]:
    """Name the files of an earlier export that say something else than the project says now.

    Parameters
    ----------
    project : ProjectFile
        Open.
    folder : Path or str
        With an earlier export, or without.

    Returns
    -------
    tuple of str
        Names; what a person may have typed into before the journal.
    """
    folder = Path(folder)
    if not (folder / "project.toml").exists():
        return ()
    texts: dict[str, str | None] = dict.fromkeys(path.name for path in _drive_files(folder))
    texts |= _texts(project)
    with database.in_plain_words(folder):
        found = {name: (folder / name).read_bytes() for name in texts if (folder / name).exists()}
    changed = [name for name, old in found.items() if texts[name] is None or old != str(texts[name]).encode()]
    return tuple(sorted(changed, key="journal.csv".__eq__))


def _texts(project: ProjectFile) -> dict[str, str | None]:
    """What each file of an export says; None for one that is not there."""
    head = f"format = {FORMAT}\nname = {toml_string(project.name)}\ncreated = {project.created.isoformat()}\n"
    journal = [(at.isoformat(), what) for at, what in project.journal()]
    texts: dict[str, str | None] = {
        "project.toml": head,
        "game.toml": project.game_text(),
        "prototypes.toml": prototypes_text(project.prototypes()),
        "launchers.toml": "".join(text for _, text in project.launcher_texts()) or None,
        **{f"drive-{i}.toml": text for i, (_, text) in enumerate(project.drive_texts(), 1)},
        "trials.toml": trials_text(project.trials()),
        "shots.csv": shots_text(project.shots()),
        "choices.toml": choices_text(project.choices()),
        "facts.json": json.dumps(project.facts(), ensure_ascii=False, indent=2, sort_keys=True) + "\n",
        "journal.csv": csv_text(("at", "what"), journal),
    }
    kept = project.crew_files()
    texts |= {one.file_name: kept.get(kind) for kind, one in CREW_FILES.items()}
    return texts


def import_folder(folder: Path | str, path: Path | str, overwrite: bool = False) -> None:
    """Make a project file from an exported folder.

    Parameters
    ----------
    folder : Path or str
        The folder.
    path : Path or str
        The project file to make.
    overwrite : bool
        Replace a project file that is there.

    Raises
    ------
    BadInput
        Everything that is wrong in the folder, one line for each problem; no file is made.
    ProjectProblem
        The file can't be made.
    """
    content = read_folder(folder)
    project = ProjectFile.create(path, content.name, overwrite, content.created)
    try:
        with project, project.transaction():
            if content.game is not None:
                project.set_game(content.game)
            project.put_prototypes(content.prototypes)
            if content.launchers is not None:
                project.put_launchers(content.launchers)
            for text in content.drives:
                project.put_drive(text)
            project.put_trials(content.trials)
            project.add_shots(content.shots)
            for choice in content.choices:
                project.add_choice(choice)
            for key, value in content.facts.items():
                project.set_fact(key, value)
            for kind, text in content.crew_files.items():
                project.put_crew_file(kind, text)
            project.replace_journal(content.journal)
    except BadInput as bad:
        database.remove(Path(path))
        raise bad.at(file=str(folder)) from None


def read_folder(folder: Path | str) -> FolderContent:
    """Read an exported folder; only project.toml must be there.

    Parameters
    ----------
    folder : Path or str
        The folder.

    Returns
    -------
    FolderContent
        What it holds, checked.

    Raises
    ------
    BadInput
        Everything that is wrong in it, one line for each problem.
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise BadInput("there is no such folder", file=str(folder))
    if not (folder / "project.toml").exists():
        raise BadInput("holds no project.toml, so it is no exported project", file=str(folder))
    problems: list[BadInput] = []

    def part(name: str, read: Callable[[str], _Part]) -> _Part | None:
        try:
            return read(_read_exact(folder / name)) if (folder / name).exists() else None
        except BadFile as bad:
            problems.extend(bad.problems)
        except BadInput as bad:
            problems.append(bad.at(file=name))
        return None

    def names_of(kind: str, records: Sequence[Prototype] | Sequence[Trial] | None) -> list[str] | None:
        # Of names in a file that can't be read nothing is said: one problem would become many.
        broken = any(problem.file == f"{kind}.toml" for problem in problems)
        return None if broken else [record.name for record in records or ()]

    head = part("project.toml", _head_from_text)
    game = part("game.toml", _checked_game)
    prototypes = part("prototypes.toml", prototypes_from_text)
    built = names_of("prototypes", prototypes)
    launchers = part("launchers.toml", lambda text: _checked_launchers(text, built))
    drives = [part(path.name, partial(_checked_drive, path.name)) for path in _drive_files(folder)]
    trials = part("trials.toml", lambda text: trials_from_text(text, "trials.toml", built))
    fired = names_of("trials", trials)
    shots = part("shots.csv", lambda text: shots_from_text(text, "shots.csv", fired))
    choices = part("choices.toml", lambda text: _choices_from_text(text, built))
    facts = part("facts.json", _facts_from_text)
    journal = part("journal.csv", _journal_from_text)
    kept = {kind: part(one.file_name, partial(_checked, one)) for kind, one in CREW_FILES.items()}
    raise_problems(problems)
    assert head is not None
    return FolderContent(
        *head,
        game,
        prototypes or (),
        trials or (),
        shots or (),
        choices or (),
        facts or {},
        journal or (),
        launchers,
        {kind: text for kind, text in kept.items() if text is not None},
        tuple(text for text in drives if text is not None),
    )


def _drive_files(folder: Path) -> list[Path]:
    """List drive-1.toml, drive-2.toml and so on, up to the first that is not there."""
    found: list[Path] = []
    while (path := folder / f"drive-{len(found) + 1}.toml").exists():
        found.append(path)
    return found


def _read_exact(path: Path) -> str:
    if path.suffix == ".toml":
        return read_text(path)
    try:
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadInput("is not UTF-8 text; save it as UTF-8", file=path.name) from None
    except OSError as reason:
        raise BadInput(f"can't be read ({reason.strerror})", file=path.name) from None


def _head_from_text(text: str) -> tuple[str, datetime.datetime]:
    problems: list[BadInput] = []
    section = Section(parse_toml(text, "project.toml"), "", "project.toml", problems)
    version = section.whole("format", least=1)
    if version is not None and version > FORMAT:
        section.problem(f"{version} is newer than this shotwright knows ({FORMAT}); update it", "format")
    elif version is None and "format" not in section:
        section.problem(f"is missing; format = {FORMAT}", "format")
    name = section.text("name", example="Lantern crew")
    created = section.raw("created")
    if not isinstance(created, datetime.datetime):
        section.problem(f"{created!s} is not a time; e.g. created = 2026-01-17T18:30:00+00:00", "created")
    section.finish()
    raise_problems(problems)
    assert isinstance(created, datetime.datetime)
    return name, created


def _checked_game(text: str) -> str:
    game_from_text(text, "game.toml")
    return text


def _checked_launchers(text: str, prototypes: Sequence[str] | None) -> str:
    launchers_from_text(text, "launchers.toml", prototypes)
    split_launchers(text)
    return text


def _checked(one: CrewFile, text: str) -> str:
    one.check(text, one.file_name)
    return text


def _checked_drive(file_name: str, text: str) -> str:
    drive_from_text(text, file_name)
    return text


def _choices_from_text(text: str, prototypes: Sequence[str] | None) -> tuple[dict[str, Any], ...]:
    problems: list[BadInput] = []
    top = Section(parse_toml(text, "choices.toml"), "", "choices.toml", problems)
    choices = []
    for section in top.sections("choice"):
        date = section.raw("date")
        if type(date) is not datetime.date:
            section.problem(f"{date!s} is not a date; e.g. date = 2026-01-17", "date")
        prototype = section.text("prototype", example="twin roller")
        if prototype and prototypes is not None and prototype not in prototypes:
            section.problem(f"there is no prototype {prototype!r} in prototypes.toml", "prototype")
        reason = section.text("reason", example="tightest group at both positions")
        typed = section.text("evidence", "null")
        try:
            evidence = json.loads(typed)
        except (ValueError, RecursionError):
            section.problem(f"{typed[:40]!r} is not JSON", "evidence")
            continue
        section.finish()
        choices.append({"date": date, "prototype": prototype, "reason": reason, "evidence": evidence})
    top.finish()
    raise_problems(problems)
    return tuple(choices)


def _facts_from_text(text: str) -> dict[str, Any]:
    try:
        facts = json.loads(text)
    except (ValueError, RecursionError) as reason:
        raise BadInput(f"is not JSON ({reason})", file="facts.json") from None
    if not isinstance(facts, dict):
        raise BadInput("is not a JSON object, { ... }", file="facts.json")
    return facts


def _journal_from_text(text: str) -> tuple[tuple[datetime.datetime, str], ...]:
    entries = []
    for row, cells in read_csv(text, "journal.csv", ("at", "what"), ("at", "what")):
        try:
            entries.append((datetime.datetime.fromisoformat(cells["at"]), cells["what"]))
        except ValueError:
            problem = f"{cells['at'][:40]!r} is not a time; e.g. 2026-01-17T18:30:00+00:00"
            raise BadInput(problem, file="journal.csv", row=row, field="at") from None
    return tuple(entries)
