"""The game file: what it says comes out in SI, and every slip is named with its place."""

from __future__ import annotations

import contextlib
import math
import re
from pathlib import Path

import ambiance
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadFile, BadInput, ShotwrightError
from shotwright.game.ball_and_air import hollow_inertia_factor
from shotwright.game.reading import game_from_text, read_game
from shotwright.game.records import CoefficientLaw, Post, Prism, Surface

EXAMPLE = Path(__file__).parents[2] / "docs" / "examples" / "game.toml"
TEXT = EXAMPLE.read_text(encoding="utf-8")


def problems_of(text: str) -> list[str]:
    with pytest.raises(BadInput) as caught:
        game_from_text(text, "game.toml")
    return str(caught.value).splitlines()


def changed(old: str, new: str) -> str:
    assert old in TEXT
    return TEXT.replace(old, new, 1)


def test_example_is_read_in_si():
    game = read_game(EXAMPLE)

    assert game.name == "Lantern Loft"
    assert game.origin == "invented"
    assert (game.field_length, game.field_width) == (8.0, 5.0)
    assert game.ball.diameter == pytest.approx(0.15, abs=1e-12)
    assert game.ball.mass_sd == pytest.approx(0.003, abs=1e-12)
    assert game.ball.drag == CoefficientLaw("constant", constant=0.5)
    assert game.ball.lift == CoefficientLaw("cross", scale=0.9)
    assert game.target("upper lantern").radius == pytest.approx(0.3)
    assert game.target("upper lantern").elevation == pytest.approx(math.radians(35))
    assert game.position("open floor").heading_sd == pytest.approx(math.radians(2.5))
    assert not game.position("open floor").needed
    assert game.limits.motors == 3
    assert [type(o) for o in game.obstacles] == [Prism, Post]
    assert len(game.shots_wanted()) == 3


def test_what_a_ball_bounces_off():
    game = read_game(EXAMPLE)
    basket = game.target("basket")

    assert (game.bounces, game.floor) == (0, Surface(0.7, 0.1, 0.6))
    assert basket.rim is not None
    assert (basket.rim.bar_radius, basket.rim.surface) == (pytest.approx(0.01), Surface(0.5, 0.1, 0.4))
    assert basket.board is not None
    assert basket.board.axes()[2] == pytest.approx([-1, 0, 0], abs=1e-12)
    assert (basket.board.width, basket.board.thickness) == pytest.approx((1.2, 0.012))
    assert basket.board.surface == Surface(0.65, 0.1, 0.4)
    assert [o.surface for o in game.obstacles] == [Surface(0.4, 0.0, 0.7), None]
    assert (game.target("gable").rim, game.target("gable").board) == (None, None)


def test_bounces_that_count_need_something_to_bounce_off():
    bare = re.sub(r"^(floor|rim|surface) = .*$|^\[target.board\][^[]*", "", TEXT, flags=re.M)
    assert game_from_text(bare).floor is None
    (line,) = problems_of(bare.replace("bounces = 0", "bounces = 2"))
    assert "bounces: 2 allowed, but nothing to bounce off" in line
    assert game_from_text(TEXT.replace("bounces = 0", "bounces = 2")).bounces == 2


def test_inches_and_millimetres_mix():
    corners = np.array(read_game(EXAMPLE).target("basket").corners)

    # 24 in = 0.6096 m, exact by the definition of the inch (25.4 mm).
    assert np.ptp(corners, axis=0) == pytest.approx([0.9, 0.6096], abs=1e-12)


def test_opening_that_faces_up_lies_level():
    game = read_game(EXAMPLE)
    u, w, normal = game.target("basket").axes()

    assert normal == pytest.approx([0, 0, 1], abs=1e-12)
    assert u == pytest.approx([0, 1, 0], abs=1e-12)
    assert w == pytest.approx([-1, 0, 0], abs=1e-12)


def test_corners_come_out_anticlockwise_whichever_way_they_were_typed():
    head, tail = TEXT.split("corners = [[", 1)
    typed, tail = tail.split("]]", 1)
    backward = f"{head}corners = [[{'], ['.join(typed.split('], [')[::-1])}]]{tail}"

    for text in (TEXT, backward):
        u, w = np.array(game_from_text(text).target("gable").corners).T
        assert np.sum(u * np.roll(w, -1) - w * np.roll(u, -1)) / 2 == pytest.approx(
            0.8 * 0.4 + 0.5 * 0.8 * 0.3
        )


