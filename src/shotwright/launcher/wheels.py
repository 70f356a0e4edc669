"""What all wheel launchers share: amounts, the way from a run between surfaces to releases, cautions."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwright.game.records import Ball
from shotwright.launcher.compression import Compression, Hertz
from shotwright.launcher.impulse import gripped_state
from shotwright.launcher.protocol import Amount, Input, Mounted, amount
from shotwright.launcher.release import LIMIT_WORDS, Limit, Releases, spin_vectors
from shotwright.launcher.slipping import Passage, SlipRun, Surface, run

FloatArray = NDArray[np.float64]
Inputs = Mapping[str, ArrayLike]


@dataclass(frozen=True, slots=True)
class Layout:
    """Balls on their way between surfaces, ready to run.

    Parameters
    ----------
    passage : Passage
        Balls and path.
    surfaces : tuple of Surface
        Driven wheels first.
    wheels : int
        How many of them are driven.
    contact_length : ndarray, shape (n,)
        Length of the path between the surfaces. [m]
    squeeze : ndarray, shape (n,)
        Of both sides together, at its largest; 0 where the ball is loose. [m]
    """

    passage: Passage
    surfaces: tuple[Surface, ...]
    wheels: int
    contact_length: FloatArray
    squeeze: FloatArray


FEED = amount(
    "m/s",
    "speed at which the ball meets the wheels",
    low=0.0,
    high=100.0,
    default=Amount(1.0, 0.0, "assumed"),
)
LOST = amount(
    "",
    "share of the ball's energy lost beyond the model",
    low=0.0,
    high=0.95,
    default=Amount(0.0, 0.0, "assumed"),
)
OFFSET = amount("m", "sideways place at release, to the left", default=Amount(0.0))


class WheelRelease:
    """From a layout of surfaces to releases and cautions."""

    __slots__ = ()

    compression: Compression

    @abstractmethod
    def layout(self, inputs: Inputs) -> Layout:
        """Return surfaces and path for arrays of inputs."""

    @abstractmethod
    def inputs(self, ball: Ball) -> tuple[Input, ...]:
        """Return every number that a release depends on."""

    def contact(self, inputs: Inputs) -> tuple[Layout, SlipRun]:
        """Follow slip and grip for arrays of inputs.

        Parameters
        ----------
        inputs : mapping of str to array_like, shape (n,)
            As for `release`.

        Returns
        -------
        layout : Layout
            Surfaces and path.
        run : SlipRun
            How the balls left.
        """
        laid = self.layout(inputs)
        peak = float(np.median(laid.squeeze))
        return laid, run(laid.passage, laid.surfaces, self.compression, peak_squeeze=peak)

    def release(self, inputs: Inputs) -> Releases:
        """Return the releases for arrays of inputs.

        Parameters
        ----------
        inputs : mapping of str to array_like, shape (n,)
            Every input by its name; see :func:`shotwright.launcher.protocol.input_arrays`.

        Returns
        -------
        Releases
            One row for each shot.
        """
        laid, went = self.contact(inputs)
        return _releases(inputs, laid, went)

    def cautions(self, ball: Ball) -> tuple[str, ...]:
        """Return what to beware of, one sentence each."""
        inputs = {one.name: np.array([one.value]) for one in self.inputs(ball)}
        shot = self.release(inputs)
        laid = self.layout(inputs)
        found = [
            (
                f"The wheels hold {shot.stored_energy[0]:.3g} J at this speed and go on turning when the "
                "power is cut. Guard the place where they draw the ball in; keep hands, hair and sleeves "
                "away; wear eye protection in line with a wheel. Your event's rules, your workshop's rules "
                "and a responsible adult come first."
            )
        ]
        strain = float(laid.squeeze[0]) / ball.diameter
        if strain > 0.1 and isinstance(self.compression, Hertz):
            found.append(
                f"The ball is squeezed by {100 * strain:.0f} % of its diameter. Hertz's law is for small "
                "squeezes, up to about 10 %: press a ball on a kitchen scale and enter the readings."
            )
        if laid.squeeze[0] > self.compression.reach:
            found.append(
                f"The ball is squeezed by {1e3 * laid.squeeze[0]:.1f} mm; readings end at "
                f"{1e3 * self.compression.reach:.1f} mm. The force beyond is a straight line on."
            )
        if shot.limit[0] == Limit.GRIP_RAN_OUT:
            found.append(
                "The ball leaves while a wheel still slips: its speed then depends on grip and squeeze, "
                "and so on every ball. A longer contact or more grip makes it repeat better."
            )
        elif shot.limit[0] != Limit.GRIPPED:
            words = LIMIT_WORDS[Limit(int(shot.limit[0]))]
            found.append(f"{words[0].upper()}{words[1:]}.")
        return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelLauncher(Mounted, WheelRelease):
    """Amounts of every wheel launcher.

    Parameters
    ----------
    feed_speed : Amount
        Speed at which the ball meets the wheels. [m/s]
    wheel_radius : Amount
        [m]
    wheel_inertia : Amount
        Of one wheel with shaft and motor, seen at the wheel: a rotor counts with the gear ratio squared.
        [kg m^2]
    wheel_torque : Amount
        Torque of the motor at one wheel while the ball passes. [N m]
    wheel_grip : Amount
        Friction coefficient of ball on wheel. [-]
    energy_lost : Amount
        Share of the ball's energy that is lost in ways that the model does not hold. [-]
    release_offset : Amount
        Sideways place of the ball at release, to the left. [m]
    compression : Compression
        Force against squeeze of the ball.
    """

    kind: ClassVar[str] = "wheels"

    feed_speed: Amount = FEED
    wheel_radius: Amount = amount("m", "radius of a wheel", low=1e-4)
    wheel_inertia: Amount = amount("kg m^2", "inertia of a wheel with shaft and motor", low=1e-12)
    wheel_torque: Amount = amount("N m", "motor torque at a wheel during the shot", default=Amount(0.0))
    wheel_grip: Amount = amount("", "friction coefficient of ball on wheel", low=0.0, high=5.0)
    energy_lost: Amount = LOST
    release_offset: Amount = OFFSET
    compression: Compression = field(metadata={"compression": True})


def squeeze_drag(
    compression: Compression, radius: FloatArray, squeeze: FloatArray, force: FloatArray, length: FloatArray
) -> FloatArray:
    """Resistance of a squeezed ball that rolls between two surfaces, the loss on entry spread out.

    Rolling: eta (3/16) (a/r) N at each contact, a = sqrt(r d); entry: eta times the work of squeezing.

    Parameters
    ----------
    compression : Compression
        Gives the work, and eta.
    radius, squeeze, force, length : ndarray, shape (n,)
        Of the ball [m]; of both sides [m]; N [N]; of the contact [m].

    Returns
    -------
    ndarray, shape (n,)
        [N]

    Notes
    -----
    The coefficient is for small patches, a << r: an order of magnitude for a soft ball.

    References
    ----------
    D. Tabor, Proc. R. Soc. A 229 (1955) 198; K. L. Johnson, Contact Mechanics (1985), chapter 9 (coefficient
    from memory).
    """
    patch = np.sqrt(np.maximum(squeeze, 0.0) / 2 / radius)
    rolling = 2 * compression.loss * (3 / 16) * patch * force
    entry = compression.loss * compression.work(np.maximum(squeeze, 0.0))
    return np.asarray(rolling + entry / np.maximum(length, 1e-9))


def mean_force(
    compression: Compression, reach: FloatArray, axis: FloatArray, half: FloatArray, share: ArrayLike = 0.5
) -> FloatArray:
    """Force of one side, averaged over the way of a ball past a wheel.

    Parameters
    ----------
    compression : Compression
        Force against squeeze of both sides.
    reach : ndarray, shape (n,)
        Wheel's radius plus the ball's, where they touch. [m]
    axis : ndarray, shape (n,)
        Distance of the wheel's axis from the path. [m]
    half : ndarray, shape (n,)
        Half the length of the contact. [m]
    share : float or ndarray
        Part of the whole squeeze that this side takes. [-]

    Returns
    -------
    ndarray, shape (n,)
        [N]
    """
    points, weights = np.polynomial.legendre.leggauss(12)
    x = half[:, None] * (points + 1) / 2
    squeeze = np.maximum(reach[:, None] - np.hypot(x, axis[:, None]), 0.0)
    return np.asarray(
        (compression.force(squeeze / np.broadcast_to(share, half.shape)[:, None]) @ weights) / 2
    )


def _releases(inputs: Inputs, laid: Layout, went: SlipRun) -> Releases:
    n = len(went.speed)
    m, r, alpha = (
        np.broadcast_to(inputs[name], n) for name in ("ball_mass", "ball_diameter", "inertia_factor")
    )
    r = r / 2
    heavy = np.column_stack([np.broadcast_to(one.reduced_mass, n) for one in laid.surfaces[: laid.wheels]])
    before = np.column_stack([np.broadcast_to(one.rim_speed, n) for one in laid.surfaces[: laid.wheels]])
    after = went.rim_speeds[:, : laid.wheels]
    fed = 0.5 * m * np.broadcast_to(laid.passage.speed, n) ** 2
    whole = 0.5 * m * (went.speed**2 + alpha * (went.backspin**2 + went.sidespin**2))
    lost = np.broadcast_to(inputs["energy_lost"], n)
    thrown = went.left & (laid.squeeze > 0)
    keep = np.where(thrown, np.sqrt(1 - lost), 0.0)
    losses = {f"slip at the {one.name}": went.heats[:, i] for i, one in enumerate(laid.surfaces)}
    losses["squeeze"] = went.squeeze_loss
    losses["not in the model"] = np.where(thrown, lost * whole, 0.0)
    losses["ball stuck inside"] = np.where(thrown, 0.0, whole)
    limit = _limit(laid, went, m, alpha)
    elevation, azimuth = (np.broadcast_to(inputs[name], n) for name in ("elevation", "azimuth"))
    return Releases(
        speed=went.speed * keep,
        elevation=np.array(elevation, float),
        azimuth=np.array(azimuth, float),
        spin=spin_vectors(elevation, azimuth, went.backspin * keep / r, went.sidespin * keep / r),
        point=np.column_stack(
            [
                np.zeros(n),
                np.broadcast_to(inputs["release_offset"], n),
                np.broadcast_to(inputs["release_height"], n),
            ]
        ),
        energy_taken=np.asarray(0.5 * (heavy * (before**2 - after**2)).sum(axis=1)),
        stored_energy=np.asarray(0.5 * (heavy * before**2).sum(axis=1)),
        motor_work=went.motor_work,
        ball_energy=np.where(thrown, whole * (1 - lost), 0.0) - fed,
        losses=losses,
        rim_speeds=after,
        limit=limit,
        notes=_notes(limit, laid, went),
    )


def _limit(laid: Layout, went: SlipRun, mass: FloatArray, alpha: FloatArray) -> NDArray[np.uint8]:
    """Which limit each shot met; a wheel that is passed has gripped when it did so anywhere on the way."""
    n = len(went.speed)
    passed = np.array([one.wheel_radius is not None for one in laid.surfaces])
    slipping = np.where(passed, went.grip_place < 0, went.slips != 0)
    limit = np.where(slipping.any(axis=1), Limit.GRIP_RAN_OUT, Limit.GRIPPED)
    some = slipping.any(axis=1)
    if some.any():
        arms = np.stack(
            [
                np.broadcast_to(np.stack(np.broadcast_arrays(one.back, one.side), -1), (n, 2))
                for one in laid.surfaces
            ],
            1,
        )
        speeds = np.column_stack([np.broadcast_to(one.rim_speed, n) for one in laid.surfaces])
        held = np.full(speeds[some].shape, np.inf)  # motors hold their speeds
        can = gripped_state(mass[some], alpha[some], arms[some], speeds[some], held).all_grip
        smooth = np.column_stack([np.broadcast_to(one.grip, n) <= 0 for one in laid.surfaces])[some]
        limit[some] = np.where(
            can & ~(smooth & slipping[some]).any(axis=1), limit[some], Limit.A_SURFACE_SLIPS
        )
    limit = np.where(went.lifted, Limit.LET_GO, limit)
    return np.where(went.stuck | (laid.squeeze <= 0), Limit.NO_BITE, limit).astype(np.uint8)


def _notes(limit: NDArray[np.uint8], laid: Layout, went: SlipRun) -> tuple[str, ...]:
    """Say which limit how many shots met, when they don't all leave gripped."""
    notes = []
    for code in np.unique(limit):
        if code == Limit.GRIPPED and (limit == code).all():
            continue
        share = float((limit == code).mean())
        whom = "" if share == 1 else f"{100 * share:.0f} % of the shots: "
        notes.append(whom + LIMIT_WORDS[Limit(int(code))])
    slipping = [
        one.name
        for i, one in enumerate(laid.surfaces)
        if ((went.slips[:, i] != 0) & (limit == Limit.GRIP_RAN_OUT)).any()
    ]
    if slipping:
        notes.append(f"still slipping when the ball leaves: {', '.join(slipping)}")
    return tuple(notes)
