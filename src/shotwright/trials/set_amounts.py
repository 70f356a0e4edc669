"""What a trial was set to, read from the crew's own words."""

from __future__ import annotations

import re

from shotwright.base.errors import BadInput
from shotwright.base.quantities import parse_quantity
from shotwright.game.records import Ball
from shotwright.launcher.description import Described
from shotwright.launcher.reading import UNITS
from shotwright.trials.records import Trial

_JOINT = r"\s*(?:=|:|\bat\b|\bof\b|\bto\b)?\s*"
_NUMBER = r"[-+−]?\d+(?:[.,]\d+)?"
_QUANTITY = rf"{_JOINT}({_NUMBER}\s*[^\s,;()\d][^,;()\d]*|{_NUMBER})"


def set_amounts(trial: Trial, described: Described, ball: Ball) -> dict[str, float]:
    """Read the amounts that a trial was set to.

    Its setting is searched for names of the launcher's amounts, each with a quantity behind it; other words
    pass. The trial's own elevation and release height count too.

    Parameters
    ----------
    trial : Trial
        The trial.
    described : Described
        The launcher.
    ball : Ball
        The ball.

    Returns
    -------
    dict of str to float
        Amounts by name. [SI]

    Raises
    ------
    BadInput
        An amount without a unit, with one of another kind, or out of its range.

    Examples
    --------
    A setting of ``"stroke 85 mm, spring notch 4"`` gives ``{"stroke": 0.085}``.
    """
    known = {one.name: one for one in described.inputs(ball) if one.role != "ball"}
    found: dict[str, float] = {}
    rest = trial.setting
    for name in sorted(known, key=len, reverse=True):  # "spring mass" before "mass"
        words = r"[\s_-]+".join(map(re.escape, name.split("_")))
        match = re.search(rf"(?<![\w-]){words}(?![\w-]){_QUANTITY}", rest, re.I)
        if not match:
            continue
        one = known[name]
        kind, example = UNITS[one.unit]
        typed = match[1].strip().rstrip(".")
        try:
            value = parse_quantity(typed, kind, one.label)
        except BadInput as bad:
            raise BadInput(
                f"{bad.problem} (read from the setting {trial.setting!r}; e.g. {one.label} {example})",
                field=f"trial {trial.name!r}, {one.label}",
            ) from bad
        if not one.low <= value <= one.high:
            raise BadInput(f"{typed} is out of the model's range", field=f"trial {trial.name!r}, {one.label}")
        found[name] = value
        rest = rest[: match.start()] + "," + rest[match.end() :]
    if trial.elevation is not None:
        found["elevation"] = trial.elevation
    if trial.release_height is not None:
        found["release_height"] = trial.release_height
    return found