def test_swept_defender_covers_every_place_on_its_line():
    solid = read_game(EXAMPLE).defenders[0].solid

    assert (solid.bottom, solid.top) == (0.0, 1.2)
    assert set(np.round(solid.footprint, 9).ravel()) == {4.65, 5.35, 1.15, 3.55}


def test_swept_defender_along_a_slanted_line_is_a_hexagon():
    text = changed('to = ["5 m", "3.2 m"]', 'to = ["6 m", "3.2 m"]')
    footprint = np.array(game_from_text(text).defenders[0].solid.footprint)
    x, y = footprint.T
    area = np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2

    assert len(footprint) == 6
    # Swept area of a square of side a moved by (dx, dy): a^2 + a (|dx| + |dy|), elementary geometry.
    assert area == pytest.approx(0.7**2 + 0.7 * (1.0 + 1.7))


def test_turned_box():
    text = changed('width = "1.8 m"', 'width = "1.8 m"\nturned = "30 deg"')
    footprint = np.array(game_from_text(text).obstacles[0].footprint)
    edge = footprint[0] - footprint[1]

    assert math.degrees(math.atan2(edge[1], edge[0])) == pytest.approx(30.0)
    assert np.hypot(*edge) == pytest.approx(0.06)
    assert footprint.mean(axis=0) == pytest.approx([4.0, 2.5])


@pytest.mark.parametrize(
    ("typed", "vector"),
    [
        ('wind = { speed = "2 m/s", towards = "+y" }', (0, 2, 0)),
        ('wind = { speed = "3.6 km/h", towards = "180 deg" }', (-1, 0, 0)),
        ('wind = ["1 m/s", "0 m/s", "-0.5 m/s"]', (1, 0, -0.5)),
    ],
)
def test_wind(typed, vector):
    text = changed('wind = { speed = "0 m/s", towards = "+x" }', typed)

    assert game_from_text(text).weather.wind == pytest.approx(vector, abs=1e-12)


@pytest.mark.parametrize(
    ("typed", "factor"),
    [
        ('"solid"', 2 / 5),
        ('"thin shell"', 2 / 3),
        # Closed form (2/5)(1 - q^5)/(1 - q^3), q = inner/outer radius, computed with 50 digits.
        ('"15 mm"', 0.551081967213115),
        ("0.55", 0.55),
    ],
)
def test_hollow(typed, factor):
    game = game_from_text(changed('hollow = "solid"', f"hollow = {typed}"))

    assert game.ball.inertia_factor == pytest.approx(factor, abs=1e-12)


@pytest.mark.parametrize(
    ("outer", "inner", "factor"),
    # Closed form (2/5)(R^5 - a^5)/(R^2 (R^3 - a^3)), computed independently with the powers written out.
    [(0.0335, 0.0270, 0.554020038742), (0.12, 0.1155, 0.642291636243), (0.02, 0.0196, 0.653511108693)],
)
def test_hollow_ball_is_a_solid_less_a_solid(outer, inner, factor):
    assert hollow_inertia_factor(2 * outer, outer - inner) == pytest.approx(factor, abs=1e-11)


def test_law_as_points_and_as_name():
    text = changed("drag = 0.5 ", "drag = [[1e4, 0.42], [1e5, 0.5]] ")
    assert game_from_text(text).ball.drag == CoefficientLaw("table", table=((1e4, 0.42), (1e5, 0.5)))

    text = changed("drag = 0.5 ", 'drag = "a law of the other room" ')
    assert game_from_text(text).ball.drag == CoefficientLaw("a law of the other room", origin="published")


def test_altitude_stands_for_pressure():
    # ambiance, an independent implementation of ISO 2533.
    expected = ambiance.Atmosphere(350.0).pressure[0]

    assert read_game(EXAMPLE).weather.pressure == pytest.approx(expected, rel=1e-7)


