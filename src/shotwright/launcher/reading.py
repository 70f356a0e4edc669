"""The launcher file: a TOML text that describes prototypes on paper.

``docs/launchers.md`` explains every key. All problems of a file are reported at once.
"""

from __future__ import annotations

import dataclasses
import difflib
import itertools
import math
import re
from collections.abc import Sequence
from typing import Any, cast

from shotwright.base.errors import BadInput
from shotwright.base.quantities import parse_quantity, unit_scale
from shotwright.base.toml_tables import Section, check_unique, parse_toml, raise_problems
from shotwright.launcher.description import Battery, Described, Setting
from shotwright.launcher.kinds import KINDS
from shotwright.launcher.protocol import Amount, AmountOrigin
from shotwright.launcher.reading_compression import read_compression
from shotwright.launcher.wheels_around import prefixed

# SI unit of an amount -> (kind of quantity, unit in which people mostly state it, an example)
UNITS: dict[str, tuple[str, str]] = {
    "": ("fraction", "0.5"),
    "m": ("length", "90 mm"),
    "m^2": ("area", "50 mm^2"),
    "kg": ("mass", "180 g"),
    "kg m^2": ("moment of inertia", "0.012 kg m^2"),
    "rad": ("angle", "52 deg"),
    "rad/s": ("spin", "2900 rpm"),
    "m/s": ("speed", "12 m/s"),
    "N": ("force", "12 N"),
    "N m": ("torque", "0.4 N m"),
    "N/m": ("stiffness", "900 N/m"),
    "Pa": ("pressure", "0.4 MPa"),
    "J": ("energy", "8 J"),
    "s": ("time", "0.3 s"),
    "V": ("voltage", "12.4 V"),
}
ORIGINS = ("stated", "measured", "assumed", "calibrated")
_NUMBER = re.compile(r"^\s*[-+−]?[\d.,]+(?:[eE][-+]?\d+)?\s*(.*?)\s*$")
_HEADER = re.compile(r"^\s*\[\[\s*launcher\s*\]\]", re.M)


def launchers_from_text(
    text: str, file_name: str = "launchers.toml", prototypes: Sequence[str] | None = None
) -> tuple[Described, ...]:
    r"""Read launchers from the text of their file.

    Parameters
    ----------
    text : str
        TOML with one ``[[launcher]]`` for each.
    file_name : str
        How messages name the file.
    prototypes : sequence of str, optional
        Names that a launcher may belong to; None: any.

    Returns
    -------
    tuple of Described
        In the order of the file.

    Raises
    ------
    BadInput
        The text is not TOML.
    BadFile
        Everything that is wrong in it, one line for each problem.

    Examples
    --------
    >>> launchers_from_text('[[launcher]]\nprototype = "piston"\nkind = "spring pistol"')
    Traceback (most recent call last):
    ...
    shotwright.base.errors.BadFile: launchers.toml, [[launcher]] 1 "piston", kind: ...
    """
    problems: list[BadInput] = []
    top = Section(parse_toml(text, file_name), "", file_name, problems)
    sections = top.sections("launcher", required=True)
    read = [_read_launcher(section, prototypes) for section in sections]
    owners = [str(section.values.get("prototype", "")) for section in sections]
    check_unique(zip(sections, owners, strict=True), "launcher's prototype")
    top.finish()
    raise_problems(problems)
    return tuple(one for one in read if one is not None)


def split_launchers(text: str, file_name: str = "launchers.toml") -> tuple[tuple[str, str], ...]:
    """Cut the text of a launcher file into one text for each launcher, comments and all.

    Parameters
    ----------
    text : str
        TOML that :func:`launchers_from_text` reads.
    file_name : str
        How messages name the file.

    Returns
    -------
    tuple of (str, str)
        Prototype and text. Put together again they are the file.

    Raises
    ------
    BadInput
        The cut would change what the file says.
    """
    starts = [_with_comment_above(text, match.start()) for match in _HEADER.finditer(text)]
    edges = [0, *starts[1:], len(text)]
    pieces = [text[a:b] for a, b in itertools.pairwise(edges)]
    pieces = [piece if piece.endswith("\n") else f"{piece}\n" for piece in pieces]
    whole = parse_toml(text, file_name)["launcher"]
    parts = []
    for piece in pieces:
        try:
            parts += parse_toml(piece, file_name).get("launcher", [])
        except BadInput:
            break
    if parts != whole or len(pieces) != len(whole):
        raise BadInput("can't be cut into its launchers; write one file for each", file=file_name)
    return tuple((str(part["prototype"]), piece) for part, piece in zip(parts, pieces, strict=True))


