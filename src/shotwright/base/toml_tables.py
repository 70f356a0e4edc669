"""TOML files that people write: read key by key, every problem kept until the whole file is read."""

from __future__ import annotations

import difflib
import math
import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from shotwright.base.errors import BadFile, BadInput
from shotwright.base.quantities import parse_quantity

LARGEST_FILE = 4_000_000  # bytes; a file that people write by hand is a thousand times smaller
LONGEST = 1000.0  # m; no length on a field is longer, so it is a slip of the unit
_BARE_QUANTITY = re.compile(r"^\s*([\w.-]+)\s*=\s*([-+]?[\d.,]+\s*[A-Za-z°%µ\"'][^#\n]*?)\s*(?:#.*)?$")
_AT_LINE = re.compile(r"\(at line (\d+), column \d+\)$")


def read_text(path: Path) -> str:
    """Read a text file; UTF-8 with or without a byte order mark, or UTF-16 with one.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    str
        Its text.

    Raises
    ------
    BadInput
        Missing, a folder, not allowed, too large, or not text.
    """
    try:
        if path.is_dir():
            raise BadInput("is a folder; name the file in it", file=str(path))
        if path.stat().st_size > LARGEST_FILE:
            raise BadInput(
                f"is larger than {LARGEST_FILE // 1_000_000} MB; is it the right file?", file=str(path)
            )
        data = path.read_bytes()
    except FileNotFoundError:
        raise BadInput("there is no such file", file=str(path)) from None
    except OSError as reason:
        raise BadInput(f"can't be read ({reason.strerror})", file=str(path)) from None
    wide = data.startswith((b"\xff\xfe", b"\xfe\xff"))
    try:
        return data.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError as reason:
        line = data[: reason.start].count(b"\n") + 1
        problem = f"line {line} is not UTF-8 text; save the file as UTF-8"
        raise BadInput(problem, file=path.name) from None


def parse_toml(text: str, file: str) -> dict[str, Any]:
    """Parse TOML; a syntax error names the line and, where it can, the cure.

    Parameters
    ----------
    text : str
        The file's text.
    file : str
        Its name, for the message.

    Returns
    -------
    dict
        Tables and values.

    Raises
    ------
    BadInput
        Not TOML.
    """
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise BadInput("brackets are nested too deeply", file=file) from None
    except ValueError as reason:
        problem = str(reason)
        place = _AT_LINE.search(problem)
        if not place:
            raise BadInput(f"can't be read as TOML: {problem}", file=file) from None
        number = int(place[1])
        problem = problem[: place.start()].strip()
        lines = text.splitlines()
        line = lines[number - 1] if number <= len(lines) else ""
        bare = _BARE_QUANTITY.match(line)
        cure = f'; a value with a unit stands in quotes: {bare[1]} = "{bare[2]}"' if bare else ""
        shown = f" in {line.strip()[:60]!r}" if line.strip() else ""
        raise BadInput(f"line {number}: {problem}{shown}{cure}", file=file) from None


