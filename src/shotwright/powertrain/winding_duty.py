"""A piston wound by a cam or a spiral gear: torque over a turn, current, shots per minute, and heat."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput, NoAnswer
from shotwright.base.plain import Result
from shotwright.powertrain import wheel_steps as at
from shotwright.powertrain.cutting import is_cut, step_until_cut, step_while_cut
from shotwright.powertrain.match_kernel import begin
from shotwright.powertrain.pieces import time_for_angle, way
from shotwright.powertrain.wheel_duty import Burst, Drive, Duty
from shotwright.powertrain.wheel_match import MatchRun, battery_table, build_row, run_of

FloatArray = NDArray[np.float64]
_NO_GOAL = 1e300  # rad/s, never reached: full voltage


_NO_TORQUE = 1e-9  # N m: a margin against less is no number that anybody needs


@dataclass(frozen=True, slots=True)
class Turn(Result):
    """Torque that winding takes over one turn, in steps.

    Parameters
    ----------
    angles : tuple of float
        Where each step begins, and the end of the turn; rising. [rad]
    torques : tuple of float
        Mean torque of each step at the cam's shaft, 0 or more; one fewer than angles. [N m]
    """

    angles: tuple[float, ...]
    torques: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.angles) != len(self.torques) + 1 or len(self.torques) < 1:
            raise BadInput("one torque is needed between each two angles", field="turn")
        if any(b <= a for a, b in pairwise(self.angles)):
            raise BadInput("angles must rise from one to the next", field="turn, angles")
        if min(self.torques) < 0:
            raise BadInput(
                "a torque below zero is not allowed: the cam would drive the motor", field="turn, torques"
            )

    @property
    def work(self) -> float:
        """Of one turn. [J]."""
        return sum(t * (b - a) for t, (a, b) in zip(self.torques, pairwise(self.angles), strict=True))


def even_turn(torque: float, wound: float = 2 * math.pi, whole: float = 2 * math.pi) -> Turn:
    """Turn at one torque: a drop cam of constant torque, or a spiral gear made for it.

    Parameters
    ----------
    torque : float
        While winding. [N m]
    wound : float
        Angle of winding; the rest of the turn is free. [rad]
    whole : float
        Angle from shot to shot. [rad]

    Returns
    -------
    Turn
        In one step or two.
    """
    if wound >= whole:
        return Turn((0.0, whole), (torque,))
    return Turn((0.0, wound, whole), (torque, 0.0))


def spring_turn(
    stiffness: float, preload: float, radii: Sequence[float], angles: Sequence[float], friction: float = 0.0
) -> Turn:
    """Turn that pulls a spring by a cam or a spiral gear: T = k x dx/dtheta, dx = r dtheta, r changing.

    Each step takes the exact work of the spring over it; the radius is straight between the angles.

    Parameters
    ----------
    stiffness : float
        [N/m]
    preload : float
        Deflection at the start of the turn. [m]
    radii : sequence of float
        Travel for each radian, at the angles: the effective radius of the cam or gear. [m/rad]
    angles : sequence of float
        Rising. [rad]
    friction : float
        Of the slide. [N]

    Returns
    -------
    Turn
        One step fewer than angles.
    """
    a, r = np.asarray(angles, float), np.asarray(radii, float)
    if a.shape != r.shape or len(a) < 2:
        raise BadInput("give as many radii as angles, two or more", field="turn")
    travel = preload + np.concatenate([[0.0], np.cumsum(np.diff(a) * (r[1:] + r[:-1]) / 2)])
    work = 0.5 * stiffness * np.diff(travel**2) + friction * np.diff(travel)
    return Turn(tuple(a.tolist()), tuple((work / np.diff(a)).tolist()))


@dataclass(frozen=True, slots=True)
class TurnRecord(Result):
    """The last turn against its angle, at the ends of the steps.

    Parameters
    ----------
    angle_rad, speed_rad_s, motor_a, torque_n_m : tuple of float
        Of the cam's shaft, and of one motor; torque of the step before.
    """

    angle_rad: tuple[float, ...]
    speed_rad_s: tuple[float, ...]
    motor_a: tuple[float, ...]
    torque_n_m: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class WindingTrace(Result):
    """Temperatures over the match, at the end of each turn and of each step of a rest.

    Parameters
    ----------
    time_s, winding_k, case_k : tuple of float
        From the start of the match.
    """

    time_s: tuple[float, ...]
    winding_k: tuple[float, ...]
    case_k: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class WindingRun(Result):
    """What winding over a match did.

    Parameters
    ----------
    first_turn_s, last_turn_s : float
        From rest, cold; and at the end. Waiting for a breaker to close is left out.
    shots_per_minute : float
        By the last turn.
    heat_per_turn_j : float
        In the winding of each motor, in the last turn.
    torque_margin : float
        Stall torque at the cam's shaft over the largest torque, warm, at the end. [-]
    run : MatchRun
        Temperatures, currents, energy books and what gave way; "shots" holds the work of winding.
    record : TurnRecord
        The last turn.
    trace : WindingTrace
        Over the match.
    """

    first_turn_s: float
    last_turn_s: float
    shots_per_minute: float
    heat_per_turn_j: float
    torque_margin: float
    run: MatchRun
    record: TurnRecord
    trace: WindingTrace


class _Shaft:
    """The shaft of cam or gear while it is followed: what is built, the state, the books."""

    def __init__(self, drive: Drive, duty: Duty) -> None:
        self.p, self.table = build_row(drive, duty), battery_table(drive.supply)
        self.p[at.STOP] = at.BRAKED
        self.friction = drive.wheel.friction
        self.s, self.e = np.zeros(at.STATE), np.zeros(at.BOOKS)
        self.kept = np.empty(at.STATE + at.BOOKS)
        begin(self.s, self.e)
        self.rows: list[tuple[float, float, float]] = []
        self.note()

    def note(self) -> None:
        """Add a row to the record of the match."""
        air, s = self.p[at.AIR], self.s
        self.rows.append((float(s[at.T]), float(air + s[at.WARM]), float(air + s[at.CASE])))

    def angle_since(self, bearing: float) -> float:
        """Angle since the book of the bearing stood at `bearing`. [rad]."""
        drag = self.p[at.DRAG]
        return float((self.e[at.IN_BEARING] - bearing) / drag) if drag > 0 else 0.0


def run_winding(
    drive: Drive, turn: Turn, bursts: Sequence[Burst], match: float, air: float = 293.15, coarse: float = 1.0
) -> WindingRun:
    """Wind a piston turn by turn over a match; each step of a turn is an exact solution.

    Parameters
    ----------
    drive : Drive
        `wheel` is the cam's shaft; its friction counts on top of the torque.
    turn : Turn
        Torque of each turn.
    bursts : sequence of Burst
        When shots are commanded; each shot is one turn, the turns of a burst follow without pause. A
        burst that is not done when the next begins pushes it back.
    match : float
        Length; turns that would end later are not begun. [s]
    air : float
        Temperature. [K]
    coarse : float
        Longest step of a rest. [s]

    Returns
    -------
    WindingRun
        Times, currents, heat.

    Raises
    ------
    NoAnswer
        The motors stall on the way, or no turn fits into the match.

    Notes
    -----
    The motors run at full voltage or at the controller's limit. After a burst they are braked through their
    windings, and a ratchet or the gear holds the spring. The spring's release is not fed back.
    """
    shaft = _Shaft(drive, Duty(1.0, 0.0, tuple(bursts), match=match, air=air))
    p, s, e = shaft.p, shaft.s, shaft.e
    told = np.full((len(bursts), 7), math.nan)
    times: list[float] = []
    heat, record = 0.0, TurnRecord((), (), (), ())
    for i, burst in enumerate(bursts):
        _rest(shaft, min(burst.start, match), coarse)
        told[i, 1] = 0.0
        for _ in range(burst.shots):
            if s[at.T] + (times[-1] if times else 0.0) >= match:
                break
            began, before = s[at.T], e[at.IN_WINDING]
            last, waited = _one_turn(shaft, turn, match)
            if last is None:
                break
            record = last
            times.append(float(s[at.T] - began - waited))
            heat = float(e[at.IN_WINDING] - before) / drive.motors
            told[i, 1] += 1
            if told[i, 1] == 1:
                told[i, 0] = s[at.T] - burst.start
            told[i, 2] = s[at.T] - burst.start
            shaft.note()
        _stop(shaft, drive)
        told[i, 3], told[i, 6] = s[at.T] - burst.start, p[at.AIR] + s[at.WARM]
    if not times:
        raise NoAnswer("no turn ends within the match; begin earlier, or look at the breakers")
    _rest(shaft, match, coarse)
    r, k = at.warm_motor(p, s)
    volts, ohms = at.battery_now(p, shaft.table, s)
    loop = r + p[at.WIRE] + p[at.PTC] + drive.motors * ohms
    amps = min((volts - ohms * p[at.OTHER]) / loop, p[at.LIMIT]) - p[at.IDLE]
    stall = drive.train.efficiency * drive.train.ratio * drive.motors * k * amps
    largest = max(turn.torques) + drive.wheel.friction
    return WindingRun(
        first_turn_s=times[0],
        last_turn_s=times[-1],
        shots_per_minute=60 / times[-1],
        heat_per_turn_j=heat,
        torque_margin=float(stall / largest) if largest > _NO_TORQUE else math.inf,
        run=run_of(p, bursts, s, e, told, drive.supply.level),
        record=record,
        trace=WindingTrace(*(tuple(column) for column in zip(*shaft.rows, strict=True))),
    )


def _one_turn(shaft: _Shaft, turn: Turn, match: float) -> tuple[TurnRecord | None, float]:
    """Wind once; return the record, None when a breaker stays open, and the time waited for breakers."""
    p, s, e = shaft.p, shaft.s, shaft.e
    waited = 0.0
    rows = [(turn.angles[0], float(s[at.W]), math.nan, 0.0)]
    for torque, (a, b) in zip(turn.torques, pairwise(turn.angles), strict=True):
        p[at.DRAG] = torque + shaft.friction
        left, before = b - a, e[at.IN_BEARING]
        for _ in range(1000):
            time, angle = _step(p, shaft.table, s, left)
            began, bearing = s[at.T], e[at.IN_BEARING]
            step_until_cut(p, shaft.table, s, e, _NO_GOAL, at.BRAKED, time, shaft.kept)
            if is_cut(s):
                since = s[at.T]
                _wait(shaft, match)
                waited += float(s[at.T] - since)
                covered = shaft.angle_since(bearing)
                angle = min(covered, left) if covered > 0 else angle * (since - began) / time
            left -= angle
            if left <= 1e-12 * (b - a) or is_cut(s):
                break
        work = e[at.IN_BEARING] - before
        share = torque / (torque + shaft.friction) if torque > 0 else 0.0
        e[at.IN_BEARING] -= share * work
        e[at.SHOTS] += share * work
        if is_cut(s):
            return None, waited
        if left > 1e-9 * (b - a):
            raise NoAnswer(
                f"the motors stall {math.degrees(b - left):.0f} degrees into the turn, where it takes "
                f"{p[at.DRAG]:.3g} N m; use a larger ratio, more motors or a softer spring"
            )
        if math.isnan(rows[0][2]):
            rows[0] = (*rows[0][:2], float(s[at.NOW_I]), torque)
        rows.append((b, float(s[at.W]), float(s[at.END_I]), torque))
    return TurnRecord(*(tuple(column) for column in zip(*rows, strict=True))), waited


def _wait(shaft: _Shaft, match: float) -> None:
    """Coast to rest without current, a ratchet holding the spring, until a breaker closes or time is over."""
    p, s, e = shaft.p, shaft.s, shaft.e
    for _ in range(100_000):
        if not is_cut(s) or (s[at.T] >= match and s[at.W] <= 0.0):
            break
        most = 0.1 if s[at.W] > 0.0 else match - s[at.T]
        step_while_cut(p, shaft.table, s, e, True, min(most, 1.0), shaft.kept)
        shaft.note()


def _step(p: FloatArray, table: FloatArray, s: FloatArray, left: float) -> tuple[float, float]:
    """Time of the next exact piece, to the end of the angle or to full voltage, and the angle it covers."""
    r, k = at.warm_motor(p, s)
    volts, ohms = at.battery_now(p, table, s)
    n, g = p[at.MOTORS], p[at.RATIO]
    push = p[at.ETA] * g * n * k
    inertia = p[at.INERTIA] + p[at.ETA] * g * g * n * p[at.ROTOR]
    loop = r + p[at.WIRE] + p[at.PTC] + n * ohms
    free = volts - ohms * p[at.OTHER]
    need, start = p[at.IDLE] + p[at.DRAG] / push, s[at.W]
    final = (free - need * loop) / (k * g)
    if (free - k * g * start) / loop > p[at.LIMIT] * (1 + 1e-12):
        gain = push * (p[at.LIMIT] - need) / inertia
        switch = (free - p[at.LIMIT] * loop) / (k * g)
        time = (switch - start) / gain if gain > 0 else (start / -gain if gain < 0 else math.inf)
        if start <= 0 >= gain:
            return 1.0, 0.0
        if math.isinf(time) or (start + 0.5 * gain * time) * time > left:
            root = math.sqrt(max(start * start + 2 * gain * left, 0.0))
            time = 2 * left / (start + root)
            return time, left
        return time, (start + 0.5 * gain * time) * time
    tau = inertia * loop / (push * k * g)
    if final <= 0:
        if start <= 0:
            return 1.0, 0.0
        rest = tau * math.log((final - start) / final) if final < 0 else math.inf
        reach = way(start, final, rest, tau) if final < 0 else start * tau
        if reach < left:
            return (rest if math.isfinite(rest) else 1.0), min(reach, left)
    return time_for_angle(start, final, tau, left), left


def _stop(shaft: _Shaft, drive: Drive) -> None:
    """Brake the shaft; a self-locking train stops it by itself."""
    p, s, e = shaft.p, shaft.s, shaft.e
    p[at.DRAG] = drive.wheel.friction
    if drive.train.back_efficiency <= 0:
        rotors = drive.motors * drive.motor.rotor_inertia * drive.train.ratio**2
        e[at.IN_TRAIN] += 0.5 * (drive.wheel.inertia + rotors) * s[at.W] ** 2
        s[at.W] = s[at.Q] = 0.0
    for _ in range(10_000):
        if s[at.W] <= 1e-9:
            break
        _idle(shaft, 0.1)


def _idle(shaft: _Shaft, most: float) -> None:
    if is_cut(shaft.s):
        step_while_cut(shaft.p, shaft.table, shaft.s, shaft.e, False, most, shaft.kept)
    else:
        step_until_cut(shaft.p, shaft.table, shaft.s, shaft.e, 0.0, at.BRAKED, most, shaft.kept)


def _rest(shaft: _Shaft, until: float, coarse: float) -> None:
    shaft.p[at.DRAG] = shaft.friction
    while until - shaft.s[at.T] > 1e-9:
        _idle(shaft, min(coarse, until - shaft.s[at.T]))
        shaft.note()
