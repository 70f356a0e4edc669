"""A drop test: from drop and rebound heights to the coefficient of restitution with its interval."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate, Estimated, NotEstimated, in_words
from shotwright.base.plain import Result
from shotwright.flight.drop_test import drop_restitution, drop_speed
from shotwright.flight.model import FlightModel

FloatArray = NDArray[np.float64]

POINTS = ("bottom", "centre", "top")
_FEW = 3  # drops below which an interval from scatter alone is wider than of use
_APART = 1.25  # ratio of drop heights from which they are no longer one test


@dataclass(frozen=True, slots=True)
class Drop(Result):
    """One drop.

    Parameters
    ----------
    dropped_m, rebound_m : float
        Ways that the ball fell and rose, the same point of the ball from floor to top.
    impact_speed_m_s : float
        Speed at the floor.
    restitution : float
        Corrected for the air where that was asked for.
    restitution_without_air : float
        Root of rebound over drop.
    """

    dropped_m: float
    rebound_m: float
    impact_speed_m_s: float
    restitution: float
    restitution_without_air: float


@dataclass(frozen=True, slots=True)
class DropTest(Result):
    """What a drop test shows.

    Parameters
    ----------
    restitution : Estimate or NotEstimated
        Mean coefficient of restitution e_n with its 95 % interval.
    mean : float
        The mean by itself.
    sd : float, optional
        Standard deviation from drop to drop; None for a single drop.
    impact_speed_m_s : float
        Mean speed at the floor, for which the coefficient holds.
    drops : tuple of Drop
        Each drop.
    air : bool
        Whether the heights were corrected for the air.
    one_cm : float
        What a rebound height read 1 cm too high adds to the coefficient.
    words : tuple of str
        The same in plain sentences.
    """

    restitution: Estimated
    mean: float
    sd: float | None
    impact_speed_m_s: float
    drops: tuple[Drop, ...]
    air: bool
    one_cm: float
    words: tuple[str, ...]


def analyse_drops(
    dropped: ArrayLike,
    rebounded: ArrayLike,
    model: FlightModel,
    *,
    air: bool = True,
    height_sd: float | None = None,
) -> DropTest:
    r"""Coefficient of restitution from drops on one surface.

    .. math:: \bar e \pm t_{0.975,\, n-1} \, s_e / \sqrt n

    Parameters
    ----------
    dropped, rebounded : array_like, shape (n,)
        Ways that the ball fell and rose, both of the same point of the ball. [m]
    model : FlightModel
        Ball and air; with `air` false only gravity counts.
    air : bool
        Correct for drag and buoyancy.
    height_sd : float, optional
        Standard deviation of reading one height. With a single drop it gives the interval; with more, the
        scatter holds it already. [m]

    Returns
    -------
    DropTest
        Estimate, drops and words.

    Raises
    ------
    BadInput
        No drops, heights that are not positive, a rebound as high as its drop or higher.

    Notes
    -----
    The interval is Student's; it covers scatter from drop to drop, not a tape that is held wrong each time.
    e_n falls with the speed of impact, so it holds for this drop height.
    """
    down, up = (np.atleast_1d(np.asarray(one, dtype=float)) for one in (dropped, rebounded))
    _check(down, up)
    naive = np.sqrt(up / down)
    e = drop_restitution(model, down, up) if air else naive
    speed = drop_speed(model, down) if air else np.sqrt(2 * model.gravity * down)
    drops = tuple(Drop(*(float(v) for v in row)) for row in zip(down, up, speed, e, naive, strict=True))
    mean, n = float(e.mean()), len(e)
    sd = float(e.std(ddof=1)) if n > 1 else None
    slope = e / (2 * up)  # de/dh, exact without air
    result = DropTest(
        restitution=_interval(e, down, up, height_sd),
        mean=mean,
        sd=sd,
        impact_speed_m_s=float(speed.mean()),
        drops=drops,
        air=air,
        one_cm=float(slope.mean()) * 0.01,
        words=(),
    )
    return replace(result, words=_words(result))


def level_way(height: float, point: str, diameter: float | None) -> float:
    """Way that the ball falls or rises when the height of one of its points over the floor was read.

    Parameters
    ----------
    height : float
        As read. [m]
    point : {"bottom", "centre", "top"}
        Which point of the ball it is the height of.
    diameter : float, optional
        Of the ball; not needed for its bottom. [m]

    Returns
    -------
    float
        [m]

    Raises
    ------
    BadInput
        A word that is no point of a ball; no diameter where one is needed.

    Examples
    --------
    A ball 0.24 m wide let go with its bottom 1.8 m up, which rises until its top is 1.2 m up:

    >>> round(math.sqrt(level_way(1.2, "top", 0.24) / level_way(1.8, "bottom", 0.24)), 6)
    0.730297
    """
    if point not in POINTS:
        raise BadInput(f"{point!r} is not a point of the ball; one of {', '.join(POINTS)}", field="point")
    if point == "bottom":
        return height
    if diameter is None:
        raise BadInput(f"the height of the ball's {point} needs its diameter: --diameter 24cm", field="ball")
    return height - diameter * (0.5 if point == "centre" else 1.0)


def _check(down: FloatArray, up: FloatArray) -> None:
    if len(down) == 0 or len(down) != len(up):
        raise BadInput(
            f"{len(down)} drop heights and {len(up)} rebound heights; each drop has one of both",
            field="drops",
        )
    for number, (high, back) in enumerate(zip(down.tolist(), up.tolist(), strict=True), 1):
        if not (math.isfinite(high) and math.isfinite(back) and high > 0 and back > 0):
            raise BadInput(
                f"{high:g} m down and {back:g} m up; both must be greater than zero, from the same point of "
                "the ball",
                field=f"drop {number}",
            )
        if back >= high:
            raise BadInput(
                f"the ball rose {back:g} m after a drop of {high:g} m; write the drop first, then the "
                "rebound, and measure both at the same point of the ball",
                field=f"drop {number}",
            )


def _interval(e: FloatArray, down: FloatArray, up: FloatArray, height_sd: float | None) -> Estimated:
    from scipy.stats import norm, t

    mean, n = float(e.mean()), len(e)
    if n > 1:
        half = float(t.ppf(0.975, n - 1)) * float(e.std(ddof=1)) / math.sqrt(n)
        if half > 0:
            return Estimate(mean, mean - half, mean + half, method="Student's t over drops")
        if height_sd is None:
            return NotEstimated("all drops gave the same; say how well a height is read: --height-sd 5mm")
    elif height_sd is None:
        return NotEstimated(
            "1 drop shows no scatter; make at least 3, or say how well a height is read: --height-sd 5mm"
        )
    # closed form without air: d ln e = (d ln h - d ln H) / 2
    relative = 0.5 * float(np.mean(np.hypot(height_sd / up, height_sd / down))) / math.sqrt(n)
    half = float(norm.ppf(0.975)) * mean * relative
    return Estimate(mean, mean - half, mean + half, method="reading error of the heights")


def _words(found: DropTest) -> tuple[str, ...]:
    n = len(found.drops)
    times = "1 drop" if n == 1 else f"{n} drops"
    speed = f"{found.impact_speed_m_s:.1f} m/s"
    said = [f"Coefficient of restitution from {times}: {_said(found)}, at an impact of {speed}."]
    said.append("It falls with the speed of impact.")
    naive = float(np.mean([drop.restitution_without_air for drop in found.drops]))
    if found.air:
        said.append(f"Without the correction for air it would be {naive:.3f}.")
    else:
        said.append("Air is left out; name the ball (--diameter, --mass or a project) to correct for it.")
    said.append(f"A rebound read 1 cm too high makes it {found.one_cm:.3f} larger.")
    if n == 2:
        said.append(f"Two drops say little of the scatter; make at least {_FEW}.")
    ways = [drop.dropped_m for drop in found.drops]
    if max(ways) > _APART * min(ways):
        said.append(
            f"The drops were from {min(ways):.2f} to {max(ways):.2f} m: test each height by itself, since "
            "the coefficient changes with the speed."
        )
    return tuple(said)


def _said(found: DropTest) -> str:
    if isinstance(found.restitution, Estimate):
        return in_words(found.restitution)
    return f"{found.mean:.3f}; no interval: {found.restitution.reason}"
