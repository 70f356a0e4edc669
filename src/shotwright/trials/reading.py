"""The files prototypes.toml and trials.toml: what was built and what was fired, as a crew writes it.

``docs/file-format.md`` explains every key. All problems of a file are reported at once.
"""

from __future__ import annotations

import datetime
import difflib
import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Literal, cast

from shotwright.base.errors import BadInput
from shotwright.base.toml_tables import Section, check_unique, parse_toml, raise_problems, read_text
from shotwright.trials.records import Prototype, Trial

_POSITIVE: dict[str, Any] = {"above": 0.0, "allowed": "greater than zero"}
_NOT_NEGATIVE: dict[str, Any] = {"least": 0.0, "allowed": "zero or more"}
_ELEVATION: dict[str, Any] = {
    "least": -math.pi / 2,
    "most": math.pi / 2,
    "allowed": "between -90 and 90 deg, measured up from the horizontal",
}


def read_prototypes(path: Path | str) -> tuple[Prototype, ...]:
    """Read a file of prototypes.

    Parameters
    ----------
    path : Path or str
        A TOML file with one ``[[prototype]]`` for each.

    Returns
    -------
    tuple of Prototype
        In the order of the file.

    Raises
    ------
    BadInput
        The file can't be read, or is not TOML.
    BadFile
        Everything that is wrong in it, one line for each problem.
    """
    path = Path(path)
    return prototypes_from_text(read_text(path), path.name)


def prototypes_from_text(text: str, file_name: str = "prototypes.toml") -> tuple[Prototype, ...]:
    """Read prototypes from the text of their file; parameters and errors as :func:`read_prototypes`.

    Parameters
    ----------
    text : str
        TOML.
    file_name : str
        How messages name the file.

    Returns
    -------
    tuple of Prototype
        In the order of the file.
    """
    problems: list[BadInput] = []
    top = Section(parse_toml(text, file_name), "", file_name, problems)
    sections = top.sections("prototype")
    prototypes = [_read_prototype(section) for section in sections]
    check_unique(zip(sections, [p.name for p in prototypes], strict=True), "prototype")
    top.finish()
    raise_problems(problems)
    return tuple(prototypes)


def _read_prototype(section: Section) -> Prototype:
    name = section.name("twin roller")
    low, high = _read_elevations(section)
    speed_low = section.optional("speed_low", "speed", **_NOT_NEGATIVE)
    speed_high = section.optional("speed_high", "speed", **_POSITIVE)
    if speed_low is not None and speed_high is not None and speed_low > speed_high:
        section.problem(f"{section.values['speed_low']} is more than speed_high", "speed_low")
    prototype = Prototype(
        name=name,
        mechanism=section.text("mechanism", ""),
        release_height=section.quantity("release_height", "length", "50 cm", 0.0, **_NOT_NEGATIVE),
        elevation_low=low,
        elevation_high=high,
        speed_low=speed_low,
        speed_high=speed_high,
        spin_parameter=section.number("spin_parameter", 0.0, least=-10.0, most=10.0),
        spin_parameter_sd=section.number("spin_parameter_sd", 0.0, least=0.0, most=10.0),
        motors=section.whole("motors"),
        stored_energy=section.optional("stored_energy", "energy", **_NOT_NEGATIVE),
        mass=section.optional("mass", "mass", **_POSITIVE),
        length=section.optional("length", "length", **_POSITIVE),
        width=section.optional("width", "length", **_POSITIVE),
        height=section.optional("height", "length", **_POSITIVE),
        remark=section.text("remark", ""),
    )
    section.finish({"speed": "say speed_low and speed_high", "spin": "say spin_parameter, r omega / v"})
    return prototype


def _read_elevations(section: Section) -> tuple[float, float]:
    """Read a fixed ``elevation``, or ``elevation_low`` and ``elevation_high``. [rad]."""
    both = [key for key in ("elevation_low", "elevation_high") if key in section]
    if "elevation" in section:
        if both:
            section.problem(f"elevation and {both[0]} are both given; keep one of the two", "elevation")
        section.know("elevation_low", "elevation_high")
        fixed = section.quantity("elevation", "angle", "52 deg", **_ELEVATION)
        return fixed, fixed
    section.know("elevation")
    low = section.quantity("elevation_low", "angle", "40 deg", 0.0, **_ELEVATION)
    high = section.quantity("elevation_high", "angle", "65 deg", 0.0, **_ELEVATION)
    if len(both) == 1:
        missing = "elevation_low" if both == ["elevation_high"] else "elevation_high"
        section.problem("is missing; give both ends, or elevation for a fixed one", missing)
    elif low > high:
        section.problem(f"{section.values['elevation_low']} is more than elevation_high", "elevation_low")
    return low, high


