"""The kinds of parts that can be made, by name. What they ask is light to load; what makes them is not."""

from __future__ import annotations

import importlib
from dataclasses import replace

from shotwright.base.errors import BadInput
from shotwright.build.part import Field, PartKind

__all__ = [
    "COMMON",
    "FROM_LAUNCHER",
    "KINDS",
    "Field",
    "fields_of",
    "part_kind",
]  # the shells name fields through this door

# Name -> where its `PartKind` stands, in a module that loads no arrays. A new kind is one line here.
KINDS: dict[str, str] = {
    "hub-plate": "shotwright.bench.plate_kinds:HUB_PLATE",
    "wheel-disc": "shotwright.bench.plate_kinds:WHEEL_DISC",
    "hood-plate": "shotwright.bench.plate_kinds:HOOD_PLATE",
    "snail-cam": "shotwright.bench.cam_kind:SNAIL_CAM",
    "spiral-gear": "shotwright.bench.gear_kind:SPIRAL_GEAR",
}

# Kind of part -> kind of launcher whose file holds numbers of it; see `shotwright.bench.part_prefill`.
FROM_LAUNCHER: dict[str, str] = {
    "hood-plate": "wheel and hood",
    "snail-cam": "spring piston",
    "spiral-gear": "spring piston",
}

# Asked of every kind.
COMMON: tuple[Field, ...] = (
    Field("material", "Material", "text", "", "In your own words; printed on the drawing."),
    Field("thickness", "Thickness", "length", "6 mm", "Of the material.", above=0.0, most=0.2),
    Field("kerf", "Kerf", "length", "0 mm", "Width of the cut that the outline allows for.", least=0.0),
)


def part_kind(key: str) -> PartKind:
    """Return a kind of part.

    Parameters
    ----------
    key : str
        One of `KINDS`.

    Returns
    -------
    PartKind
        Loaded.

    Raises
    ------
    BadInput
        No such kind.
    """
    if key not in KINDS:
        raise BadInput(f"{key!r} is no kind of part; known: {', '.join(KINDS)}", field="kind")
    module, _, name = KINDS[key].partition(":")
    kind = getattr(importlib.import_module(module), name)
    assert isinstance(kind, PartKind)
    return kind


def fields_of(kind: PartKind) -> tuple[Field, ...]:
    """Everything that is asked of a kind: its own fields, then those of every part."""
    return (
        *kind.fields,
        *(replace(one, default=kind.thickness) if one.key == "thickness" else one for one in COMMON),
    )