class Section:
    """One table of a TOML file. Asking for a key also makes it known; :meth:`finish` reports the rest.

    A problem is added to a list that all sections of the file share; the asker gets a stand-in (NaN, ``""``)
    and goes on, so that the person sees all problems at once. Call :func:`raise_problems` at the end.

    Parameters
    ----------
    values : mapping
        The table as parsed.
    place : str
        How messages name it: ``"[ball]"`` or ``'[[target]] 2 "upper"'``.
    file : str
        File name for messages.
    problems : list of BadInput
        Grows.
    """

    def __init__(self, values: Mapping[str, Any], place: str, file: str, problems: list[BadInput]) -> None:
        self.values = values
        self.place = place
        self.file = file
        self.problems = problems
        self._known: list[str] = []

    def __contains__(self, key: str) -> bool:
        return key in self.values

    def problem(self, text: str, key: str | None = None) -> None:
        """Note a problem of this table or of one of its keys."""
        field = ", ".join(part for part in (self.place, key) if part)
        self.problems.append(BadInput(text, field=field or None, file=self.file))

    def know(self, *keys: str) -> None:
        """Let keys stand that somebody else reads."""
        self._known.extend(keys)

    def raw(self, key: str) -> Any:
        """Value as parsed, None when absent."""
        self._known.append(key)
        return self.values.get(key)

    def finish(self, elsewhere: Mapping[str, str] | None = None) -> None:
        """Report keys that nobody asked for; `elsewhere` says of some where they belong."""
        for key in self.values:
            if key in self._known:
                continue
            near = difflib.get_close_matches(key.lower(), self._known, n=1, cutoff=0.6)
            if elsewhere and key in elsewhere:
                self.problem(elsewhere[key], key)
            elif near:
                self.problem(f"is not a key here; did you mean {near[0]}?", key)
            else:
                self.problem(f"is not a key here; known: {', '.join(sorted(set(self._known)))}", key)

    def text(self, key: str, default: str | None = None, example: str = "") -> str:
        """Text in quotes; without a default it must be there and not be blank."""
        value = self.raw(key)
        if value is None and default is not None:
            return default
        hint = f'; e.g. {key} = "{example}"' if example else ""
        if value is None:
            self.problem(f"is missing{hint}", key)
        elif not isinstance(value, str):
            self.problem(f"{value!r} is not text; put it in quotes{hint}", key)
        elif default is None and not value.strip():
            self.problem(f"is blank{hint}", key)
        else:
            return value
        return default or ""

    def name(self, example: str) -> str:
        """Key ``name``, which also enters the place that messages show."""
        name = self.text("name", example=example)
        if name:
            self.place = f'{self.place} "{name}"'
        return name

    def choice(self, key: str, allowed: Sequence[str], default: str | None = None) -> str:
        """One of a few words."""
        value = self.raw(key)
        if value is None and default is not None:
            return default
        words = ", ".join(f'"{word}"' for word in allowed)
        if value is None:
            self.problem(f"is missing; one of {words}", key)
        elif value not in allowed:
            near = difflib.get_close_matches(str(value).lower(), allowed, n=1)
            self.problem(
                f"{value!r} is not one of {words}" + (f'; did you mean "{near[0]}"?' if near else ""), key
            )
        else:
            return str(value)
        return default or ""

    def yes_no(self, key: str, default: bool) -> bool:
        """``true`` or ``false``."""
        value = self.raw(key)
        if isinstance(value, bool):
            return value
        if value is not None:
            self.problem(f"{value!r} is not true or false (without quotes)", key)
        return default

    def quantity(
        self, key: str, kind: str, example: str, default: float | None = None, **bounds: Any
    ) -> float:
        """Quantity with a unit, in SI; NaN after a problem. `bounds` as :meth:`check`."""
        value = self.raw(key)
        if value is None:
            if default is None:
                self.problem(f'is missing; e.g. {key} = "{example}"', key)
                return math.nan
            return default
        return self.parse(key, value, kind, **bounds)

    def optional(self, key: str, kind: str, **bounds: Any) -> float | None:
        """Quantity with a unit, or None when the key is absent."""
        value = self.raw(key)
        return None if value is None else self.parse(key, value, kind, **bounds)

    def parse(self, key: str, value: Any, kind: str, **bounds: Any) -> float:
        """Parse one quantity of `kind`, in SI; NaN after a problem."""
        if isinstance(value, list | dict):
            self.problem(f"{_short(value)} is not one {kind}", key)
            return math.nan
        try:
            number = parse_quantity(value, kind, key)
        except BadInput as bad:
            self.problem(bad.problem, key)
            return math.nan
        if kind == "length" and "most" not in bounds and abs(number) > LONGEST:
            self.problem(f"{value} is more than {LONGEST:g} m; check the unit", key)
            return math.nan
        return self.check(key, number, value, **bounds)

    def check(
        self,
        key: str,
        number: float,
        typed: object,
        *,
        above: float | None = None,
        least: float | None = None,
        most: float | None = None,
        allowed: str = "",
    ) -> float:
        """Hold `number` against bounds in SI; `allowed` words them where "0" would not do."""
        if above is not None and number <= above:
            self.problem(f"{typed!s} is not allowed; it must be {allowed or f'greater than {above:g}'}", key)
        elif (least is not None and number < least) or (most is not None and number > most):
            if most is None:
                limit = f"at least {least:g}"
            elif least is None:
                limit = f"at most {most:g}" if above is None else f"greater than {above:g}, at most {most:g}"
            else:
                limit = f"between {least:g} and {most:g}"
            self.problem(f"{typed!s} is not allowed; it must be {allowed or limit}", key)
        else:
            return number
        return math.nan

    def number(self, key: str, default: float | None = None, example: str = "1", **bounds: Any) -> float:
        """Bare number without a unit; NaN after a problem."""
        value = self.raw(key)
        if value is None:
            if default is None:
                self.problem(f"is missing; e.g. {key} = {example}", key)
                return math.nan
            return default
        number = as_number(value)
        if number is None:
            self.problem(f"{_short(value)} is not a number; e.g. {key} = {example}", key)
            return math.nan
        return self.check(key, number, value, **bounds)

    def whole(self, key: str, least: int = 0) -> int | None:
        """Whole number or None."""
        value = self.raw(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= 2**53:
            self.problem(f"{_short(value)} is not a whole number of at least {least}", key)
            return None
        return value

    def vector(self, key: str, value: Any, kind: str, count: int, example: str) -> tuple[float, ...]:
        """Parse a list of `count` quantities; NaNs after a problem."""
        if not isinstance(value, list) or len(value) != count:
            self.problem(f"{_short(value)} is not a list of {count} {kind}s; e.g. {key} = {example}", key)
            return (math.nan,) * count
        return tuple(self.parse(key, item, kind) for item in value)

    def names(self, key: str) -> tuple[str, ...]:
        """List of names; empty when absent."""
        value = self.raw(key)
        if value is None:
            return ()
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            self.problem(f'{_short(value)} is not a list of names; e.g. {key} = ["upper opening"]', key)
            return ()
        return tuple(value)

    def section(self, key: str, *, required: bool = True) -> Section:
        """Read sub-table ``[key]``; an empty one stands in when it is absent."""
        value = self.raw(key)
        place = f"{self.place}, {key}" if self.place else f"[{key}]"
        if value is None and required:
            self.problem(f"the section [{key}] is missing")
        elif value is not None and not isinstance(value, dict):
            self.problem(f"{_short(value)} is not a section; write [{key}] on its own line", key)
            value = None
        # Of a section that is not there one message is enough: those of its keys go nowhere.
        silent = value is None and required
        return Section(value or {}, place, self.file, [] if silent else self.problems)

    def sections(self, key: str, *, required: bool = False) -> list[Section]:
        """List every ``[[key]]``, numbered from 1."""
        value = self.raw(key)
        if value is None and required:
            self.problem(f"there is no [[{key}]]; at least one is needed")
        if value is not None and not (isinstance(value, list) and all(isinstance(v, dict) for v in value)):
            self.problem(
                f"{_short(value)} is not a list of sections; write [[{key}]] in double brackets", key
            )
            value = None
        return [
            Section(item, f"[[{key}]] {number}", self.file, self.problems)
            for number, item in enumerate(value or [], 1)
        ]


def as_number(value: object) -> float | None:
    """Return a finite number that was written bare or as text, else None."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return None
    try:
        number = float(value)
    except (ValueError, OverflowError):
        return None
    return number if math.isfinite(number) else None


def check_unique(sections: Iterable[tuple[Section, str]], what: str) -> None:
    """Report names that were given twice."""
    seen: dict[str, str] = {}
    for section, name in sections:
        if name and name in seen:
            section.problem(f"{name!r} is already the name of another {what}; rename one", "name")
        seen[name] = name


def raise_problems(problems: Sequence[BadInput]) -> None:
    """Raise all problems of a file as one error, if there are any."""
    if problems:
        raise BadFile(problems)


def _short(value: object) -> str:
    shown = repr(value)
    return shown if len(shown) <= 60 else shown[:57] + "..."
