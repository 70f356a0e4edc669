"""How a launcher file gives the ball's force against squeeze: readings of a scale, or one stiffness."""

from __future__ import annotations

import math

from shotwright.base.constants import STANDARD_GRAVITY
from shotwright.base.errors import BadInput
from shotwright.base.quantities import parse_quantity
from shotwright.base.toml_tables import Section
from shotwright.launcher.compression import (
    Compression,
    Hertz,
    Readings,
    fit_compression,
    hertz_from_modulus,
)

_EXAMPLE = 'closing = [["5 mm", "0.9 kg"], ["10 mm", "2.6 kg"], ["20 mm", "8 kg"]]'


def read_compression(section: Section, key: str) -> Compression | None:
    """Read the table of a launcher's compression.

    Parameters
    ----------
    section : Section
        The launcher's; problems go there.
    key : str
        Name of the table in it.

    Returns
    -------
    Compression or None
        None when something is wrong.
    """
    if key not in section:
        section.know(key)
        section.problem(
            f"is missing: press a ball on a kitchen scale and write [launcher.{key}] with {_EXAMPLE}", key
        )
        return None
    inside = section.section(key)
    before = len(inside.problems)
    bounds = {"least": 0.0, "most": 0.95, "allowed": "0 to 95 %"}
    loss = inside.quantity("loss", "fraction", "30 %", 0.0, **bounds)
    law: Compression | None = None
    try:
        if "closing" in inside:
            readings = Readings(_pairs(inside, "closing"), _pairs(inside, "opening"), loss)
            law = None if len(inside.problems) > before else fit_compression(readings)
        elif "modulus" in inside:
            law = _from_material(inside, loss)
        else:
            law = _from_one(inside, loss)
    except BadInput as bad:
        inside.problem(bad.problem, (bad.field or "").rpartition(".")[2] or None)
    inside.finish()
    return None if len(inside.problems) > before else law


def _from_material(inside: Section, loss: float) -> Compression | None:
    modulus = inside.quantity("modulus", "pressure", "0.3 MPa", above=0.0, allowed="greater than zero")
    poisson = inside.number("poisson", example="0.2", least=0.0, most=0.5, allowed="0 to 0.5")
    diameter = inside.quantity("diameter", "length", "178 mm", above=0.0, allowed="greater than zero")
    if math.isnan(modulus + poisson + diameter):
        return None
    return hertz_from_modulus(diameter / 2, modulus, poisson, loss)


def _from_one(inside: Section, loss: float) -> Compression | None:
    if "squeeze" not in inside and "force" not in inside:
        inside.problem(f"is empty; write {_EXAMPLE}")
        return None
    squeeze = inside.quantity("squeeze", "length", "20 mm", above=0.0, allowed="greater than zero")
    force = _newtons(inside, "force", inside.raw("force"))
    if math.isnan(squeeze + force):
        return None
    # the law between is Hertz's guess, whoever read the one point
    return Hertz(force / squeeze**1.5, loss)


def _pairs(inside: Section, key: str) -> tuple[tuple[float, float], ...]:
    rows = inside.raw(key)
    if rows is None:
        return ()
    if not isinstance(rows, list) or not all(isinstance(row, list) and len(row) == 2 for row in rows):
        inside.problem(f"is not a list of pairs of squeeze and force; write {_EXAMPLE}", key)
        return ()
    return tuple(
        (inside.parse(key, squeeze, "length", least=0.0, allowed="0 or more"), _newtons(inside, key, force))
        for squeeze, force in rows
    )


def _newtons(inside: Section, key: str, typed: object) -> float:
    """Read a force; a kitchen scale shows it as a mass."""
    if typed is None:
        inside.problem(f'is missing; e.g. {key} = "8 kg" as the scale shows it, or "80 N"', key)
        return math.nan
    try:
        return parse_quantity(typed, "mass", key) * STANDARD_GRAVITY
    except BadInput:
        return inside.parse(key, typed, "force", least=0.0, allowed="0 or more")
