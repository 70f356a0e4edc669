"""Prototypes, trials and choices as TOML in SI, exact to the last digit."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterable, Mapping
from typing import Any

from shotwright.store.rows import columns_of, to_json
from shotwright.trials.records import Prototype, Trial

_UNITS = {
    "release_height": "m",
    "elevation_low": "rad",
    "elevation_high": "rad",
    "elevation": "rad",
    "speed_low": "m/s",
    "speed_high": "m/s",
    "stored_energy": "J",
    "mass": "kg",
    "length": "m",
    "width": "m",
    "height": "m",
    "surface_at": "m",
    "mark_sd": "m",
    "speed_sd": "m/s",
    "elevation_sd": "rad",
}


def toml_string(text: str) -> str:
    """Text in quotes. JSON's escapes are TOML's, but for the one control character that JSON lets stand."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def prototypes_text(prototypes: Iterable[Prototype]) -> str:
    """Text of prototypes.toml."""
    return "\n".join(_record("prototype", prototype) for prototype in prototypes)


def trials_text(trials: Iterable[Trial]) -> str:
    """Text of trials.toml."""
    return "\n".join(_record("trial", trial) for trial in trials)


def choices_text(choices: Iterable[Mapping[str, Any]]) -> str:
    """Text of choices.toml; the evidence is JSON in a string."""
    return "\n".join(
        f"[[choice]]\ndate = {choice['date'].isoformat()}\nprototype = {toml_string(choice['prototype'])}\n"
        f"reason = {toml_string(choice['reason'])}\n"
        f"evidence = {toml_string(to_json(choice['evidence'], 'evidence'))}\n"
        for choice in choices
    )


def _record(kind: str, record: Prototype | Trial) -> str:
    lines = [f"[[{kind}]]"]
    for name in columns_of(type(record)):
        value = getattr(record, name)
        if value is not None and value != "":
            lines.append(f"{name} = {_value(name, value)}")
    return "\n".join(lines) + "\n"


def _value(name: str, value: Any) -> str:
    if isinstance(value, str):
        return toml_string(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, datetime.date):
        return value.isoformat()
    if name in _UNITS:
        return f'"{float(value)!r} {_UNITS[name]}"'
    return repr(int(value) if name == "motors" else float(value))
