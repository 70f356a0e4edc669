"""Spin of filmed balls from a dot or a stripe on them."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.estimate import NotEstimated
from shotwright.base.quantities import parse_quantity
from shotwright.trials.measure.ball_spin import FOLDS, SpinFromMark, spin_of, turning_sum
from shotwright.trials.measure.ball_tracks import Track
from shotwright.trials.measure.clip import Clip, patches_of


def marked_spins(
    clip: Clip, tracks: Sequence[Track], mark: str, spin_near: str | None
) -> list[SpinFromMark | NotEstimated]:
    """Tell the spin of each track's ball from what is painted on it.

    Parameters
    ----------
    clip : Clip
        The clip.
    tracks : sequence of Track
        Its shots.
    mark : {"", "dot", "stripe"}
        What is painted.
    spin_near : str, optional
        Where the spin is expected, as typed.

    Returns
    -------
    list of SpinFromMark or NotEstimated
        One for each track.

    Raises
    ------
    BadInput
        Neither dot nor stripe.
    """
    if not mark:
        return [NotEstimated("no mark on the ball; paint a dot or a stripe and say so")] * len(tracks)
    if mark not in FOLDS:
        raise BadInput(f"{mark!r} is neither dot nor stripe", field="mark")
    near = parse_quantity(spin_near, "spin", "spin_near") if spin_near else None
    found: list[SpinFromMark | NotEstimated] = []
    for track in tracks:
        if not math.isfinite(track.radius):
            found.append(NotEstimated("a track put by hand alone has no size of the ball"))
            continue
        half = math.ceil(1.1 * track.radius) + 2
        cut = {
            k: (x, y, grey)
            for k, x, y, grey in patches_of(clip, [(p.frame, p.x, p.y) for p in track.points], half)
        }
        seen = [p for p in track.points if p.frame in cut]
        fold = FOLDS[mark]
        sums = [
            turning_sum(cut[p.frame][2], p.x - cut[p.frame][0], p.y - cut[p.frame][1], track.radius, fold)
            for p in seen
        ]
        to_the_right = track.points[-1].x >= track.points[0].x
        try:
            times = np.array([p.time for p in seen])
            found.append(spin_of(times, sums, fold, to_the_right=to_the_right, near=near))
        except NoAnswer as reason:
            found.append(NotEstimated(str(reason)))
    return found
