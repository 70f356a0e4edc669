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
_UNIT = r"(?:(?!\s(?:and|with)\b)[^,;()\d])*"
_QUANTITY = rf"{_JOINT}({_NUMBER}{_UNIT})"


def set_amounts(trial: Trial, described: Described, ball: Ball) -> dict[str, float]:
    """Read the amounts that a trial was set to: from its words, its elevation and its release height.

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
        As :func:`read_amounts`.
    """
    found = read_amounts(trial.setting, described, ball, f"trial {trial.name!r}")
    if trial.elevation is not None:
        found["elevation"] = trial.elevation
    if trial.release_height is not None:
        found["release_height"] = trial.release_height
    return found


def read_amounts(
    text: str, described: Described, ball: Ball, where: str, *, strict: bool = False
) -> dict[str, float]:
    """Find names of a launcher's amounts in a text, each with a quantity behind it; other words pass.

    Parameters
    ----------
    text : str
        ``"stroke 85 mm, spring notch 4"``.
    described : Described
        The launcher.
    ball : Ball
        The ball.
    where : str
        Named in messages.
    strict : bool
        Refuse a number that belongs to no amount.

    Returns
    -------
    dict of str to float
        ``{"stroke": 0.085}``. [SI]

    Raises
    ------
    BadInput
        An amount without a unit, with one of another kind, or out of its range; with `strict`, a number
        left over.
    """
    known = {one.name: one for one in described.inputs(ball) if one.role != "ball"}
    found: dict[str, float] = {}
    rest = text
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
                f"{bad.problem} (read from {text!r}; write e.g. {one.label} {example})",
                field=f"{where}, {one.label}",
            ) from bad
        if not one.low <= value <= one.high:
            raise BadInput(f"{typed} is out of the model's range", field=f"{where}, {one.label}")
        found[name] = value
        rest = rest[: match.start()] + "," + rest[match.end() :]
    left = [part.strip() for part in re.split("[,;]", rest) if re.search(r"\d", part)]
    if strict and left:
        labels = ", ".join(one.label for one in described.settings) or "none"
        raise BadInput(f"{left[0]!r} is no amount of the launcher; its settings: {labels}", field=where)
    return found
