"""The general integrator `heyoka` (Taylor series, compiled for the equations) on the same flights."""

from __future__ import annotations

import math

import heyoka as hy
import numpy as np

from anchors.workload import LIMIT, START, Case, Ends, Launches

TOLERANCE = {"A": 1e-6, "B": 5e-7}  # orders 8 and 9, the lowest with an error below 1e-6 m


def equations(case: Case):
    """Place, velocity, a fading spin; parameters: the spin's axis, and the surface speed of a lasting one."""
    model = case.model
    ball, wind = model.ball, model.wind
    k = model.density * math.pi * ball.diameter**2 / 4 / (2 * ball.mass)
    decay = ball.spin_decay * k / ball.inertia_factor
    x, y, z, vx, vy, vz, r = hy.make_vars("x", "y", "z", "vx", "vy", "vz", "r")
    surface = r if decay else hy.par[3]
    ux, uy, uz = (v - w if w else v for v, w in zip((vx, vy, vz), wind, strict=True))
    s = hy.sqrt(ux**2 + uy**2 + uz**2)
    drag = ball.drag.constant
    if ball.drag.name == "drag-crisis":
        drag = 0.30 + 0.20 / (1.0 + (s * (model.density * ball.diameter / model.viscosity / 1.2e5)) ** 8)
    d, lift = -k * drag * s, k * surface * s / (2.32 * surface + 0.4 * s)
    ax, ay, az = hy.par[0], hy.par[1], hy.par[2]
    system = [
        (x, vx),
        (y, vy),
        (z, vz),
        (vx, d * ux + lift * (ay * uz - az * uy)),
        (vy, d * uy + lift * (az * ux - ax * uz)),
        (vz, d * uz + lift * (ax * uy - ay * ux) - model.gravity),
    ]
    if decay:
        system.append((r, -decay * s * r))
    return system, (x, z), decay > 0


class Flights:
    """An integrator for one case: scalar (batch 1) or batch 4, with terminal events or without."""

    def __init__(self, case: Case, batch: int, *, events: bool, tolerance: float | None = None) -> None:
        system, (x, z), self.fades = equations(case)
        self.batch = batch
        self.radius = case.model.ball.diameter / 2
        kind = hy.t_event if batch == 1 else hy.t_event_batch
        level = case.normal[2] != 0
        plane = z - case.point[2] if level else case.point[0] - x
        made = [kind(one, direction=hy.event_direction.negative) for one in (plane, z)]
        options = {"tol": tolerance or TOLERANCE[case.name[0]], "t_events": made if events else []}
        shape = (len(system),) if batch == 1 else (len(system), batch)
        make = hy.taylor_adaptive if batch == 1 else hy.taylor_adaptive_batch
        count = 3 if self.fades else 4
        pars = (count,) if batch == 1 else (count, batch)
        self.integrator = make(system, np.zeros(shape), pars=np.zeros(pars), **options)

    def fly(self, launches: Launches) -> Ends:
        """Fly to the first terminal event or the time limit."""
        states, pars = self._inputs(launches)
        n = len(launches.velocity)
        status, time, place = np.empty(n, np.uint8), np.empty(n), np.empty((n, 3))
        one = self._one if self.batch == 1 else self._batch
        for i in range(0, n, self.batch):
            one(i, states, pars, status, time, place)
        return Ends(status, time, place)

    def fly_for(self, launches: Launches, time: float) -> None:
        """Integrate for a time without looking for anything."""
        states, pars = self._inputs(launches)
        ta, batch = self.integrator, self.batch
        for i in range(0, len(launches.velocity), batch):
            ta.set_time(0.0)
            ta.state[:] = states[:, i : i + batch]
            ta.pars[:] = pars[:, i : i + batch]
            ta.propagate_until(time)

    def _inputs(self, launches: Launches) -> tuple[np.ndarray, np.ndarray]:
        """States and parameters of all flights, one column each; the last is repeated to fill a batch."""
        n = len(launches.velocity)
        magnitude = np.linalg.norm(launches.spin, axis=1)
        axis = launches.spin / np.where(magnitude > 0, magnitude, 1.0)[:, None]
        surface = self.radius * magnitude
        states = np.column_stack(
            [np.tile(START, (n, 1)), launches.velocity, *([surface] if self.fades else [])]
        )
        pars = axis if self.fades else np.column_stack([axis, surface])
        spare = -n % self.batch
        states, pars = (np.concatenate([one, np.repeat(one[-1:], spare, axis=0)]).T for one in (states, pars))
        return np.ascontiguousarray(states), np.ascontiguousarray(pars)

    def _one(self, i, states, pars, status, time, place) -> None:
        ta = self.integrator
        ta.time = 0.0
        ta.state[:] = states[:, i]
        ta.pars[:] = pars[:, i]
        ta.reset_cooldowns()
        outcome = int(ta.propagate_until(LIMIT)[0])
        status[i] = -outcome if outcome in (-1, -2) else 4
        time[i], place[i] = ta.time, ta.state[:3]

    def _batch(self, i, states, pars, status, time, place) -> None:
        ta = self.integrator
        ta.set_time(0.0)
        ta.state[:] = states[:, i : i + self.batch]
        ta.pars[:] = pars[:, i : i + self.batch]
        ta.reset_cooldowns()
        ends = np.full(self.batch, LIMIT)
        flying = set(range(self.batch))
        # an event of one flight stops all of them: it is held by an end time of its own, the others go on
        while flying:
            ta.propagate_until(ends)
            results, now, state = ta.propagate_res, ta.time, ta.state
            for lane in list(flying):
                outcome = int(results[lane][0])
                if outcome in (-1, -2) or now[lane] >= LIMIT:
                    flying.remove(lane)
                    ends[lane] = now[lane]
                    if i + lane < len(status):
                        status[i + lane] = -outcome if outcome in (-1, -2) else 4
                        time[i + lane], place[i + lane] = now[lane], state[:3, lane]
