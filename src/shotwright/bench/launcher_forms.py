"""A launcher described by a form: what is asked for each kind, what was typed so far, what it would throw."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import tomlkit

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.bench.launchers import release_words
from shotwright.bench.workbook import opened
from shotwright.flight.model import flight_model
from shotwright.launcher.kinds import KINDS
from shotwright.launcher.prediction import predict_release
from shotwright.launcher.reading import UNITS, launchers_from_text
from shotwright.notebook.launcher_drawing import launcher_drawing

SEED = 1
PARTS = ("value", "sd", "low", "high")
COMPRESSION = (
    ("squeeze", "length", "A ball on the kitchen scale, squeezed by", "20 mm"),
    ("force", "mass", "then shows", "8 kg"),
    ("loss", "fraction", "and gives back all but", "30 %"),
)


@dataclass(frozen=True, slots=True)
class FormField(Result):
    """One thing that the form asks.

    Parameters
    ----------
    name : str
        Its key in the launcher file.
    words : str
        What it is.
    kind : str
        Kind of quantity, ``"choice"`` or ``"text"``.
    example : str
        How to type it.
    needed : bool
        Whether there is no usual value.
    setting : bool
        Whether the crew turns it between shots, and so gives its range.
    options : tuple of str
        Answers of a choice.
    value, sd, low, high : str
        As typed so far; empty where nothing was.
    """

    name: str
    words: str
    kind: str
    example: str
    needed: bool
    setting: bool
    options: tuple[str, ...]
    value: str
    sd: str
    low: str
    high: str


@dataclass(frozen=True, slots=True)
class LauncherForm(Result):
    """The form of one prototype's launcher.

    Parameters
    ----------
    prototype : str
        Whose.
    kinds : tuple of str
        Kinds that can be described by a form.
    kind : str
        The one shown.
    fields : tuple of FormField
        What is asked.
    text : str
        The launcher file as it stands; empty when there is none yet.
    only_text : bool
        Whether the file says more than the form can hold, such as a list of wheels.
    more : bool
        Whether the file also holds readings of a scale, which the form leaves as they are.
    """

    prototype: str
    kinds: tuple[str, ...]
    kind: str
    fields: tuple[FormField, ...]
    text: str
    only_text: bool
    more: bool


@dataclass(frozen=True, slots=True)
class LauncherPreview(Result):
    """What a launcher would throw, as typed so far.

    Parameters
    ----------
    words : tuple of str
        The release in sentences. Predicted, never measured.
    cautions : tuple of str
        What to beware of.
    drawing_svg : str
        Its contact geometry to scale.
    """

    words: tuple[str, ...]
    cautions: tuple[str, ...]
    drawing_svg: str


def form_kinds() -> tuple[str, ...]:
    """Return the kinds whose description fits a form: those without lists of parts."""
    return tuple(
        kind
        for kind, record in KINDS.items()
        if not any("parts" in one.metadata for one in dataclasses.fields(record))
    )


def launcher_form(project: Path, prototype: str, kind: str = "") -> LauncherForm:
    """Return the form of a prototype's launcher, filled in with what its file says.

    Parameters
    ----------
    project : Path
        The project file.
    prototype : str
        Name of the prototype.
    kind : str
        Kind to show; that of the file, or the first, when empty.

    Returns
    -------
    LauncherForm
        What is asked, and what is known.

    Raises
    ------
    BadInput
        There is no such prototype or kind.
    """
    text = _text_of(project, prototype)
    known: dict[str, Any] = tomlkit.parse(text)["launcher"][0].unwrap() if text else {}
    stated = str(known.get("kind", ""))
    kinds = form_kinds()
    kind = kind or stated or kinds[0]
    if kind not in KINDS:
        raise BadInput(f"{kind!r} is no kind of launcher; there is: {', '.join(KINDS)}", field="kind")
    if kind != stated:
        known = {}
    return LauncherForm(
        prototype=prototype,
        kinds=kinds,
        kind=kind,
        fields=tuple(_fields(kind, known)),
        text=text,
        only_text=stated not in ("", *kinds),
        more=_measured(known),
    )


def _measured(known: Mapping[str, Any]) -> bool:
    """Whether readings, or its stuff, tell the squeeze in place of the form's three numbers."""
    held = known.get("compression", {})
    return "closing" in held or "modulus" in held


def _fields(kind: str, known: Mapping[str, Any]) -> list[FormField]:
    found = []
    for one in dataclasses.fields(KINDS[kind]):
        typed = known.get(one.name)
        needed = one.default is dataclasses.MISSING
        if "choice" in one.metadata:
            meta = one.metadata["choice"]
            value = str(typed if typed is not None else ("" if needed else one.default))
            found.append(
                FormField(
                    one.name,
                    meta["words"],
                    "choice",
                    "",
                    needed,
                    False,
                    tuple(meta["options"]),
                    value,
                    "",
                    "",
                    "",
                )
            )
        elif "amount" in one.metadata:
            meta = one.metadata["amount"]
            quantity, example = UNITS[meta["unit"]]
            parts = dict.fromkeys(PARTS, "")
            if isinstance(typed, dict):
                parts |= {key: str(typed[key]) for key in PARTS if key in typed}
            elif typed is not None:
                parts["value"] = str(typed)
            found.append(
                FormField(
                    one.name, meta["words"], quantity, example, needed, meta["role"] == "setting", (), **parts
                )
            )
        elif "compression" in one.metadata and not _measured(known):
            held = typed if isinstance(typed, dict) else {}
            found += [
                FormField(
                    f"compression.{key}",
                    words,
                    quantity,
                    example,
                    key != "loss",
                    False,
                    (),
                    str(held.get(key, "")),
                    "",
                    "",
                    "",
                )
                for key, quantity, words, example in COMPRESSION
            ]
    return found


