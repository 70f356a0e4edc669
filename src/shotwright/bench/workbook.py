"""A project loaded whole: what every computing function of the bench starts from."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

from shotwright.base.errors import BadInput
from shotwright.game.reading import game_from_text
from shotwright.game.records import FiringPosition, Game, Target
from shotwright.launcher.description import Described
from shotwright.powertrain.drive_file import DriveFile
from shotwright.store.project_file import ProjectFile
from shotwright.trials.records import Prototype, Shot, Trial


@dataclass(frozen=True, slots=True)
class Workbook:
    """Everything in a project file, as records.

    Parameters
    ----------
    name : str
        Project's name.
    game : Game, optional
        None until a game file is imported.
    prototypes : tuple of Prototype
        In the order of the file.
    trials : tuple of (Trial, tuple of Shot)
        In the order of the file; shots by order of firing, those set aside included.
    launchers : tuple of Described
        Of the prototypes that a launcher file describes.
    crew_files : dict
        Text of each file that is kept whole (``"match"``), by its kind.
    drives : tuple of DriveFile
        What drives them, in the order of the file.
    chosen : str, optional
        Prototype of the last choice on record.
    """

    name: str
    game: Game | None
    prototypes: tuple[Prototype, ...]
    trials: tuple[tuple[Trial, tuple[Shot, ...]], ...]
    launchers: tuple[Described, ...] = ()
    crew_files: dict[str, str] = field(default_factory=dict)
    drives: tuple[DriveFile, ...] = ()
    chosen: str | None = None

    def needed_game(self) -> Game:
        """Return the game, or say how to bring one in."""
        if self.game is None:
            raise BadInput(
                "this project has no game yet; write one and bring it in: shotwright import game.toml"
            )
        return self.game

    def trials_of(self, prototype: str) -> tuple[tuple[Trial, tuple[Shot, ...]], ...]:
        """Return the trials of one prototype."""
        return tuple((t, s) for t, s in self.trials if t.prototype == prototype)

    def some_prototypes(self, names: tuple[str, ...] = ()) -> tuple[Prototype, ...]:
        """Return the prototypes named, or all; an unknown name is a BadInput that lists what there is."""
        return tuple(_named("prototype", name, self.prototypes) for name in names) or self.prototypes

    def some_trials(self, names: tuple[str, ...] = ()) -> tuple[tuple[Trial, tuple[Shot, ...]], ...]:
        """Return the trials named, or all."""
        chosen = tuple(_named("trial", name, tuple(t for t, _ in self.trials)) for name in names)
        return tuple((t, s) for t, s in self.trials if not chosen or t in chosen)

    def launcher_of(self, prototype: str) -> Described | None:
        """Return the description of a prototype's launcher; None when there is none."""
        return {one.prototype: one for one in self.launchers}.get(prototype)

    def drive(self, name: str = "") -> DriveFile:
        """Return the drive of that name; the only one when none is named."""
        if not self.drives:
            raise BadInput(
                "this project has no drive yet; describe it in a file and bring it in: shotwright import "
                "drive.toml",
                field="drive",
            )
        if name:
            return _named("drive", name, self.drives)
        if len(self.drives) > 1:
            known = ", ".join(one.name for one in self.drives)
            many = len(self.drives)
            raise BadInput(f"this project has {many} drives; name one with --drive: {known}", field="drive")
        return self.drives[0]

    def pairs(self, position: str | None, target: str | None) -> tuple[tuple[FiringPosition, Target], ...]:
        """Return the (position, target) pairs wanted, all of the game's by default."""
        game = self.needed_game()
        if position is not None:
            _named("position", position, game.positions)
        if target is not None:
            _named("target", target, game.targets)
        return tuple(
            (p, t) for p, t in game.shots_wanted() if position in (None, p.name) and target in (None, t.name)
        )


_Item = TypeVar("_Item", Prototype, Trial, FiringPosition, Target, DriveFile)


def _named(kind: str, name: str, among: tuple[_Item, ...]) -> _Item:
    for item in among:
        if item.name.casefold() == name.casefold():
            return item
    known = ", ".join(item.name for item in among) or "none yet"
    raise BadInput(f"there is no {kind} {name!r}; there is: {known}", field=kind)


def load(project: ProjectFile) -> Workbook:
    """Load an open project whole."""
    text = project.game_text()
    shots = project.shots()
    choices = project.choices()
    return Workbook(
        name=project.name,
        game=game_from_text(text, "game.toml") if text else None,
        prototypes=tuple(project.prototypes()),
        trials=tuple((t, tuple(s for s in shots if s.trial == t.name)) for t in project.trials()),
        launchers=project.launchers(),
        crew_files=project.crew_files(),
        drives=project.drives(),
        chosen=str(choices[-1]["prototype"]) if choices else None,
    )


@contextmanager
def opened(path: Path | str, *, read_only: bool = False) -> Iterator[ProjectFile]:
    """Open a project file for one function of the bench."""
    with ProjectFile.open(Path(path), read_only=read_only) as project:
        yield project


def read_workbook(path: Path | str) -> Workbook:
    """Open, load and close."""
    with opened(path, read_only=True) as project:
        return load(project)
