"""Teeth, keys, bolts and rotors: published tables, closed forms, and the equations of the disc integrated."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_bvp

from shotwright.base.errors import BadInput
from shotwright.build.materials import MATERIALS, material_named
from shotwright.build.rotor_stress import rim_stress, ring_stress, solid_disc_stress, wheel_strength
from shotwright.build.strength import (
    LEWIS,
    check_bolts,
    check_key,
    check_tooth,
    lewis_factor,
    speed_factor,
    tooth_stress,
)

AUTHORITIES = Path(__file__).resolve().parents[1] / "authorities"
RPM = 2 * math.pi / 60


@pytest.mark.authority
def test_form_factors_are_those_of_the_table() -> None:
    text = (AUTHORITIES / "lewis_factors.csv").read_text(encoding="utf-8")
    table = [one.split(",") for one in text.splitlines() if one[:1].isdigit() or one.startswith("inf")]
    assert {float(z): float(y) for z, y in table} == LEWIS
    for z, y in table:
        assert float(lewis_factor(float(z))) == pytest.approx(float(y), abs=1e-12)


def test_tooth_of_the_published_example() -> None:
    """Shigley Example 14-1 (from memory: 628 ft/min, K_v 1.52, 365 lbf): 16 teeth, P 8, F 1.5 in, 10 kpsi."""
    foot, inch, pound, psi = 0.3048, 0.0254, 4.4482216152605, 6894.757293168361
    speed = math.pi * 2 * 1200 / 12 * foot / 60
    assert speed / foot * 60 == pytest.approx(628, abs=0.5)
    factor = float(speed_factor(speed))
    assert factor == pytest.approx(1.52, abs=0.005)
    load = 10e3 * psi / float(tooth_stress(1.0, inch / 8, 1.5 * inch, 16) * factor)
    assert load / pound == pytest.approx(365, abs=1.0)


def test_metric_tooth() -> None:
    assert float(tooth_stress(100, 0.0015, 0.006, 16)) / 1e6 == pytest.approx(37.53753753754, rel=1e-12)
    assert float(tooth_stress(100, 0.0015, 0.006, math.inf)) / 1e6 == pytest.approx(22.90950744559, rel=1e-12)


@given(st.floats(12, 1000), st.floats(0, 500))
@settings(max_examples=40, deadline=None)
def test_more_teeth_are_never_weaker(teeth: float, more: float) -> None:
    assert float(lewis_factor(teeth + more)) >= float(lewis_factor(teeth))


def test_fewer_than_twelve_teeth_are_refused() -> None:
    with pytest.raises(BadInput, match="starts at 12"):
        lewis_factor(11.5)


def test_a_tooth_is_judged_with_the_factor_of_its_material() -> None:
    good = check_tooth(MATERIALS["steel"], 100, 0.0015, 0.006, 16)
    assert good.margin == pytest.approx(235 / 37.53753753754, rel=1e-9)
    assert good.holds
    weak = check_tooth(MATERIALS["birch plywood"], 100, 0.0015, 0.006, 16)
    assert not weak.holds
    assert "DOES NOT HOLD" in weak.in_words()


def test_key_and_bolts_are_the_closed_forms() -> None:
    """F = 2 T/d over w l and h l/2; F = 2 T/(n D) over a bolt and its hole."""
    steel, wood = MATERIALS["steel"], MATERIALS["birch plywood"]
    shear, side = check_key(steel, wood, 2.0, 0.008, 0.003, 0.003, 0.012)
    assert shear.stress_pa == pytest.approx(500 / 36e-6, rel=1e-12)
    assert side.stress_pa == pytest.approx(500 / 18e-6, rel=1e-12)
    assert side.limit_pa == wood.strength
    shear, side = check_bolts(steel, wood, 2.0, 4, 0.030, 0.003, 0.012)
    force = 2 * 2.0 / (4 * 0.030)
    assert shear.stress_pa == pytest.approx(force / (math.pi * 0.003**2 / 4), rel=1e-12)
    assert side.stress_pa == pytest.approx(force / 36e-6, rel=1e-12)


@pytest.mark.parametrize(
    ("density", "nu", "inside", "outside", "rpm"),
    [(1190, 0.37, 0.00635, 0.0508, 6000), (7850, 0.3, 0.05, 0.25, 3000)],
)
def test_ring_against_the_equations_of_the_disc(
    density: float, nu: float, inside: float, outside: float, rpm: float
) -> None:
    """Equilibrium and Hooke's law of a turning disc, solved as a boundary-value problem: u(r), sigma_r(r)."""
    w, stiff = rpm * RPM, 3e9

    def slopes(r: np.ndarray, y: np.ndarray) -> np.ndarray:
        u, radial = y
        hoop = stiff * u / r + nu * radial
        return np.array([(radial - nu * hoop) / stiff, (hoop - radial) / r - density * w**2 * r])

    r = np.linspace(inside, outside, 400)
    size = density * (w * outside) ** 2
    found = solve_bvp(
        lambda r, y: slopes(r, y * np.array([[size / stiff], [size]])) / np.array([[size / stiff], [size]]),
        lambda a, b: np.array([a[1], b[1]]),
        r, np.ones((2, 400)) * outside, tol=1e-9, max_nodes=20000,
    )  # fmt: skip
    u, radial = found.sol(r) * np.array([[size / stiff], [size]])
    hoop = stiff * u / r + nu * radial
    told = ring_stress(density, nu, inside, outside, w)
    assert told.at_hole_pa == pytest.approx(hoop[0], rel=1e-6)
    assert told.at_rim_pa == pytest.approx(hoop[-1], rel=1e-6)
    middle = found.sol(math.sqrt(inside * outside))[1] * size
    assert told.radial_pa == pytest.approx(float(middle), rel=1e-6)
    assert told.mean_pa == pytest.approx(np.trapezoid(hoop, r) / (outside - inside), rel=1e-4)


