"""Which laws the loops over lanes know, and the numbers they need of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from shotwright.flight import drag as drags
from shotwright.flight import lift as lifts
from shotwright.flight.laws import CONSTANT, PackedLaw

# accuracy of the place [m]: the parts of the two bounds of a step that give it
STEPS = {1e-6: (0.41, 0.85), 1e-9: (0.195, 0.34)}


@dataclass(frozen=True, slots=True)
class LaneLaws:
    """The laws of a ball as the loops take them.

    Parameters
    ----------
    drag : str
        ``"steady"``: a coefficient that does not change; ``"falling"``: `drag.drag_crisis`; or
        the name of a smooth-sphere law.
    law : callable or None
        Coefficient of the Reynolds number, where it changes.
    drag_part : float
        What multiplies the drag law. [-]
    lift_part, p, q : float
        The lift law n S / (p + q S), n its `lift_part`. [-]
    """

    drag: str
    law: Callable[[float], float] | None
    drag_part: float
    lift_part: float
    p: float
    q: float


_DRAGS: dict[int, tuple[str, Callable[[float], float]]] = {
    drags.DRAG_CRISIS: ("falling", drags.drag_crisis),
    drags.HAIDER_LEVENSPIEL: ("haider-levenspiel", drags.haider_levenspiel),
    drags.BROWN_LAWLER: ("brown-lawler", drags.brown_lawler),
    drags.CLIFT_GAUVIN: ("clift-gauvin", drags.clift_gauvin),
}
# n, p, q
_LIFTS = {
    lifts.NONE: (0.0, 1.0, 0.0),
    lifts.CROSS: (1.0, 0.4, 2.32),
    lifts.NATHAN: (1.120, 0.583, 2.333),
    lifts.STEPANEK: (1.0, 0.981, 2.022),
}


def lane_laws(drag: PackedLaw, lift: PackedLaw) -> LaneLaws | None:
    """Return the laws as the loops take them.

    Parameters
    ----------
    drag, lift : PackedLaw
        As a flight model has them.

    Returns
    -------
    LaneLaws or None
        None for laws that the loops don't know.
    """
    if lift.code == CONSTANT:
        n, p, q = lift.constant, 0.0, 1.0
    elif lift.code in _LIFTS:
        n, p, q = _LIFTS[lift.code]
    else:
        return None
    if drag.code == CONSTANT:
        return LaneLaws("steady", None, drag.scale * drag.constant, lift.scale * n, p, q)
    if drag.code not in _DRAGS:
        return None
    name, law = _DRAGS[drag.code]
    return LaneLaws(name, law, drag.scale, lift.scale * n, p, q)
