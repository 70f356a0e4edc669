"""The draft window that is drawn while something is dragged, beside the whole one."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from shotwright.flight.model import flight_model
from shotwright.flight.windows import ShotWindow, shot_window
from shotwright.game.records import Ball, CoefficientLaw, FiringPosition, Game, Prism, Target, Weather

BALL = Ball("ball", 0.24, 0.6, CoefficientLaw("constant", 0.5), CoefficientLaw("cross"))
RING = Target("ring", (4.191, 3.0, 3.048), 0.0, math.pi / 2, radius=0.2286)
GATE = Target(
    "gate", (5.0, 3.0, 1.8), math.pi, 0.0, corners=((-0.4, -0.3), (0.4, -0.3), (0.4, 0.3), (-0.4, 0.3))
)
FENCE = Prism("fence", ((1.9, 2.0), (2.1, 2.0), (2.1, 4.0), (1.9, 4.0)), 0.0, 1.9)
GAME = Game("yard", 9.0, 6.0, BALL, (RING, GATE), (FiringPosition("spot", 0.0, 3.0, 0.01, 0.005),))


def window(target: Target, solids: tuple[Prism, ...], draft: bool) -> ShotWindow:
    game = dataclasses.replace(GAME, obstacles=solids)
    model = flight_model(BALL, Weather(), buoyancy=False)
    return shot_window(
        model,
        game,
        game.positions[0],
        target,
        release_height=1.0,
        elevation_steps=11,
        spin_parameter=0.1,
        draft=draft,
    )


@pytest.mark.parametrize("target", [RING, GATE])
@pytest.mark.parametrize("solids", [(), (FENCE,)])
def test_a_draft_is_the_window_but_for_what_a_drawing_shows(
    target: Target, solids: tuple[Prism, ...]
) -> None:
    full, draft = (window(target, solids, one) for one in (False, True))
    for a, b in zip(full.intervals_m_s, draft.intervals_m_s, strict=True):
        assert np.asarray(a).ravel() == pytest.approx(np.asarray(b).ravel(), abs=2e-4)
    assert full.minimum_speed is not None
    assert draft.minimum_speed is not None
    slowest = min(ends[0][0] for ends in full.intervals_m_s if ends)
    assert full.minimum_speed.speed_m_s <= draft.minimum_speed.speed_m_s + 2e-4
    assert draft.minimum_speed.speed_m_s == pytest.approx(slowest, abs=2e-4)
    assert full.most_forgiving is not None
    assert draft.most_forgiving is not None
    # a quarter of the balls, and the best of fewer
    assert draft.most_forgiving.hit_probability == pytest.approx(
        full.most_forgiving.hit_probability, abs=0.06
    )