SLIPS = [
    # (what is typed instead, how the line begins, what it must say)
    ('mass = "130 g"', "mass = 130", "game.toml, [ball] \"foam ball\", mass: '130' has no unit"),
    ('mass = "130 g"', 'mass = "130 mm"', "'mm' is not a unit of mass"),
    ('mass = "130 g"', 'mass = "-130 g"', "-130 g is not allowed; it must be greater than zero"),
    ('mass = "130 g"', "mass = nan", "'nan' does not start with a number"),
    ('mass = "130 g"', 'mass = "NaN g"', "does not start with a number"),
    ('mass = "130 g"', 'mass = "1e999 g"', "not a finite mass"),
    ('mass = "130 g"', "", 'mass: is missing; e.g. mass = "130 g"'),
    ('mass = "130 g"', 'mas = "130 g"', "mas: is not a key here; did you mean mass?"),
    ('mass = "130 g"', 'mass = ["130 g"]', "is not one mass"),
    ('mass_sd = "3 g"', 'mass_sd = "-3 g"', "mass_sd: -3 g is not allowed; it must be zero or more"),
    ('mass_sd = "3 g"', 'mass_sd = "60 g"', "mass_sd: 60 g is more than a quarter of the mass"),
    ("drag = 0.5 ", "drag = -0.5 ", "drag: -0.5 is not allowed"),
    (
        "drag = 0.5 ",
        "drag = [[1e5, 0.4], [1e4, 0.5]] ",
        "point 2: 10000 does not follow 100000; sort the points",
    ),
    ("drag = 0.5 ", "drag = [[1e5, 0.4]] ", "1 point is no table"),
    ("drag = 0.5 ", "drag = { scale = 2 } ", "needs exactly one of law, constant, table"),
    ('hollow = "solid"', 'hollow = "80 mm"', "a wall of 80 mm does not fit the ball"),
    ('hollow = "solid"', 'hollow = "soft"', "'soft' is not understood"),
    ('hollow = "solid"', "hollow = 0.9", "hollow: 0.9 is not allowed"),
    (
        'humidity = "45 %"',
        'humidity = "145 %"',
        "humidity: 145 % is not allowed; it must be between 0 and 100 %",
    ),
    (
        'altitude = "350 m"',
        'altitude = "350 m"\npressure = "990 hPa"',
        "altitude: pressure and altitude are both given",
    ),
    ('temperature = "22 degC"', 'temperature = "22"', "temperature: '22' has no unit"),
    ('temperature = "22 degC"', 'temperature = "22 K"', "between -50 and 60 degC"),
    ('towards = "+x" }', 'direction = "+x" }', 'say "towards" and where the air moves to'),
    (
        'diameter = "600 mm"',
        'diameter = "120 mm"',
        "the opening lets 120 mm through, the ball is 150 mm wide",
    ),
    ('diameter = "600 mm"', 'diameter = "600 mm"\nwidth = "1 m"', 'width: goes with shape = "rectangle"'),
    ('height = "24 in"', 'height = "5 in"', "the opening lets 127 mm through"),
    (
        'shape = "polygon"',
        'shape = "pentagon"',
        '\'pentagon\' is not one of "circle", "rectangle", "polygon"',
    ),
    ('["40 cm", "0 cm"], ["40 cm", "40 cm"]', '["40 cm", "40 cm"], ["40 cm", "0 cm"]', "the outline crosses"),
    ('z = "1.5 m"', 'z = "-1.5 m"', "z: the opening reaches 1500 mm below the floor"),
    ('faces = "up" ', 'faces = "sideways" ', "'sideways' is not a direction"),
    ('name = "gable"', 'name = "basket"', "'basket' is already the name of another target"),
    ('name = "gable"', 'name = " "', "[[target]] 3, name: is blank"),
    ('x = "3.2 m"', 'x = "32 m"', '[[position]] 1 "at the rail", x: 32 m is outside the field'),
    ('y = "1.2 m"', 'y = "-1 ft"', "y: -1 ft is outside the field"),
    ('place_sd = "9 cm"', 'place_sd = "-9 cm"', "place_sd: -9 cm is not allowed"),
    (
        '["upper lantern", "basket"]',
        '["uper lantern"]',
        "there is no target 'uper lantern'; did you mean 'upper lantern'?",
    ),
    ("needed = false", 'needed = "no"', "needed: 'no' is not true or false"),
    ('top = "75 cm"', 'top = "0 cm"', "top: 0 cm is not"),
    ('top = "2.1 m"', 'height = "2.1 m"', "height: say bottom and top"),
    ('to = ["5 m", "3.2 m"]', "", 'to: is missing; e.g. to = ["4 m", "1 m"]'),
    ('to = ["5 m", "3.2 m"]', 'to = ["5 m", "3.2 m"]\nx = "2 m"', "keep one of the two"),
    ("bounces = 0", "bounces = 99", "bounces: 99 is too many; at most 50"),
    ("bounces = 0", "bounces = 1.5", "bounces: 1.5 is not a whole number"),
    ("restitution = 0.7,", "restitution = 1.2,", "floor, restitution: 1.2 is not allowed"),
    ("restitution = 0.7,", "", "[field], floor, restitution: is missing"),
    (", friction = 0.6 }", " }", "[field], floor, friction: is missing; e.g. friction = 0.5"),
    ("tangential = 0.1, friction = 0.6", "tangential = -2, friction = 0.6", "between -1 and 1"),
    ("floor = {", "floor = 0.7 #{", "floor: '0.7' is not a table in braces"),
    ('bar = "20 mm"', 'bar = "20"', "rim, bar: '20' has no unit"),
    ('bar = "20 mm"', 'bar_diameter = "20 mm"', "say bar"),
    ('thickness = "12 mm"', 'depth = "12 mm"', "board, depth: is not a key here"),
    ('height = "80 cm"', 'height = "0 cm"', "board, height: 0 cm is not allowed"),
    ("motors = 3", "motors = 2.5", "motors: 2.5 is not a whole number"),
    ('length = "8 m"', 'length = "8 km"', "length: 8 km is more than 1000 m; check the unit"),
    ("[limits]", "[limit]", "limit: is not a key here; did you mean limits?"),
    ("[ball]", "[balls]", "the section [ball] is missing"),
]