def preview(
    project: Path, prototype: str, kind: str, typed: Mapping[str, str], *, width: float = 420.0
) -> LauncherPreview:
    """Tell what a launcher as typed so far would throw; nothing is saved.

    Parameters
    ----------
    project : Path
        The project file; it has a game.
    prototype : str
        Whose launcher.
    kind : str
        Kind of launcher.
    typed : mapping of str to str
        By field: ``"stroke.value"``, ``"stroke.sd"``, ``"action"``, ...; or the whole file as ``"text"``.
    width : float
        Room for the drawing. [px]

    Returns
    -------
    LauncherPreview
        Release and cautions in words, and the drawing.

    Raises
    ------
    BadFile
        Everything in it that can't be read.
    """
    with opened(project, read_only=True) as file:
        game = file.game()
    if game is None:
        raise BadInput("this project has no game yet, so there is no ball to throw", field="game")
    text = typed.get("text") or typed_text(_text_of(project, prototype), prototype, kind, typed)
    described = launchers_from_text(text, "form")[0]
    release = predict_release(
        flight_model(game.ball, game.weather), described, np.random.default_rng([SEED, 0])
    )
    return LauncherPreview(
        words=release_words(release),
        cautions=tuple(described.launcher.cautions(game.ball)),
        drawing_svg=launcher_drawing(described.launcher, game.ball, key="launcher", width=width).svg(),
    )


def save_launcher(project: Path, prototype: str, kind: str, typed: Mapping[str, str]) -> str:
    """Keep a launcher as typed into the form; comments in its file stay where the kind is the same.

    Parameters
    ----------
    project, prototype, kind, typed
        As for :func:`preview`.

    Returns
    -------
    str
        Its file as it was before; empty when there was none.
    """
    before = _text_of(project, prototype)
    set_launcher_text(project, typed_text(before, prototype, kind, typed))
    return before


def set_launcher_text(project: Path, text: str) -> None:
    """Keep launcher files as text, checked.

    Parameters
    ----------
    project : Path
        The project file.
    text : str
        TOML with ``[[launcher]]`` tables.
    """
    with opened(project) as file:
        file.put_launchers(text)


def typed_text(before: str, prototype: str, kind: str, typed: Mapping[str, str]) -> str:
    """Return the launcher file that says what was typed.

    Parameters
    ----------
    before : str
        The file so far; empty for none.
    prototype, kind : str
        Whose, and which kind.
    typed : mapping of str to str
        By field.

    Returns
    -------
    str
        TOML.
    """
    document = tomlkit.parse(before) if before else tomlkit.document()
    table = document["launcher"][0] if before else None
    if table is None or str(table.get("kind")) != kind:
        document = tomlkit.document()
        table = tomlkit.table()
        table["prototype"], table["kind"] = prototype, kind
        tables = tomlkit.aot()
        tables.append(table)
        document["launcher"] = tables
    for one in _fields(kind, table.unwrap() if _measured(table) else {}):
        _write(table, one, {key: typed.get(_key(one, key), "").strip() for key in PARTS})
    return tomlkit.dumps(document)


def _key(one: FormField, part: str) -> str:
    return one.name if part == "value" and (one.kind == "choice" or "." in one.name) else f"{one.name}.{part}"


def _write(table: Any, one: FormField, parts: dict[str, str]) -> None:
    group, _, key = one.name.rpartition(".")
    if group:
        if group not in table:
            table[group] = tomlkit.table()
        table = table[group]
    name = key or one.name
    if not parts["value"]:
        if name in table:
            del table[name]
        return
    old = table.get(name)
    if old is None and one.kind == "choice" and parts["value"] == one.value:
        return  # the usual answer needs no line
    alone = one.kind == "choice" or bool(group) or not any(parts[k] for k in PARTS[1:])
    if alone and not isinstance(old, dict):
        if old != parts["value"]:
            table[name] = parts["value"]
        return
    entry = old if isinstance(old, dict) else tomlkit.inline_table()
    for k in PARTS:
        if parts[k] and str(entry.get(k, "")) != parts[k]:
            entry[k] = parts[k]
        elif not parts[k] and k in entry:
            del entry[k]
    if entry is not old:
        table[name] = entry


def _text_of(project: Path, prototype: str) -> str:
    with opened(project, read_only=True) as file:
        names = [p.name for p in file.prototypes()]
        texts = dict(file.launcher_texts())
    if prototype not in names:
        raise BadInput(
            f"there is no prototype {prototype!r}; there is: {', '.join(names) or 'none yet'}",
            field="prototype",
        )
    return texts.get(prototype, "")
