"""The compiled equations against the plain ones, alone and in threads."""

from __future__ import annotations

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from shotwright.base.compiled import text_of
from shotwright.flight import kernel
from shotwright.flight.crossing import fly_to_plane
from shotwright.flight.drag import DRAG_LAWS
from shotwright.flight.lift import LIFT_LAWS
from shotwright.flight.model import flight_model, launch_vectors
from shotwright.game.records import Ball, CoefficientLaw, Post, Prism, Weather

UP = (0.0, 0.0, 1.0)
OBSTACLES = (
    Prism("wall", ((3.0, -0.5), (3.5, -0.5), (3.5, 0.5), (3.0, 0.5)), 0.0, 2.0),
    Post("post", 2.0, 0.2, 0.05, 0.0, 2.5),
)
FIELDS = ("time", "position", "velocity", "acceleration", "jerk", "apex_height", "apex_time", "clearance")


def launches(n: int, seed: int = 11):
    rng = np.random.default_rng(seed)
    return launch_vectors(
        rng.uniform(6, 14, n), rng.uniform(0.3, 1.5, n), rng.uniform(-0.2, 0.2, n), rng.uniform(-100, 300, n)
    )


def ball(drag: str, lift: str, **rest) -> Ball:
    drags = CoefficientLaw(drag, 0.5, ((5e4, 0.5), (1e5, 0.45), (2e5, 0.3)), 1.1)
    lifts = CoefficientLaw(lift, 0.2, ((0.0, 0.0), (0.3, 0.2), (1.0, 0.1)), 0.9)
    return Ball("ball", 0.178, 0.140, drags, lifts, spin_decay=0.1, **rest)


def same(one, two, tolerance: float) -> None:
    np.testing.assert_array_equal(one.status, two.status)
    for field in FIELDS:
        # the jerk is a difference quotient: rounding is divided by 1e-5 s
        loose = 1e4 if field == "jerk" else 1.0
        np.testing.assert_allclose(getattr(one, field), getattr(two, field), rtol=0, atol=loose * tolerance)


@pytest.mark.parametrize(
    ("drag", "lift"),
    [(name, "cross") for name in DRAG_LAWS] + [("constant", name) for name in LIFT_LAWS],
)
@pytest.mark.parametrize("obstacles", [(), OBSTACLES], ids=["clear", "obstacles"])
def test_compiled_equations_are_the_plain_ones(drag, lift, obstacles):
    model = flight_model(ball(drag, lift), Weather(wind=(1.0, -0.5, 0.1)))
    velocity, spin = launches(40)

    def fly(plain):
        return fly_to_plane(
            model,
            (0, 0, 0.4),
            velocity,
            spin,
            (4, 0, 1.5),
            (-1, 0, 1),
            obstacles=obstacles,
            time_limit=1.6,
            tolerance=1e-8,  # each ball by itself; the lanes have tests of their own
            plain=plain,
        )

    # compiled sums are in another order
    same(fly(False), fly(True), 1e-9)


def test_every_end_of_a_flight_is_among_them():
    # else the comparison above would say little
    model = flight_model(ball("constant", "cross"), Weather(wind=(1.0, -0.5, 0.1)))
    velocity, spin = launches(40)
    found = fly_to_plane(
        model, (0, 0, 0.4), velocity, spin, (4, 0, 1.5), (-1, 0, 1), obstacles=OBSTACLES, time_limit=1.6
    )
    assert set(found.status.tolist()) == {1, 2, 3, 4}


def test_results_do_not_depend_on_the_number_of_flights_or_cores(monkeypatch):
    model = flight_model(ball("haider-levenspiel", "cross"), Weather())
    velocity, spin = launches(6000)
    many = fly_to_plane(model, (0, 0, 0.4), velocity, spin, (0, 0, 1.2), UP)
    part = fly_to_plane(model, (0, 0, 0.4), velocity[4990:5010], spin[4990:5010], (0, 0, 1.2), UP)
    np.testing.assert_array_equal(many.position[4990:5010], part.position)
    monkeypatch.setattr(kernel, "_cores", lambda: 1)
    alone = fly_to_plane(model, (0, 0, 0.4), velocity, spin, (0, 0, 1.2), UP)
    np.testing.assert_array_equal(many.position, alone.position)


def test_several_callers_fly_at_once():
    model = flight_model(ball("constant", "cross"), Weather())
    velocity, spin = launches(5000)

    def fly(_):
        return fly_to_plane(model, (0, 0, 0.4), velocity, spin, (0, 0, 1.2), UP).position

    expected = fly(0)
    with ThreadPoolExecutor(4) as pool:
        for found in pool.map(fly, range(8)):
            np.testing.assert_array_equal(found, expected)


def test_one_flight_loads_no_compiler():
    program = (
        "import sys\n"
        "from shotwright.flight.crossing import fly_to_floor\n"
        "from shotwright.flight.model import flight_model\n"
        "from shotwright.game.records import Ball, CoefficientLaw, Weather\n"
        "ball = Ball('b', 0.2, 0.3, CoefficientLaw('constant', 0.5), CoefficientLaw('cross'))\n"
        "print(fly_to_floor(flight_model(ball, Weather()), (0, 0, 1), (5, 0, 5), (0, -9, 0)).status[0])\n"
        "print({'numba', 'scipy', 'shapely'} & set(sys.modules))\n"
    )
    out = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout
    assert out.split("\n")[:2] == ["2", "set()"]


def test_a_few_hundred_flights_by_the_plain_equations_load_no_compiler():
    program = (
        "import sys\n"
        "import numpy as np\n"
        "from shotwright.flight.crossing import fly_to_floor\n"
        "from shotwright.flight.model import flight_model\n"
        "from shotwright.game.records import Ball, CoefficientLaw, Weather\n"
        "ball = Ball('b', 0.2, 0.3, CoefficientLaw('constant', 0.5), CoefficientLaw('cross'))\n"
        "velocity = np.column_stack([np.linspace(4, 6, 300), np.zeros(300), np.full(300, 5.0)])\n"
        "found = fly_to_floor(flight_model(ball, Weather()), (0, 0, 1), velocity, (0, -9, 0), plain=True)\n"
        "print(set(found.status.tolist()))\n"
        "print({'numba', 'scipy', 'shapely'} & set(sys.modules))\n"
    )
    out = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout
    assert out.split("\n")[:2] == ["{2}", "set()"]


def test_a_change_of_any_source_file_asks_for_a_new_compilation(monkeypatch):
    room = Path(kernel.__file__).parent
    read = Path.read_bytes
    before = text_of(room)
    assert before == text_of(room)
    monkeypatch.setattr(Path, "read_bytes", lambda file: read(file) + b"#" * (file.name == "lift.py"))
    assert text_of(room) != before