@pytest.mark.parametrize(
    ("old", "new", "said"), SLIPS, ids=[f"{s[1] or 'without ' + s[0]}"[:40] for s in SLIPS]
)
def test_each_slip_is_named(old, new, said):
    lines = problems_of(changed(old, new))

    assert any(said in line for line in lines), lines
    assert all(line.startswith("game.toml") for line in lines)


def test_all_problems_are_told_at_once():
    text = (
        changed('mass = "130 g"', "mass = 130")
        .replace('x = "2.4 m"', 'x = "24 m"')
        .replace("points = 5", "point = 5")
    )
    with pytest.raises(BadFile) as caught:
        game_from_text(text)

    assert len(caught.value.problems) == 3
    assert [p.file for p in caught.value.problems] == ["game.toml"] * 3


def test_forgotten_quotes_are_explained():
    (line,) = problems_of(changed('mass = "130 g"', "mass = 130 g  # dry"))

    assert line.startswith("game.toml: line ")
    assert 'a value with a unit stands in quotes: mass = "130 g"' in line


def test_missing_file_folder_and_latin_1(tmp_path):
    with pytest.raises(BadInput, match="there is no such file"):
        read_game(tmp_path / "none.toml")
    with pytest.raises(BadInput, match="is a folder"):
        read_game(tmp_path)
    (tmp_path / "old.toml").write_bytes('[game]\nname = "Löwe"\n'.encode("latin-1"))
    with pytest.raises(BadInput, match=r"old.toml: line 2 is not UTF-8"):
        read_game(tmp_path / "old.toml")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_encodings_of_windows_editors(tmp_path, encoding):
    (tmp_path / "game.toml").write_bytes(TEXT.replace("\n", "\r\n").encode(encoding))

    assert read_game(tmp_path / "game.toml") == read_game(EXAMPLE)


VALUES = st.one_of(
    st.integers(),
    st.floats(),
    st.booleans().map(lambda b: str(b).lower()),
    st.text(max_size=12).map(lambda t: "'" + t.replace("'", "") + "'"),
    st.sampled_from(
        [
            '"1 m"',
            '"2**9**9**9 m"',
            '"1 2**9**9**9"',
            "[]",
            "{}",
            "[[1, 2]]",
            '"up"',
            "1979-05-27",
            "[[[[1]]]]",
            '"1e300 m"',
        ]
    ),
)


@given(st.integers(0, len(TEXT.splitlines()) - 1), VALUES)
@settings(max_examples=150, deadline=None)
def test_any_value_on_any_line_is_read_or_refused_in_words(number, value):
    lines = TEXT.splitlines()
    if "=" in lines[number]:
        lines[number] = f"{lines[number].split('=')[0]}= {value}"
    with contextlib.suppress(ShotwrightError):
        game_from_text("\n".join(lines))


@given(st.text(max_size=200))
@settings(max_examples=100, deadline=None)
def test_any_text_is_refused_in_words(text):
    with pytest.raises(BadInput, match=r"^game.toml"):
        game_from_text(text)