def read_trials(path: Path | str, prototypes: Sequence[str] | None = None) -> tuple[Trial, ...]:
    """Read a file of trials.

    Parameters
    ----------
    path : Path or str
        A TOML file with one ``[[trial]]`` for each.
    prototypes : sequence of str, optional
        Names that a trial may refer to; None: any.

    Returns
    -------
    tuple of Trial
        In the order of the file.

    Raises
    ------
    BadInput
        The file can't be read, or is not TOML.
    BadFile
        Everything that is wrong in it, one line for each problem.
    """
    path = Path(path)
    return trials_from_text(read_text(path), path.name, prototypes)


def trials_from_text(
    text: str, file_name: str = "trials.toml", prototypes: Sequence[str] | None = None
) -> tuple[Trial, ...]:
    """Read trials from the text of their file; errors as :func:`read_trials`.

    Parameters
    ----------
    text : str
        TOML.
    file_name : str
        How messages name the file.
    prototypes : sequence of str, optional
        Names that a trial may refer to; None: any.

    Returns
    -------
    tuple of Trial
        In the order of the file.
    """
    problems: list[BadInput] = []
    top = Section(parse_toml(text, file_name), "", file_name, problems)
    sections = top.sections("trial")
    trials = [_read_trial(section, prototypes) for section in sections]
    check_unique(zip(sections, [t.name for t in trials], strict=True), "trial")
    top.finish()
    raise_problems(problems)
    return tuple(trials)


def _read_trial(section: Section, prototypes: Sequence[str] | None) -> Trial:
    name = section.name("roller low")
    prototype = section.text("prototype", example="twin roller")
    if prototype and prototypes is not None and prototype not in prototypes:
        near = difflib.get_close_matches(prototype, prototypes, n=1)
        hint = f"did you mean {near[0]!r}?" if near else f"known: {', '.join(prototypes) or 'none'}"
        section.problem(f"there is no prototype {prototype!r}; {hint}", "prototype")
    surface = section.choice("surface", ("floor", "plane"), "floor")
    surface_at = section.quantity("surface_at", "length", "3 m", None if surface == "plane" else 0.0)
    if surface == "plane" and surface_at < 0:
        typed = section.values["surface_at"]
        section.problem(f"{typed} is not allowed; it is how far the plane stands in front", "surface_at")
    spin = section.number("spin_parameter", 0.0, least=-10.0, most=10.0)
    trial = Trial(
        name=name,
        prototype=prototype,
        date=_read_date(section),
        setting=section.text("setting", ""),
        elevation=section.optional("elevation", "angle", **_ELEVATION),
        release_height=section.optional("release_height", "length", **_NOT_NEGATIVE),
        spin_parameter=spin if "spin_parameter" in section else None,
        surface=cast(Literal["floor", "plane"], surface),
        surface_at=surface_at,
        mark_sd=section.quantity("mark_sd", "length", "10 mm", 0.01, **_NOT_NEGATIVE),
        speed_sd=section.optional("speed_sd", "speed", **_NOT_NEGATIVE),
        elevation_sd=section.optional("elevation_sd", "angle", **_NOT_NEGATIVE),
        same_ball=section.yes_no("same_ball", False),
        position=section.text("position", "") or None,
        target=section.text("target", "") or None,
        origin=cast(
            Literal["measured", "simulated"], section.choice("origin", ("measured", "simulated"), "measured")
        ),
        remark=section.text("remark", ""),
    )
    section.finish()
    return trial


def _read_date(section: Section) -> datetime.date | None:
    value = section.raw("date")
    if isinstance(value, datetime.datetime):
        return value.date()
    if isinstance(value, str):
        try:
            return datetime.date.fromisoformat(value.strip())
        except ValueError:
            pass
    elif value is None or isinstance(value, datetime.date):
        return value
    section.problem(f"{value!s} is not a date; year-month-day, e.g. date = 2026-01-17", "date")
    return None
