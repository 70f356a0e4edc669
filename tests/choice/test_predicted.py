"""Predicted reach and hits against the parabola, the exact integral of a normal, and themselves."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import norm

from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.choice.predicted import AIM, Situation, hit_shares, hits_if_halved, predict_hit
from shotwright.flight.model import flight_model
from shotwright.game.records import Ball, CoefficientLaw, FiringPosition, Post, Target, Weather
from shotwright.launcher.prediction import predict_release
from shotwright.launcher.reaching import aims_at, bearing, floor_range
from shotwright.launcher.reading import launchers_from_text

G = 9.80665
BALL = Ball("ball", 0.15, 0.165, CoefficientLaw("constant", 0.0), CoefficientLaw("none"))
MODEL = flight_model(BALL, Weather(), density=0.0, viscosity=1.8e-5)
PLACE = FiringPosition("rail", 1.0, 1.0, 0.0, 0.0)
UPRIGHT = Target(
    "window",
    (6.0, 1.0, 1.1),
    math.pi,
    0.0,
    corners=((-0.45, -0.35), (0.45, -0.35), (0.45, 0.35), (-0.45, 0.35)),
)
LEVEL = Target("ring", (6.0, 3.0, 1.9), 0.0, math.pi / 2, radius=0.4)
TEXT = """[[launcher]]
prototype = "piston"
kind = "spring piston"
action = "push"
elevation = { value = "55 deg", low = "45 deg", high = "65 deg", sd = "0.8 deg" }
azimuth = { value = "0 deg", sd = "1.2 deg" }
release_height = "50 cm"
stiffness = { value = "900 N/m", sd = "2 %" }
preload = "40 mm"
stroke = { value = "100 mm", low = "60 mm", high = "140 mm" }
piston_mass = "150 g"
"""


def launcher(text: str = TEXT):
    return launchers_from_text(text)[0]


def _speed_through(elevation: np.ndarray, away: float, rise: float) -> np.ndarray:
    """Closed form: speed of the parabola through a point."""
    return np.sqrt(G * away**2 / (2 * np.cos(elevation) ** 2 * (away * np.tan(elevation) - rise)))


@pytest.mark.parametrize("target", [UPRIGHT, LEVEL], ids=lambda t: t.name)
def test_aims_lie_on_the_parabola(target: Target) -> None:
    one = launcher()
    aims = aims_at(MODEL, one, PLACE, target)
    assert len(aims) > 10
    assert aims.scores.all()
    means = one.means(BALL)
    release = one.release({k: aims.values.get(k, v) for k, v in means.items()})
    away = math.hypot(target.centre[0] - PLACE.x, target.centre[1] - PLACE.y)
    wanted = _speed_through(aims.values["elevation"], away, target.centre[2] - 0.5)
    assert release.speed == pytest.approx(wanted, rel=1e-6)
    assert aims.azimuth == pytest.approx(bearing(PLACE, target), abs=1e-9)


def test_range_to_the_floor_is_that_of_the_parabola() -> None:
    one = launcher()
    release = one.release(one.means(BALL))
    v, e, drop = float(release.speed[0]), math.radians(55), 0.5 - 0.075
    up = v * math.sin(e)
    wanted = v * math.cos(e) * (up + math.sqrt(up**2 + 2 * G * drop)) / G
    assert float(floor_range(MODEL, release)[0]) == pytest.approx(wanted, rel=1e-9)


def test_hits_agree_with_the_normal_in_a_window() -> None:
    """Small scatter on an upright window: linear in speed, elevation and azimuth; two normals, two edges."""
    one = launcher(TEXT.replace('sd = "2 %"', 'sd = "2.2 %"').replace('sd = "1.2 deg"', 'sd = "2.2 deg"'))
    situation = Situation(MODEL, one, PLACE, UPRIGHT)
    found, setting = predict_hit(situation, seed=4, draws=60_000)
    assert setting is not None
    v, e, away = float(found.speed_m_s), setting["elevation"], 5.0
    dz_dv = G * away**2 / (v**3 * math.cos(e) ** 2)
    dz_de = away / math.cos(e) ** 2 - G * away**2 * math.tan(e) / (v**2 * math.cos(e) ** 2)
    sigma_z = math.hypot(dz_dv * v * 0.011, dz_de * math.radians(0.8))
    sigma_y = away * math.radians(2.2)
    slope = math.tan(e) - G * away / (v**2 * math.cos(e) ** 2)
    # the ball's disc, seen along its path, must stay a radius clear of the edges
    half_w, half_h = 0.45 - 0.075, 0.35 - 0.075 * math.sqrt(1 + slope**2)
    wanted = (1 - 2 * norm.sf(half_w / sigma_y)) * (1 - 2 * norm.sf(half_h / sigma_z))
    assert isinstance(found.probability, Estimate)
    assert found.along_sd_m == pytest.approx(sigma_z, rel=0.04)  # bends of second order
    assert found.cross_sd_m == pytest.approx(sigma_y, rel=0.02)
    assert found.probability.value == pytest.approx(wanted, abs=0.01)
    assert found.origin == "predicted"


def test_shares_agree_with_the_linear_parts() -> None:
    situation = Situation(MODEL, launcher(), FiringPosition("yard", 1.0, 1.0, 0.03, 0.01), UPRIGHT)
    _, setting = predict_hit(situation, seed=1, draws=1000)
    assert setting is not None
    shares = {one.output: one for one in hit_shares(situation, setting, draws=1024)}
    cross = {s.input: s.first.value for s in shares["cross"].shares}
    parts = {"azimuth": (5 * math.radians(1.2)) ** 2, "heading": 0.05**2, "place_y": 0.03**2}
    for name, part in parts.items():
        assert cross[name.replace("_", " ")] == pytest.approx(part / sum(parts.values()), abs=0.04)
    assert shares["speed"].shares[0].input == "stiffness"
    assert shares["speed"].shares[0].first.value == pytest.approx(1.0, abs=0.03)


def test_half_the_leading_spread_raises_the_hits() -> None:
    situation = Situation(MODEL, launcher(TEXT.replace('"2 %"', '"8 %"')), PLACE, UPRIGHT)
    found, setting = predict_hit(situation, seed=1)
    assert setting is not None
    assert isinstance(found.probability, Estimate)
    assert hits_if_halved(situation, setting, "stiffness", seed=1) > found.probability.value + 0.05


def test_the_same_seed_gives_the_same_bits() -> None:
    situation = Situation(MODEL, launcher(), PLACE, LEVEL)
    assert predict_hit(situation, seed=3, draws=2000) == predict_hit(situation, seed=3, draws=2000)


def test_out_of_reach_and_blocked_are_told_apart() -> None:
    far = FiringPosition("far", -20.0, 1.0, 0.0, 0.0)
    found, setting = predict_hit(Situation(MODEL, launcher(), far, UPRIGHT))
    assert (found.reaches, setting) == (False, None)
    assert found.probability == NotEstimated("no setting carries the ball there")
    wall = Post("mast", 3.5, 1.0, 0.3, 0.0, 8.0)
    found, setting = predict_hit(Situation(MODEL, launcher(), PLACE, UPRIGHT, (wall,)))
    assert (found.reaches, setting) == (False, None)
    assert "stopped on its way" in found.words[0]


def test_a_launcher_without_settings_is_judged_as_it_is() -> None:
    fixed = TEXT.replace(', low = "45 deg", high = "65 deg"', "").replace(
        ', low = "60 mm", high = "140 mm"', ""
    )
    found, _ = predict_hit(Situation(MODEL, launcher(fixed), PLACE, UPRIGHT))
    assert found.setting == ()
    assert not found.reaches
    assert "its one setting does not score there" in found.words[0]


def test_release_prediction_closes_its_energy_book() -> None:
    found = predict_release(MODEL, launcher(), np.random.default_rng(1))
    assert sum(found.energy_by_part.values()) == pytest.approx(found.energy_taken_j)
    assert found.stored_energy_j > found.energy_taken_j
    assert found.speed_m_s.sd / found.speed_m_s.mean == pytest.approx(0.01, rel=0.1)  # half of 2 % stiffness
    assert found.limits == (("pushed until the stop: the spring's energy sets the speed", 1.0),)
    assert any("Never fire without a ball" in words for words in found.cautions)


def test_an_aim_line_is_part_of_a_setting() -> None:
    situation = Situation(MODEL, launcher(), PLACE, LEVEL)
    _, setting = predict_hit(situation, draws=500)
    assert setting is not None
    assert set(setting) == {"elevation", "stroke", AIM}