def _with_comment_above(text: str, start: int) -> int:
    """Where the comment begins that stands right above a header."""
    lines = text[:start].splitlines(keepends=True)
    while lines and lines[-1].lstrip().startswith("#"):
        start -= len(lines.pop())
    return start


def _read_launcher(section: Section, prototypes: Sequence[str] | None) -> Described | None:
    before = len(section.problems)
    prototype = section.text("prototype", example="piston")
    if prototype:
        section.place = f'{section.place} "{prototype}"'
    if prototype and prototypes is not None and prototype not in prototypes:
        near = difflib.get_close_matches(prototype, prototypes, n=1)
        hint = f"did you mean {near[0]!r}?" if near else f"known: {', '.join(prototypes) or 'none'}"
        section.problem(f"there is no prototype {prototype!r}; {hint}", "prototype")
    kind = section.choice("kind", tuple(KINDS))
    if kind not in KINDS:
        return None
    values: dict[str, Any] = {"name": prototype}
    settings: list[Setting] = []
    for one in dataclasses.fields(KINDS[kind]):
        if "choice" in one.metadata:
            values[one.name] = _read_choice(section, one)
        elif "amount" in one.metadata:
            amount, setting = _read_amount(section, one)
            values[one.name] = amount
            settings += [setting] if setting else []
        elif "compression" in one.metadata:
            values[one.name] = read_compression(section, one.name)
        elif "parts" in one.metadata:
            values[one.name], turned = _read_parts(section, one)
            settings += turned
    amounts = [n for n, v in values.items() if isinstance(v, Amount)]
    parts = [(n, p) for n in values for p in (values[n] if isinstance(values[n], tuple) else ())]
    amounts += [prefixed(p.name, f.name) for _, p in parts for f in dataclasses.fields(p) if f.metadata]
    battery = _read_battery(section, amounts)
    section.finish()
    if len(section.problems) > before:
        return None
    try:
        launcher = KINDS[kind](**values)
    except BadInput as bad:
        section.problem(bad.problem, (bad.field or "").replace(" ", "_") or None)
        return None
    percent = tuple(name for name in values if _in_percent(section.values.get(name)))
    return Described(prototype, launcher, tuple(settings), battery, percent)


def _read_parts(section: Section, one: dataclasses.Field[Any]) -> tuple[tuple[Any, ...], list[Setting]]:
    """Read any number of like parts: `surfaces` are the tables ``[[launcher.surface]]``."""
    record, key = one.metadata["parts"], one.name.removesuffix("s")
    parts, settings = [], []
    for inside in section.sections(key, required=True):
        inside.place = f"{section.place}, {key}"
        name = inside.name("upper wheel")
        held: dict[str, Any] = {"name": name}
        for item in dataclasses.fields(record):
            if "amount" in item.metadata:
                held[item.name], setting = _read_amount(inside, item)
                if setting:
                    settings.append(dataclasses.replace(setting, name=prefixed(name, item.name)))
        inside.finish()
        parts.append(record(**held))
    return tuple(parts), settings


def _read_choice(section: Section, one: dataclasses.Field[Any]) -> str:
    options = one.metadata["choice"]["options"]
    default = None if one.default is dataclasses.MISSING else str(one.default)
    if one.name not in section and default is None:
        words = ", ".join(f'"{word}"' for word in options)
        section.know(one.name)
        section.problem(f"is missing: {one.metadata['choice']['words']} One of {words}", one.name)
        return ""
    return section.choice(one.name, options, default)


