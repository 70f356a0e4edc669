"""The impact of a spinning ball: conservation laws, limits, symmetry; published cases are in `published`."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from shotwright.base.errors import BadInput
from shotwright.flight.bounce import collide, impact
from shotwright.game.records import Surface

some = settings(max_examples=200, deadline=None)
number = st.floats(-20, 20)
vectors = st.tuples(number, number, number).filter(lambda v: np.linalg.norm(v) > 1e-3)
surfaces = st.builds(Surface, st.floats(0, 1), st.floats(-1, 1), st.floats(0, 2))
alphas = st.floats(0.4, 2 / 3)
slips = st.floats(-8, 8).filter(lambda s: abs(s) > 0.1)
gripping = surfaces.filter(lambda s: s.tangential > -0.99)
RADIUS = 0.11
FLOOR = (0.0, 0.0, 1.0)


def unit(v):
    return np.asarray(v) / np.linalg.norm(v)


@some
@given(vectors, vectors, vectors, surfaces, alphas)
def test_energy_never_grows_and_spin_about_the_contact_is_kept(v, w, n, surface, alpha):
    found = impact(v, w, n, RADIUS, alpha, surface)
    assert found.energy_kept[0] <= 1 + 1e-12
    # closed form: every impulse acts at the contact, so angular momentum about it stays (per mass)
    arm = RADIUS * unit(n)

    def about_contact(velocity, spin):
        return alpha * RADIUS**2 * np.asarray(spin) + np.cross(arm, velocity)

    np.testing.assert_allclose(
        about_contact(found.velocity[0], found.spin[0]), about_contact(v, w), rtol=0, atol=1e-10
    )


@some
@given(vectors, vectors, vectors, surfaces, alphas)
def test_laws_of_both_directions_hold(v, w, n, surface, alpha):
    normal = unit(n)
    closing = np.dot(v, normal)
    found = impact(v, w, n, RADIUS, alpha, surface)
    if closing >= 0:
        assert found.velocity[0].tolist() == list(v)
        return
    assert np.dot(found.velocity[0], normal) == pytest.approx(-surface.restitution * closing, abs=1e-9)

    def slip(velocity, spin):  # of the ball's surface at the contact: v + omega x (-r n), along the surface
        moves = np.asarray(velocity) + np.cross(spin, -RADIUS * normal)
        return moves - np.dot(moves, normal) * normal

    before, after = slip(v, w), slip(found.velocity[0], found.spin[0])
    friction = np.asarray(found.velocity[0]) - v - np.dot(found.velocity[0] - np.asarray(v), normal) * normal
    push = (1 + surface.restitution) * -closing
    if found.slid[0]:
        assert np.linalg.norm(friction) == pytest.approx(surface.friction * push, abs=1e-9)
        assert np.dot(friction, before) <= 1e-9
    else:
        np.testing.assert_allclose(after, -surface.tangential * before, rtol=0, atol=1e-9)
        assert np.linalg.norm(friction) <= surface.friction * push + 1e-9


@some
@given(vectors, vectors, vectors, alphas)
def test_a_perfect_surface_without_friction_is_a_mirror_that_can_be_run_backwards(v, w, n, alpha):
    mirror = Surface(1.0, 0.5, 0.0)
    found = impact(v, w, n, RADIUS, alpha, mirror)
    normal = unit(n)
    if np.dot(v, normal) < 0:
        np.testing.assert_allclose(found.velocity[0], v - 2 * np.dot(v, normal) * normal, atol=1e-11)
        back = impact(-found.velocity, found.spin, n, RADIUS, alpha, mirror)
        np.testing.assert_allclose(-back.velocity[0], v, atol=1e-11)
    assert found.spin[0].tolist() == list(w)


@some
@given(vectors, vectors, vectors, alphas)
def test_a_superball_keeps_its_energy_and_can_be_run_backwards(v, w, n, alpha):
    # Garwin (1969): e_n = e_t = 1 with enough friction; the motion reversed retraces itself
    ball = Surface(1.0, 1.0, 1e200)
    found = impact(v, w, n, RADIUS, alpha, ball)
    assert found.energy_kept[0] == pytest.approx(1.0, abs=1e-11)
    if np.dot(v, unit(n)) < -1e-6:
        back = impact(-found.velocity, -found.spin, n, RADIUS, alpha, ball)
        np.testing.assert_allclose(-back.velocity[0], v, atol=1e-9)
        np.testing.assert_allclose(-back.spin[0], w, atol=1e-7)


@some
@given(slips, gripping, alphas)
def test_grip_and_slide_meet(slip, surface, alpha):
    # the friction at which grip just holds; a hair less must give nearly the same ball
    needed = alpha * (1 + surface.tangential) * abs(slip) / ((1 + alpha) * (1 + surface.restitution) * 5.0)
    ends = [
        impact(
            (slip, 0, -5.0),
            (0, 0, 0),
            FLOOR,
            RADIUS,
            alpha,
            Surface(surface.restitution, surface.tangential, needed * share),
        )
        for share in (1 - 1e-9, 1 + 1e-9)
    ]
    assert [bool(end.slid[0]) for end in ends] == [True, False]
    np.testing.assert_allclose(ends[0].velocity, ends[1].velocity, rtol=0, atol=1e-7)
    np.testing.assert_allclose(ends[0].spin, ends[1].spin, rtol=0, atol=1e-6)


@some
@given(vectors, vectors, vectors, vectors, surfaces, alphas)
def test_nothing_depends_on_the_axes(v, w, n, turn, surface, alpha):
    rotation = Rotation.from_rotvec(turn)
    here = impact(v, w, n, RADIUS, alpha, surface)
    there = impact(rotation.apply(v), rotation.apply(w), rotation.apply(n), RADIUS, alpha, surface)
    if abs(np.dot(v, unit(n))) < 1e-6:
        return  # whether it touches at all is a matter of rounding
    np.testing.assert_allclose(there.velocity, rotation.apply(here.velocity), rtol=0, atol=1e-9)
    np.testing.assert_allclose(there.spin, rotation.apply(here.spin), rtol=0, atol=1e-7)


@some
@given(vectors, vectors, vectors, surfaces, alphas)
def test_the_text_that_is_compiled_gives_the_same(v, w, n, surface, alpha):
    normal = tuple(float(c) for c in unit(n))
    velocity, spin, slid = collide(
        v, w, normal, RADIUS, alpha, surface.restitution, surface.tangential, surface.friction
    )
    found = impact(v, w, normal, RADIUS, alpha, surface)
    np.testing.assert_allclose(velocity, found.velocity[0], rtol=0, atol=1e-10)
    np.testing.assert_allclose(spin, found.spin[0], rtol=0, atol=1e-9)
    if abs(np.dot(v, normal)) > 1e-9 and surface.friction > 1e-9:
        assert slid == found.slid[0]


def test_many_balls_at_once_are_each_alone():
    rng = np.random.default_rng(3)
    v, w, n = rng.normal(0, 5, (3, 50, 3))
    radius = rng.uniform(0.02, 0.12, 50)
    surface = Surface(0.7, 0.15, 0.5)
    many = impact(v, w, n, radius, 0.5, surface)
    for i in range(50):
        one = impact(v[i], w[i], n[i], radius[i], 0.5, surface)
        np.testing.assert_array_equal(many.velocity[i], one.velocity[0])
        np.testing.assert_array_equal(many.spin[i], one.spin[0])
    assert many.slid.any()
    assert not many.slid.all()


def test_topspin_kicks_forward_and_backspin_holds_back():
    # a ball with the spin of rolling keeps its speed along the floor: no slip, no friction
    rolling = impact((3.0, 0, -4.0), (0, 3.0 / RADIUS, 0), FLOOR, RADIUS, 0.5, Surface(0.7, 0.0, 0.5))
    assert rolling.velocity[0, 0] == pytest.approx(3.0, abs=1e-12)
    over = impact((3.0, 0, -4.0), (0, 9.0 / RADIUS, 0), FLOOR, RADIUS, 0.5, Surface(0.7, 0.0, 0.5))
    back = impact((3.0, 0, -4.0), (0, -3.0 / RADIUS, 0), FLOOR, RADIUS, 0.5, Surface(0.7, 0.0, 0.5))
    assert over.velocity[0, 0] > 3.0 > back.velocity[0, 0]


@pytest.mark.parametrize(
    ("surface", "alpha", "what"),
    [
        (Surface(1.2, 0.0, 0.5), 0.4, "1.2 is not a coefficient of restitution"),
        (Surface(math.nan, 0.0, 0.5), 0.4, "nan is not a coefficient of restitution"),
        (Surface(0.7, -1.5, 0.5), 0.4, "-1.5 is not a tangential restitution"),
        (Surface(0.7, 0.0, -0.1), 0.4, "-0.1 is not a coefficient of friction"),
        (Surface(0.7, 0.0, 0.1), 0.0, "0 is not an inertia factor"),
    ],
)
def test_surfaces_that_would_give_energy_are_refused(surface, alpha, what):
    with pytest.raises(BadInput, match=what):
        impact((0, 0, -1), (0, 0, 0), FLOOR, RADIUS, alpha, surface)


def test_a_normal_needs_a_length():
    with pytest.raises(BadInput, match="a normal of some length"):
        impact((0, 0, -1), (0, 0, 0), (0, 0, 0), RADIUS, 0.4, Surface(0.7, 0.0, 0.5))
