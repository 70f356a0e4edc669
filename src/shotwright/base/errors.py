"""The errors a person can mend, in one line each."""

from __future__ import annotations

from collections.abc import Sequence


class ShotwrightError(Exception):
    """Root of every error that the tool raises on purpose."""


class BadInput(ShotwrightError, ValueError):
    """Something a person typed or a file holds can't be used as it is.

    The message is one line: where it stands, what was found, what is allowed and what to do.
    The parts are kept so that a form can point at the field.

    Parameters
    ----------
    problem : str
        What is wrong and what to do, without the place: ``"0 g is not a mass; type e.g. 120 g"``.
    field : str, optional
        Name of the field as the person knows it: ``"ball.mass"``.
    file : str, optional
        File that holds it.
    row : int, optional
        Row number as a spreadsheet counts it (the header is row 1).

    Examples
    --------
    >>> str(BadInput("0 g is not a mass", field="mass", file="game.toml", row=4))
    'game.toml, row 4, mass: 0 g is not a mass'
    """

    def __init__(
        self, problem: str, *, field: str | None = None, file: str | None = None, row: int | None = None
    ) -> None:
        self.problem = problem
        self.field = field
        self.file = file
        self.row = row
        super().__init__(problem)

    def __str__(self) -> str:
        place = [part for part in (self.file, f"row {self.row}" if self.row else None, self.field) if part]
        return f"{', '.join(place)}: {self.problem}" if place else self.problem

    def at(self, *, file: str | None = None, row: int | None = None, prefix: str | None = None) -> BadInput:
        """Copy of this error with the place filled in by a caller who knows more of it."""
        field = f"{prefix}.{self.field}" if prefix and self.field else (self.field or prefix)
        return BadInput(self.problem, field=field, file=file or self.file, row=row or self.row)


class BadFile(BadInput):
    """Everything that is wrong in one file, so that a person mends it in one go.

    Parameters
    ----------
    problems : sequence of BadInput
        In the order of the file; at least one. The message has one line for each.

    Examples
    --------
    >>> print(BadFile([BadInput("no unit", field="[ball], mass"), BadInput("no name", field="[game]")]))
    [ball], mass: no unit
    [game]: no name
    """

    def __init__(self, problems: Sequence[BadInput]) -> None:
        self.problems = tuple(problems)
        first = self.problems[0]
        super().__init__(first.problem, field=first.field, file=first.file, row=first.row)

    def __str__(self) -> str:
        return "\n".join(str(problem) for problem in self.problems)

    def at(self, *, file: str | None = None, row: int | None = None, prefix: str | None = None) -> BadFile:
        """Copy with the place filled in on each line."""
        return BadFile([problem.at(file=file, row=row, prefix=prefix) for problem in self.problems])


class ProjectProblem(ShotwrightError):
    """The project file can't be opened or written: missing, damaged, too new, read-only."""


class NoAnswer(ShotwrightError):
    """A computation has no answer for a reason worth telling: blocked, out of reach, too few shots."""


class Cancelled(ShotwrightError):
    """The person stopped a long computation."""
