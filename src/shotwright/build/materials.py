"""Materials that parts are cut or printed from: what to count on before the crew tests its own sheet."""

from __future__ import annotations

from dataclasses import dataclass

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result

METAL, BRITTLE = 4.0, 8.0  # least factor of safety on stress: common practice, no source


@dataclass(frozen=True, slots=True)
class Material(Result):
    """A material with typical values.

    Parameters
    ----------
    name : str
        In words.
    density : float
        [kg/m^3]
    strength : float
        Stress at which it yields, or breaks where it does not yield. [Pa]
    poisson : float
        Poisson's ratio. [-]
    factor : float
        Least factor of safety on stress. [-]
    source : str
        Of the strength.
    caution : str
        What it is weak in.
    """

    name: str
    density: float
    strength: float
    poisson: float
    factor: float
    source: str
    caution: str


_NONE = "typical, no source"
_MEMORY = "from memory"
_LAYERS = "Printed parts part between the layers first: lay the layers across no tooth and no pull."
_ALL = (
    Material(
        "birch plywood", 680, 30e6, 0.3, BRITTLE, _NONE,
        "Plywood: teeth across the face grain are weaker, and edges crush; seal it against damp.",
    ),
    Material("MDF", 750, 15e6, 0.3, BRITTLE, _NONE, "MDF: edges split and crush; not for teeth that work."),
    Material(
        "acrylic", 1190, 70e6, 0.37, BRITTLE, "makers' sheets say 60.7 to 75 MPa, and about 10 MPa for long",
        "Acrylic breaks without warning into sharp pieces, and cracks from solvents and at sharp corners.",
    ),
    Material(
        "polycarbonate", 1200, 62e6, 0.37, METAL, _MEMORY,
        "Polycarbonate cracks from solvents and thread locker; most laser cutters must not cut it.",
    ),
    Material(
        "PLA", 1240, 25e6, 0.35, BRITTLE, "across the layers, 20 to 35 MPa, from memory",
        f"{_LAYERS} PLA creeps under a standing load and softens near 60 °C.",
    ),
    Material("PETG", 1270, 20e6, 0.38, BRITTLE, f"across the layers, {_NONE}", _LAYERS),
    Material("acetal", 1410, 60e6, 0.35, METAL, _NONE, "Acetal: gives off harmful gas when laser cut."),
    Material("aluminium", 2700, 276e6, 0.33, METAL, f"6061-T6, {_MEMORY}", ""),
    Material("steel", 7850, 235e6, 0.3, METAL, f"plain structural steel, {_NONE}", ""),
)  # fmt: skip
MATERIALS: dict[str, Material] = {one.name: one for one in _ALL}


def material_named(words: str) -> Material:
    """Return the material whose name stands in what a person typed, e.g. "6 mm birch plywood".

    Parameters
    ----------
    words : str
        As typed.

    Returns
    -------
    Material
        With its source.

    Raises
    ------
    BadInput
        None of the names is in it.

    Examples
    --------
    >>> material_named("Birch plywood, glued").name
    'birch plywood'
    """
    typed = words.lower().replace("aluminum", "aluminium").replace("plexiglass", "acrylic")
    for name, one in MATERIALS.items():
        if name.lower() in typed:
            return one
    if "plywood" in typed or "ply" in typed.split():
        return MATERIALS["birch plywood"]
    raise BadInput(
        f"{words!r} is not in the table of strengths; known: {', '.join(MATERIALS)}", field="material"
    )