@given(st.floats(0.0, 0.49), st.floats(1.0, 60.0))
@settings(max_examples=30, deadline=None)
def test_a_pinhole_doubles_the_stress_of_the_solid_disc(nu: float, speed: float) -> None:
    ring = ring_stress(1200, nu, 1e-9, 0.05, speed / 0.05)
    assert ring.at_hole_pa == pytest.approx(2 * float(solid_disc_stress(1200, speed, nu)), rel=1e-9)
    thin = ring_stress(1200, nu, 0.05 * (1 - 1e-9), 0.05, speed / 0.05)
    assert thin.at_hole_pa == pytest.approx(float(rim_stress(1200, speed)), rel=1e-8)


def test_a_wheel_is_judged_at_its_top_speed() -> None:
    told = wheel_strength(MATERIALS["acrylic"], 0.0127, 0.1016, 6000 * RPM, thickness=0.006)
    assert told.yield_rad_s / RPM == pytest.approx(49598.0832, rel=1e-8)
    assert told.margin == pytest.approx(70 / 1.02440279, rel=1e-8)
    again = wheel_strength(MATERIALS["acrylic"], 0.0127, 0.1016, told.safe_rad_s, thickness=0.006)
    assert again.margin == pytest.approx(again.factor, rel=1e-12)
    holed = wheel_strength(MATERIALS["acrylic"], 0.0127, 0.1016, 6000 * RPM, thickness=0.006, holes=True)
    assert holed.margin == pytest.approx(told.margin / 3, rel=1e-12)
    fast = wheel_strength(MATERIALS["PLA"], 0.0127, 0.1016, 20000 * RPM, thickness=0.006)
    assert not fast.holds
    assert "DOES NOT HOLD" in fast.words[0]
    assert any("behind a shield" in one for one in fast.cautions)


def test_energy_of_a_disc() -> None:
    """Half J omega^2 with J = m R^2/2: 0.4 kg, 50.8 mm, 6000 rpm hold 101.9 J."""
    steel = MATERIALS["steel"]
    thickness = 0.4 / (math.pi * 0.0508**2 * steel.density)
    told = wheel_strength(steel, 0.0, 0.1016, 6000 * RPM, thickness=thickness)
    assert told.stored_j == pytest.approx(101.879583607, rel=1e-10)


def test_every_material_names_its_source() -> None:
    assert all(one.source for one in MATERIALS.values())
    assert material_named("6 mm Birch Plywood").name == "birch plywood"
    assert material_named("aluminum 6061").name == "aluminium"
    with pytest.raises(BadInput, match="known: birch plywood"):
        material_named("cheese")
