"""Choose what a crew leaves open: the longest turn that still lets the rack fly back over the gear."""

from __future__ import annotations

import math

from shotwright.base.errors import NoAnswer
from shotwright.build.pitch_curve import scale_for_angle
from shotwright.build.pitch_law import RadiusLaw
from shotwright.build.spiral_gear import ToothForm

RUN_ON = math.radians(10)  # by which the gear turns on while the rack flies back
LONGEST, SHORTEST = math.radians(300), math.radians(90)
_SPARE = 0.4  # modules of height between the first tooth and the rack that flies back over it
_MARGIN = math.radians(4)  # the first tooth's corner stands a little before the stroke's start
_RECESS = 0.72  # pitches over which the last tooth drives beyond the pitch point, about


def turn_with_room(law: RadiusLaw, form: ToothForm, inner: float) -> float:
    """Longest turn that leaves a hub its room: radii are inverse to the turn.

    Parameters
    ----------
    law : RadiusLaw
        Shape of the radius.
    form : ToothForm
        The teeth.
    inner : float
        Radius that the hub and its wall need. [m]

    Returns
    -------
    float
        [rad]
    """
    one = scale_for_angle(law, 1.0)
    g = float(law.shape([0.0, law.curve.stroke])[0].min())
    root = (form.rack.dedendum - form.shift + 0.25) * form.module
    # The last root lies up to half a pitch beyond the stroke, where the radius has gone on falling.
    slope = max(0.0, -float(law.shape(law.curve.stroke)[1]))
    low = one * (g - 0.5 * form.pitch * slope)
    return low / (inner + root)


def longest_turn(law: RadiusLaw, form: ToothForm) -> float:
    """Longest turn that leaves the flying rack room, from the radii alone.

    When the last tooth's tip, at the radius r_e + h, sinks below the rack's last tip, at the height r_e - h,
    it lets go. The gear's first tooth, at the radius r_0 + h, must then stand low enough on the other side
    for the rack's end to pass over it, although the gear turns on by 10 degrees meanwhile.

    Parameters
    ----------
    law : RadiusLaw
        Shape of the radius.
    form : ToothForm
        The teeth.

    Returns
    -------
    float
        Between 90 and 300 degrees. [rad]

    Raises
    ------
    NoAnswer
        Not even 90 degrees leave room.

    Notes
    -----
    A choice, not a proof: the drawn outlines are flown past each other afterwards.
    """
    one = scale_for_angle(law, 1.0)
    up = (form.rack.addendum + form.shift) * form.module
    down = (form.rack.addendum - form.shift) * form.module
    stroke = law.curve.stroke
    shape = [float(g) for g in law.shape([0.0, stroke])[0]]

    def room(angle: float) -> bool:
        start, end = (one / angle * g for g in shape)
        low = end - down
        if low <= 0:
            return False
        works = _RECESS * form.pitch * math.cos(form.rack.pressure_angle) ** 2
        let_go = angle + math.acos(low / (end + up)) - math.atan2(works, end)
        behind = 2 * math.pi - let_go - RUN_ON - _MARGIN
        reach = start + up
        if behind <= 0:
            return False
        if behind < math.pi / 2 and stroke > reach * math.sin(behind):
            return reach * math.cos(behind) < low - _SPARE * form.module
        return True

    if room(LONGEST):
        return LONGEST
    if not room(SHORTEST):
        raise NoAnswer(
            "the rack would strike the gear's first tooth on its way back even after a turn of 90 degrees; "
            "take more preload, a soft start or a smaller module"
        )
    low, high = SHORTEST, LONGEST
    while high - low > 1e-4:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if room(middle) else (low, middle)
    return low
