r"""Teeth along any pitch curve, conjugate to one imaginary rack cutter: the exact envelope, no search.

The cutter's pitch line rolls on the pitch curve; at the arc s it touches at P(s) with the tangent t and the
normal n, out of the body. A straight flank of the cutter crosses its pitch line at s_j. While it moves with
the cutter, every point of it turns about P, the instant centre. A flank touches its envelope where its
normal passes through the instant centre, so the contact is the foot of the perpendicular from P on the
flank. In the frame (t, n) at P the flank passes through (s_j - s, 0) in the direction (-q sin a, cos a),
with q = -1 for the side of a tooth at smaller s and q = +1 for the other, and the foot is

.. math:: C(s) = P + (s_j - s) \cos a \,(\cos a \, t + q \sin a \, n)                        (1)

With eta = q (s_j - s) its height over the cutter's pitch line is eta sin a cos a, and from
dt/ds = -kappa n, dn/ds = kappa t one has

.. math:: dC/d\eta = (\sin a + \eta \kappa \cos a)\,(-q \sin a\, t + \cos a\, n)              (2)

The flank turns back, i.e. the cutter undercuts, below eta = -tan(a)/kappa: where the radius is rho, a depth
of rho sin^2(a) below the pitch line, the rule of z = 2 rho/m teeth. On a circle (1) is the involute of the
base circle rho cos a.

The rounded corner of the cutter's tip, a circle of radius f about Q, leaves the fillet; its normals pass
through Q and that of the contact through P as well:

.. math:: E = Q + f (Q - P)/|Q - P|                                                            (3)

The cutter's flat tip leaves the curve parallel to the pitch curve at the depth of the root.

One cutter for both makes gear and rack conjugate: at each s both touch it at the same foot (1). Where a
pitch curve is hollow a real cutter would take off too much; (1) still gives the two bodies that mesh.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.errors import NoAnswer
from shotwright.build.pitch_curve import Frame
from shotwright.build.rack_cutter import FINE, Cutter, Fineness

FloatArray = NDArray[np.float64]
CurveOf = Callable[[ArrayLike], Frame]
SMALL, LARGE = -1, 1  # q: the side of a tooth at smaller and at larger s
_NEWTON = 12
_SLIGHT = 2e-6  # m; an undercut that leaves less than this between fillet and flank crosses neither


@dataclass(frozen=True, slots=True, eq=False)
class Side:
    """One side of every tooth of a body, n teeth.

    Parameters
    ----------
    q : int
        SMALL or LARGE.
    crossing : ndarray, shape (n,)
        s_j. [m]
    top : ndarray, shape (n,)
        eta where the flank meets the tip. [m]
    bottom : ndarray, shape (n,)
        eta where it ends below: the cutter's straight flank, or where the undercut begins. [m]
    undercut : ndarray of bool, shape (n,)
        The cutter cuts into the flank.
    points : ndarray, shape (n, k, 2)
        From the root up to the tip's corner. [m]
    fillet_points : int
        How many of the k belong to the fillet.
    """

    q: int
    crossing: FloatArray
    top: FloatArray
    bottom: FloatArray
    undercut: NDArray[np.bool_]
    points: FloatArray
    fillet_points: int


def flank_point(frame: Frame, eta: FloatArray, q: int, a: float) -> FloatArray:
    """Point (1) of a flank.

    Parameters
    ----------
    frame : Frame
        Of the pitch curve at s = s_j - q eta.
    eta : ndarray, shape (...)
        Arc from the crossing, positive towards the tip. [m]
    q : int
        SMALL or LARGE.
    a : float
        Pressure angle. [rad]

    Returns
    -------
    ndarray, shape (..., 2)
        [m]
    """
    foot = math.cos(a) * frame.along + q * math.sin(a) * frame.out
    return np.asarray(frame.point + (q * math.cos(a)) * eta[..., None] * foot)


def fillet_point(frame: Frame, run: FloatArray, q: int, cutter: Cutter) -> FloatArray:
    """Point (3) of a fillet.

    Parameters
    ----------
    frame : Frame
        Of the pitch curve at s = s_c + q run, where s_c is that of the corner's centre.
    run : ndarray, shape (...)
        Arc from where the cutter's flat tip ends, 0 or more. [m]
    q : int
        SMALL or LARGE.
    cutter : Cutter
        That makes it.

    Returns
    -------
    ndarray, shape (..., 2)
        [m]
    """
    down = cutter.dedendum - cutter.fillet
    away = -(q * run)[..., None] * frame.along - down * frame.out
    stretch = 1 + cutter.fillet / np.hypot(run, down)
    return np.asarray(frame.point + stretch[..., None] * away)


def tip_reach(curve: CurveOf, crossing: FloatArray, q: int, cutter: Cutter) -> FloatArray:
    """Eta at which flanks meet the tip, the curve parallel to the pitch curve at the addendum.

    Newton's steps in eta and in the arc of the tip's curve together.

    Parameters
    ----------
    curve : callable
        Frame of the pitch curve at arcs.
    crossing : ndarray, shape (n,)
        Arcs s_j. [m]
    q : int
        SMALL or LARGE.
    cutter : Cutter
        That makes them.

    Returns
    -------
    ndarray, shape (n,)
        It is the arc over which the flank works on its own side of the pitch point. [m]
    """
    a, h = cutter.pressure_angle, cutter.addendum
    eta = np.full_like(crossing, h * cutter.reach)
    arc = crossing - q * eta * math.sin(a) ** 2
    for _ in range(_NEWTON):
        at, tip = curve(crossing - q * eta), curve(arc)
        miss = flank_point(at, eta, q, a) - tip.point - h * tip.out
        up = (math.sin(a) + eta * at.curvature * math.cos(a))[:, None] * (
            -q * math.sin(a) * at.along + math.cos(a) * at.out
        )
        on = -(1 + h * tip.curvature)[:, None] * tip.along
        size = up[:, 0] * on[:, 1] - up[:, 1] * on[:, 0]
        d_eta = (miss[:, 0] * on[:, 1] - miss[:, 1] * on[:, 0]) / size
        d_arc = (up[:, 0] * miss[:, 1] - up[:, 1] * miss[:, 0]) / size
        eta, arc = eta - d_eta, arc - d_arc
        if max(np.abs(d_eta).max(), np.abs(d_arc).max()) < 1e-10:
            break
    return np.minimum(eta, cutter.most)


def tooth_sides(curve: CurveOf, crossing: FloatArray, q: int, cutter: Cutter, fineness: Fineness) -> Side:
    """One side of every tooth, fillet and flank.

    Parameters
    ----------
    curve : callable
        Frame of the pitch curve at arcs.
    crossing : ndarray, shape (n,)
        Arcs s_j at which the flanks cross the pitch curve. [m]
    q : int
        SMALL or LARGE.
    cutter : Cutter
        That makes them.
    fineness : Fineness
        How many points.

    Returns
    -------
    Side
        Points and limits.

    Raises
    ------
    NoAnswer
        The undercut takes a whole flank.
    """
    a = cutter.pressure_angle
    top = tip_reach(curve, crossing, q, cutter)
    bottom = lowest_eta(curve, crossing, q, cutter)
    undercut = np.asarray(bottom > cutter.lowest)
    eta = bottom[:, None] + (top - bottom)[:, None] * np.linspace(0.0, 1.0, fineness.flank)
    flank = flank_point(curve(crossing[:, None] - q * eta), eta, q, a)
    # Points crowd towards the flank, where a slight undercut crosses it.
    crowd = 1 - (1 - np.linspace(0.0, 1.0, fineness.fillet)) ** 2
    run = crowd * (cutter.dedendum - cutter.fillet) / math.tan(a)
    run = np.broadcast_to(run, (len(crossing), fineness.fillet))
    centre = crossing + q * cutter.corner_offset
    fillet = fillet_point(curve(centre[:, None] + q * run), run, q, cutter)
    for i in np.flatnonzero(undercut | _folds(curve, centre + q * run[:, -1], cutter)):
        bottom[i] = _trim(fillet[i], flank[i], eta[i], bool(undercut[i]))
    points = np.concatenate([fillet, flank[:, 1:]], axis=1)
    return Side(q, crossing, top, bottom, undercut, points, fineness.fillet)


def lowest_eta(curve: CurveOf, crossing: FloatArray, q: int, cutter: Cutter) -> FloatArray:
    """Eta at which each flank turns back, or where the cutter's straight flank ends when it does not.

    Parameters
    ----------
    curve : callable
        Frame of the pitch curve at arcs.
    crossing : ndarray, shape (n,)
        Arcs s_j. [m]
    q : int
        SMALL or LARGE.
    cutter : Cutter
        That makes them.

    Returns
    -------
    ndarray, shape (n,)
        [m]
    """
    a = cutter.pressure_angle
    eta = np.full_like(crossing, cutter.lowest)
    for _ in range(_NEWTON):
        bulge = np.maximum(curve(crossing - q * eta).curvature, 0.0)
        with np.errstate(divide="ignore"):
            new = np.maximum(-math.tan(a) / bulge, cutter.lowest)
        moved, eta = float(np.abs(new - eta).max()), new
        if moved < 1e-12:
            break
    return eta


def _folds(curve: CurveOf, arc: FloatArray, cutter: Cutter) -> NDArray[np.bool_]:
    """Whether the fillet of a hollow body turns back before it meets the flank, at these arcs.

    The contact wanders round the cutter's corner as the line from P to Q turns, and the body turns the other
    way below it.
    """
    down = cutter.dedendum - cutter.fillet
    far = down / math.sin(cutter.pressure_angle)
    wander = cutter.fillet * down / far**2
    return np.asarray(wander + (far + cutter.fillet) * curve(arc).curvature < 0)


def _trim(fillet: FloatArray, flank: FloatArray, eta: FloatArray, undercut: bool) -> float:
    """Cut fillet and flank where they cross, in place; return eta there.

    What lies beyond the crossing on either curve is moved onto it, so that the arrays keep their shape.
    """
    a0, da = fillet[:-1, None], np.diff(fillet, axis=0)[:, None]
    b0, db = flank[None, :-1], np.diff(flank, axis=0)[None]
    cross = da[..., 0] * db[..., 1] - da[..., 1] * db[..., 0]
    gap = b0 - a0
    with np.errstate(divide="ignore", invalid="ignore"):
        u = (gap[..., 0] * db[..., 1] - gap[..., 1] * db[..., 0]) / cross
        v = (gap[..., 0] * da[..., 1] - gap[..., 1] * da[..., 0]) / cross
    hits = np.argwhere((u >= 0) & (u <= 1) & (v >= 0) & (v <= 1))
    if len(hits) == 0:
        if not undercut or np.hypot(*(fillet[-1] - flank[0])) < _SLIGHT:
            return float(eta[0])
        raise NoAnswer(
            "the undercut takes a whole flank; take a smaller module, a larger turn or a profile shift"
        )
    i, j = hits[np.argmax(hits[:, 1])]
    at = fillet[i] + u[i, j] * (fillet[i + 1] - fillet[i])
    height = eta[j] + v[i, j] * (eta[j + 1] - eta[j])
    fillet[i + 1 :] = at
    flank[: j + 1] = at
    return float(height)


@dataclass(frozen=True, slots=True, eq=False)
class Teeth:
    """Every tooth of a body.

    Parameters
    ----------
    small, large : Side
        The two sides of the teeth.
    tip_thickness : ndarray, shape (n,)
        Between the tip's corners. [m]
    line : ndarray, shape (k, 2)
        From the middle of the space before the first tooth to the middle of that behind the last. [m]
    """

    small: Side
    large: Side
    tip_thickness: FloatArray
    line: FloatArray


def cut_teeth(
    curve: CurveOf, small: FloatArray, large: FloatArray, cutter: Cutter, fineness: Fineness = FINE
) -> Teeth:
    """Cut teeth whose flanks cross the pitch curve at these arcs.

    Parameters
    ----------
    curve : callable
        Frame of the pitch curve at arcs.
    small, large : ndarray, shape (n,)
        Crossings of the two sides, each tooth from small to large. [m]
    cutter : Cutter
        That makes them.
    fineness : Fineness
        How many points.

    Returns
    -------
    Teeth
        Sides, thickness at the tip, and the line in order of s.

    Raises
    ------
    NoAnswer
        Teeth that come to a point below their tip.
    """
    front = tooth_sides(curve, small, SMALL, cutter, fineness)
    back = tooth_sides(curve, large, LARGE, cutter, fineness)
    chord = back.points[:, -1] - front.points[:, -1]
    thickness = (chord * curve(0.5 * (front.crossing + back.crossing)).along).sum(axis=1)
    if (thickness <= 0).any():
        raise NoAnswer(
            f"tooth {int(np.argmin(thickness)) + 1} comes to a point below its tip; take a smaller module, a "
            "smaller profile shift or less backlash"
        )
    left = front.crossing - cutter.corner_offset
    right = back.crossing + cutter.corner_offset
    pitch = np.diff(front.crossing).mean() if len(small) > 1 else 4 * (right[0] - left[0])
    lands = np.concatenate([[left[0] - 0.5 * (pitch - right[0] + left[0])], right])
    ends = np.concatenate([left, [right[-1] + 0.5 * (pitch - right[-1] + left[-1])]])
    root_at = curve(lands[:, None] + (ends - lands)[:, None] * np.linspace(0.0, 1.0, fineness.root))
    root = root_at.point - cutter.dedendum * root_at.out
    teeth = np.concatenate([root[:-1], front.points, back.points[:, ::-1]], axis=1)
    line = np.concatenate([teeth.reshape(-1, 2), root[-1]])
    return Teeth(front, back, thickness, without_repeats(line))


def without_repeats(points: FloatArray, least: float = 2e-9) -> FloatArray:
    """Leave out points nearer than `least` [m] to the one before."""
    keep = np.concatenate([[True], np.hypot(*np.diff(points, axis=0).T) > least])
    return np.asarray(points[keep])
