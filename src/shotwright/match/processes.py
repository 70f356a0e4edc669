"""The same match told with processes: the robot, each defender, each ball that comes back.

It stands beside the kernel as its independent check, and tells a single match in words. Built on SimPy
(a library for discrete-event simulation); the chances are used up in the same order as in the kernel.
"""

from __future__ import annotations

import math
from collections.abc import Generator, Iterator
from typing import Any

import numpy as np
import simpy
from numpy.typing import NDArray

from shotwright.match import case as c
from shotwright.match.case import MatchCase

FloatArray = NDArray[np.float64]
Steps = Generator[simpy.Event, Any, None]


class Field:
    """One match while it runs.

    Parameters
    ----------
    case : MatchCase
        The plan.
    draws : ndarray, shape (7 + 2 k + d, w)
        Chances of this match, enough of them. [-]
    """

    def __init__(self, case: MatchCase, draws: FloatArray) -> None:
        self.case, self.p = case, case.params
        self.env = simpy.Environment()
        self.events: list[tuple[float, str, str]] = []
        self.score = 0.0
        self._chance: list[Iterator[float]] = [iter(row.tolist()) for row in draws]
        self._stands = [-1] * len(case.stay)
        self._changed = self.env.event()
        self._nodes = ("start", *case.positions, *case.stations)
        self._at, self._balls = "start", int(self.p[c.PRELOAD])
        self._piles = [
            None if one[c.STOCK] < 0 else simpy.Container(self.env, init=int(one[c.STOCK]))
            for one in case.depots
        ]
        self._coming: list[list[float]] = [[] for _ in case.depots]
        self._heat, self._last_shot, self._ready = 0.0, 0.0, 0.0

    def run(self) -> list[tuple[float, str, str]]:
        """Run the match to its end; return its events: time [s], what, where."""
        for k in range(len(self.case.stay)):
            self.env.process(self._defend(k))
        for d, one in enumerate(self.case.depots):
            if math.isfinite(one[c.ARRIVES]):
                self._coming[d].append(one[c.ARRIVES] * self._next(c.ROWS + 2 * len(self.case.stay) + d))
                self.env.process(self._hand_out(d, self._coming[d][0]))
        self.env.run(until=self.env.process(self._play()))
        return self.events

    def _say(self, what: str, where: str) -> None:
        self.events.append((self.env.now, what, where))

    def _next(self, row: int) -> float:
        return next(self._chance[row])

    def _lasts(self, mean: float, row: int) -> simpy.Event:
        sigma = self.p[c.SIGMA]
        return self.env.timeout(mean * math.exp(sigma * self._next(row) - sigma**2 / 2))

    # ---------------------------------------------------------------- defenders and balls that come back

    def _defend(self, k: int) -> Steps:
        if self.case.comes[k] > 0:
            yield self.env.timeout(self.case.comes[k])
        while True:
            where = self._next(c.ROWS + 2 * k + 1)
            spot = int(np.searchsorted(self.case.shares[k], where, side="right"))
            self._stands[k] = spot if spot < len(self.case.positions) else -1
            before, self._changed = self._changed, self.env.event()
            before.succeed()
            yield self.env.timeout(self.case.stay[k] * self._next(c.ROWS + 2 * k))

    def _roll_back(self, pile: simpy.Container, spot: FloatArray) -> Steps:
        d = int(spot[c.RETURN_TO])
        yield self.env.timeout(spot[c.RETURN_TIME])
        self._coming[d].remove(min(self._coming[d]))
        yield pile.put(1)

    def _hand_out(self, d: int, first: float) -> Steps:
        pile, row = self._piles[d], c.ROWS + 2 * len(self.case.stay) + d
        assert pile is not None
        yield self.env.timeout(first)
        while True:
            wait = self.case.depots[d, c.ARRIVES] * self._next(row)
            self._coming[d].remove(min(self._coming[d]))
            self._coming[d].append(self.env.now + wait)
            yield pile.put(1)
            yield self.env.timeout(wait)

    def _blocked(self, name: str) -> bool:
        return self.case.positions.index(name) in self._stands

    def _free(self) -> str | None:
        return next((name for name in self.case.plan.positions if not self._blocked(name)), None)

    def _over(self) -> bool:
        return bool(self.env.now > self.p[c.LAST])

    # ---------------------------------------------------------------- the robot

    def _play(self) -> Steps:
        while not self._over():
            if self._balls:
                yield from self._fire()
                continue
            if self.p[c.AUTO_WAIT] and self.env.now < self.p[c.AUTO]:
                yield self.env.timeout(self.p[c.AUTO] - self.env.now)
            station = self._where_to_collect()
            if station is None:
                return
            yield from self._collect(*station)

    def _drive(self, name: str) -> Steps:
        if name != self._at:
            a, b = self._nodes.index(self._at), self._nodes.index(name)
            yield self._lasts(self.case.travel[a, b], c.DRIVE)
            self._at = name
            if not self._over():
                self._say("arrived", name)

    def _fire(self) -> Steps:
        plan = self.case.plan
        name = plan.positions[0]
        if plan.when_blocked == "next":
            name = self._free() or name
        yield from self._drive(name)
        if plan.when_blocked == "next" and self._blocked(name) and self._free():
            self._say("left, blocked", name)
            return
        if self._over():
            return
        yield self._lasts(self.p[c.AIM], c.STOP)
        if self._over():
            return
        self._say("aimed", name)
        while self._balls:
            if self._ready > self.env.now:
                yield self.env.timeout(self._ready - self.env.now)
            if self._over():
                return
            if plan.when_blocked != "fire" and self._blocked(name):
                if plan.when_blocked == "next" and self._free():
                    self._say("left, blocked", name)
                    return
                yield from self._wait(name)
                if self._over():
                    return
                self._say("free again", name)
                continue
            if self._next(c.JAMMED) < self.p[c.JAM]:
                yield self.env.timeout(self.p[c.JAM_TIME] * self._next(c.CLEAR))
                if self._over():
                    return
                self._say("jam cleared", name)
            self._shoot(name)

    def _wait(self, name: str) -> Steps:
        enough = self.env.timeout(self.p[c.LAST] + 1.0 - self.env.now)
        while self._blocked(name) and not (self.case.plan.when_blocked == "next" and self._free()):
            yield self._changed | enough
            if enough.processed:
                return

    def _shoot(self, name: str) -> None:
        n = self.case.positions.index(name)
        spot, p, now = self.case.spots[n], self.p, self.env.now
        self._balls -= 1
        comes_back = self._next(c.RETURN) < spot[c.RETURNS]
        if self._next(c.SHOT) < (spot[c.HIT_BLOCKED] if self._blocked(name) else self.case.hit[n]):
            self.score += spot[c.POINTS] * (p[c.FACTOR] if now <= p[c.AUTO] else 1.0)
            self._say("hit", name)
        else:
            pile = self._piles[int(spot[c.RETURN_TO])] if comes_back else None
            if pile is not None and spot[c.RETURN_TIME] > 0:
                self._coming[int(spot[c.RETURN_TO])].append(now + spot[c.RETURN_TIME])
                self.env.process(self._roll_back(pile, spot))
            elif pile is not None:
                pile.put(1)
            self._say("miss", name)
        self._heat = self._heat * math.exp(-(now - self._last_shot) / p[c.COOLING]) + 1
        self._last_shot = now
        self._ready = now + p[c.RECOVERY] * (1 + p[c.SLOWER] * self._heat / p[c.HOT])
        if self._heat > p[c.HOT] - 1:
            self._ready = max(self._ready, now + p[c.COOLING] * math.log(self._heat / (p[c.HOT] - 1)))

    # ---------------------------------------------------------------- collecting

    def _lies(self, d: int) -> bool:
        pile = self._piles[d]
        return pile is None or pile.level > 0

    def _where_to_collect(self) -> tuple[int, float] | None:
        route = [self.case.stations.index(name) for name in self.case.plan.stations]
        for d in route:
            if self._lies(d):
                return d, self.env.now
        coming = [(min(self._coming[d]), i, d) for i, d in enumerate(route) if self._coming[d]]
        if not coming:
            return None
        when, _, d = min(coming)
        return d, when

    def _collect(self, d: int, comes: float) -> Steps:
        name, p, per_ball = self.case.stations[d], self.p, self.case.depots[d, c.PER_BALL]
        yield from self._drive(name)
        if self._over():
            return
        if comes > self.env.now:
            yield self.env.timeout(comes - self.env.now)
            if not self._lies(d):
                yield self.env.timeout(0)  # the ball comes at this very moment
        way = self.case.travel[self._nodes.index(name), self._nodes.index(self.case.plan.positions[0])]
        while self._balls < p[c.TAKE] and self._lies(d):
            if self._balls and self.env.now + per_ball + way + p[c.AIM] > p[c.LAST]:
                return
            yield self._lasts(per_ball, c.PICK)
            if self._over():
                return
            pile = self._piles[d]
            if pile is not None:
                yield pile.get(1)
            self._balls += 1
            self._say("picked up", name)


def tell_match(case: MatchCase, draws: FloatArray) -> tuple[list[tuple[float, str, str]], float]:
    """Run one match with processes.

    Parameters
    ----------
    case : MatchCase
        The plan; its hit probabilities are the same for all matches.
    draws : ndarray, shape (7 + 2 k + d, w)
        Chances of this match, enough of them. [-]

    Returns
    -------
    events : list of (float, str, str)
        Time [s], what, where.
    score : float
        Points.
    """
    field = Field(case, draws)
    events = field.run()
    return events, field.score