def _read_amount(section: Section, one: dataclasses.Field[Any]) -> tuple[Amount, Setting | None]:
    meta = one.metadata["amount"]
    kind, example = UNITS[meta["unit"]]
    typed = section.raw(one.name)
    default = None if one.default is dataclasses.MISSING else cast(Amount, one.default)
    if typed is None:
        if default is None:
            section.problem(f'is missing ({meta["words"]}); e.g. {one.name} = "{example}"', one.name)
        return default or Amount(math.nan), None
    bounds = {"least": meta["low"], "most": meta["high"], "allowed": _allowed(meta)}
    if not isinstance(typed, dict):
        return Amount(section.parse(one.name, typed, kind, **bounds)), None
    inside = Section(typed, f"{section.place}, {one.name}", section.file, section.problems)
    if "value" not in inside:
        inside.problem(f'is missing; e.g. {one.name} = {{ value = "{example}", sd = "1 %" }}', "value")
        return Amount(math.nan), None
    value = inside.parse("value", inside.raw("value"), kind, **bounds)
    sd = _read_sd(inside, value, kind)
    doubt = _read_sd(inside, value, kind, "doubt") if "doubt" in inside else None
    inside.know("doubt")
    origin = inside.choice("origin", ORIGINS, "stated")
    setting = _read_range(inside, one.name, value, kind, bounds)
    inside.finish()
    return Amount(value, sd, cast(AmountOrigin, origin), doubt), setting


def _read_sd(inside: Section, value: float, kind: str, key: str = "sd") -> float:
    """Standard deviation, as a quantity or in percent of the value."""
    typed = inside.raw(key)
    if typed is None:
        return 0.0
    if kind != "fraction" and _in_percent({"sd": typed}):
        share = inside.parse(key, typed, "fraction", least=0.0, allowed="zero or more")
        return share * abs(value)
    return inside.parse(key, typed, kind, least=0.0, allowed="zero or more")


def _in_percent(typed: object) -> bool:
    """Whether an amount, as it stands in the file, states its spread in percent."""
    return isinstance(typed, dict) and str(typed.get("sd", "")).strip().endswith("%")


def _read_range(
    inside: Section, name: str, value: float, kind: str, bounds: dict[str, Any]
) -> Setting | None:
    if "low" not in inside and "high" not in inside:
        inside.know("low", "high")
        return None
    ends = []
    for key in ("low", "high"):
        if key not in inside:
            inside.problem("is missing; a setting has both low and high", key)
            ends.append(math.nan)
        else:
            ends.append(inside.parse(key, inside.raw(key), kind, **bounds))
    low, high = ends
    if low >= high:
        inside.problem("is not less than high", "low")
    elif value < low or value > high:
        inside.problem("is outside low to high", "value")
    unit, scale = _unit_of(inside.values["value"], kind)
    return Setting(name, low, high, unit, scale)


def _unit_of(typed: object, kind: str) -> tuple[str, float]:
    """Unit as typed, and its SI value; ("", 1) for a bare number or what could not be read."""
    match = _NUMBER.match(str(typed))
    unit = match[1] if match else ""
    try:
        parse_quantity(typed, kind)
        return (unit, unit_scale(unit, kind)[0]) if unit else ("", 1.0)
    except BadInput:
        return "", 1.0


def _allowed(meta: dict[str, Any]) -> str:
    """Word the bounds of an amount."""
    low, high, unit = meta["low"], meta["high"], meta["unit"]
    if unit == "rad":
        low, high, unit = math.degrees(low), math.degrees(high), "deg"
    if math.isinf(high):
        return "" if math.isinf(low) else f"{low:.4g} {unit} or more".replace("  ", " ")
    return f"{low:.4g} to {high:.4g} {unit}".rstrip()


def _read_battery(section: Section, amounts: Sequence[str]) -> Battery | None:
    if "battery" not in section:
        section.know("battery")
        return None
    inside = section.section("battery")
    volts, sd = math.nan, 0.0
    typed = inside.raw("voltage")
    if isinstance(typed, dict):
        table = Section(typed, f"{inside.place}, voltage", inside.file, inside.problems)
        volts = table.quantity("value", "voltage", "12.4 V", above=0.0, allowed="greater than zero")
        sd = _read_sd(table, volts, "voltage")
        table.finish()
    else:
        volts = inside.quantity("voltage", "voltage", "12.4 V", above=0.0, allowed="greater than zero")
    drives = inside.names("drives")
    for name in drives:
        if name not in amounts:
            near = difflib.get_close_matches(name, amounts, n=1)
            hint = f"did you mean {near[0]}?" if near else f"known: {', '.join(amounts)}"
            inside.problem(f"there is no amount {name!r}; {hint}", "drives")
    if not drives:
        inside.problem('is missing; name what runs slower on a weak battery, e.g. ["wheel_speed"]', "drives")
    follows = inside.quantity(
        "follows", "fraction", "30 %", least=0.0, most=1.0, allowed="between 0 and 100 %"
    )
    inside.finish()
    return Battery(Amount(volts, sd), drives, follows)
