"""What comes out of a launcher: one row for each shot, all in SI units."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.base.plain import Result

FloatArray = NDArray[np.float64]


class Limit(IntEnum):
    """What set the release: which limit of the mechanism was reached."""

    GRIPPED = 0
    GRIP_RAN_OUT = 1
    A_SURFACE_SLIPS = 2
    LET_GO = 3
    NO_BITE = 4
    PUSHED = 5
    STRUCK = 6
    TIP_SLIPPED = 7
    ARM_STOPPED = 8
    NOT_THROWN = 9


LIMIT_WORDS: Mapping[Limit, str] = {
    Limit.GRIPPED: "every surface grips when the ball leaves; grip and squeeze no longer matter",
    Limit.GRIP_RAN_OUT: "the ball left while a wheel still slipped: contact length and grip set the speed",
    Limit.A_SURFACE_SLIPS: "the surfaces can't all grip: one slips however long the contact is",
    Limit.LET_GO: "the ball lost touch with a wheel before the end of the path",
    Limit.NO_BITE: "the wheels did not draw the ball in",
    Limit.PUSHED: "pushed until the stop: the spring's energy sets the speed",
    Limit.STRUCK: "struck by the moving piston: its energy and the bounce set the speed",
    Limit.TIP_SLIPPED: "the tip slipped on the ball",
    Limit.ARM_STOPPED: "thrown when the arm met its stop",
    Limit.NOT_THROWN: "not thrown: the energy does not carry the ball out",
}


@dataclass(frozen=True, slots=True)
class Releases(Result):
    """Releases of n shots, in the launcher's own frame.

    The frame: x horizontal along the aim line, y to the left, z up, origin on the floor below the nominal
    release point. A shot that is not thrown has speed 0 and limit NOT_THROWN or NO_BITE; nothing is NaN.

    The energy book closes for each shot: energy_taken + motor_work = ball_energy + sum of the losses.

    Parameters
    ----------
    speed : ndarray, shape (n,)
        Of the ball's centre. [m/s]
    elevation : ndarray, shape (n,)
        Above the horizontal. [rad]
    azimuth : ndarray, shape (n,)
        Deviation from the aim line, to the left. [rad]
    spin : ndarray, shape (n, 3)
        Spin vector; backspin is along -y. [rad/s]
    point : ndarray, shape (n, 3)
        Place of the ball's centre at release. [m]
    energy_taken : ndarray, shape (n,)
        What the store (wheels, spring) lost during the shot. [J]
    stored_energy : ndarray, shape (n,)
        What the store held before the shot, all of it: the figure for safety. [J]
    motor_work : ndarray, shape (n,)
        What motors added while the ball was in the launcher. [J]
    ball_energy : ndarray, shape (n,)
        What the ball gained: forward and in spin. [J]
    losses : mapping of str to ndarray, shape (n,)
        Where the rest went, by name: ``"slip at the wheel"``, ``"piston stopped"``. [J]
    rim_speeds : ndarray, shape (n, wheels)
        Surface speed of each driven wheel after the shot; (n, 0) without wheels. [m/s]
    limit : ndarray of uint8, shape (n,)
        `Limit` of each shot.
    notes : tuple of str
        What a person should know about these releases, one sentence each.
    """

    speed: FloatArray
    elevation: FloatArray
    azimuth: FloatArray
    spin: FloatArray
    point: FloatArray
    energy_taken: FloatArray
    stored_energy: FloatArray
    motor_work: FloatArray
    ball_energy: FloatArray
    losses: Mapping[str, FloatArray]
    rim_speeds: FloatArray
    limit: NDArray[np.uint8]
    notes: tuple[str, ...] = ()

    def __len__(self) -> int:
        """Return the number of shots."""
        return len(self.speed)

    def some(self, chosen: NDArray[np.intp]) -> Releases:
        """Return the chosen shots only."""
        rows = {
            one.name: getattr(self, one.name)[chosen]
            for one in dataclasses.fields(self)
            if one.name not in ("losses", "notes")
        }
        losses = {name: part[chosen] for name, part in self.losses.items()}
        return Releases(**rows, losses=losses, notes=self.notes)

    @property
    def backspin(self) -> FloatArray:
        """Spin about the axis of backspin of each shot's own direction. [rad/s], shape (n,)."""
        return np.asarray(self.spin[:, 0] * np.sin(self.azimuth) - self.spin[:, 1] * np.cos(self.azimuth))

    def in_field(
        self, x: ArrayLike, y: ArrayLike, azimuth: ArrayLike
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Place the launcher on the field and aim it.

        Parameters
        ----------
        x, y : float or ndarray, shape (n,)
            Floor point below the nominal release point. [m]
        azimuth : float or ndarray, shape (n,)
            Direction of the aim line. [rad]

        Returns
        -------
        position, velocity, spin : ndarray, shape (n, 3)
            As :func:`shotwright.flight.crossing.fly_to_plane` takes them. [m], [m/s], [rad/s]
        """
        cos_e = np.cos(self.elevation)
        forward = np.column_stack(
            [cos_e * np.cos(self.azimuth), cos_e * np.sin(self.azimuth), np.sin(self.elevation)]
        )
        turned = [_turned(one, azimuth) for one in (self.point, self.speed[:, None] * forward, self.spin)]
        turned[0][:, 0] += np.asarray(x, dtype=float)
        turned[0][:, 1] += np.asarray(y, dtype=float)
        return turned[0], turned[1], turned[2]


def spin_vectors(
    elevation: ArrayLike,
    azimuth: ArrayLike,
    backspin: ArrayLike,
    sidespin: ArrayLike = 0.0,
    rifle: ArrayLike = 0.0,
) -> FloatArray:
    """Spin vectors from their parts about the axes that belong to the direction of flight.

    With f along the flight, l = (-sin az, cos az, 0) to the left and n = f x l (upward):
    omega = -backspin l + sidespin n + rifle f.

    Parameters
    ----------
    elevation, azimuth : float or ndarray
        Direction of flight in the frame wanted. [rad]
    backspin, sidespin, rifle : float or ndarray
        About -l, n and f. [rad/s]

    Returns
    -------
    ndarray, shape (n, 3)
        [rad/s]

    Examples
    --------
    >>> spin_vectors(0.3, 0.0, 5.0).tolist()
    [[0.0, -5.0, 0.0]]
    """
    e, a, back, side, along = np.broadcast_arrays(
        *(
            np.atleast_1d(np.asarray(one, dtype=float))
            for one in (elevation, azimuth, backspin, sidespin, rifle)
        )
    )
    sin_e, cos_e, sin_a, cos_a = np.sin(e), np.cos(e), np.sin(a), np.cos(a)
    level = along * cos_e - side * sin_e
    # + 0.0 turns -0.0 into 0.0
    return (
        np.column_stack(
            [
                level * cos_a + back * sin_a,
                level * sin_a - back * cos_a,
                along * sin_e + side * cos_e,
            ]
        )
        + 0.0
    )


def _turned(rows: FloatArray, angle: ArrayLike) -> FloatArray:
    """Turn rows of vectors anticlockwise about z."""
    sin, cos = np.sin(angle), np.cos(angle)
    return np.column_stack(
        [rows[:, 0] * cos - rows[:, 1] * sin, rows[:, 0] * sin + rows[:, 1] * cos, rows[:, 2]]
    )
