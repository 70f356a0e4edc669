"""What windows have in common, on windows whose answer can be read off."""

from __future__ import annotations

import itertools
import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadInput
from shotwright.flight.shared_settings import CommonSettings, settings_in_common
from shotwright.flight.window_slices import FINER, groups, merged, served_speeds, sliced
from shotwright.flight.windows import ShotWindow

DEGREES = tuple(float(e) for e in range(40, 61, 2))
Rows = dict[float, tuple[tuple[float, float], ...]]


def made(name: str, rows: Rows, **changes: object) -> ShotWindow:
    """Make a window from its rows; no flight behind it."""
    values: dict[str, object] = {
        "position": name,
        "target": "gate",
        "release_height_m": 1.0,
        "spin_parameter": 0.1,
        "spin_rev_s": None,
        "defended": False,
        "speed_range_m_s": (1.0, 20.0),
        "elevations_deg": DEGREES,
        "azimuths_deg": (0.0,) * len(DEGREES),
        "intervals_m_s": tuple(rows.get(e, ()) for e in DEGREES),
        "minimum_speed": None,
        "minimum_speed_through_centre": None,
        "most_forgiving": None,
        "scatter_speed": 0.02,
        "scatter_elevation_deg": 0.7,
        "scatter_azimuth_deg": 0.7,
        "scatter_origin": "assumed",
        "blocked": not rows,
        "reason": "" if rows else "blocked: every path that reaches the gate hits the wall",
        "words": (),
    }
    return ShotWindow(**(values | changes))


def block(low: float, high: float, slow: float, fast: float) -> Rows:
    return {e: ((slow, fast),) for e in DEGREES if low <= e <= high}


NEAR = made("near", block(44, 54, 6.0, 7.0))
MIDDLE = made("middle", block(48, 58, 6.5, 7.5))
FAR = made("far", block(50, 60, 8.0, 9.0))


def test_two_overlapping_blocks_share_what_they_overlap() -> None:
    common = settings_in_common([NEAR, MIDDLE])
    assert common.elevation_ranges_deg == ((48.0, 54.0),)
    assert common.speed_ranges_m_s == ((6.5, 7.0),)
    (setting,) = common.one_setting
    assert setting.serves == ("near to gate", "middle to gate")
    assert setting.speed_m_s == pytest.approx(6.75)
    assert setting.speed_room_m_s == pytest.approx(0.25)
    # 51 deg, the middle of 48 to 54, lies between two elevations looked at
    assert 48 < setting.elevation_deg < 54
    assert setting.elevation_room_deg == pytest.approx(
        min(setting.elevation_deg - 48, 54 - setting.elevation_deg)
    )
    assert common.two_settings == common.one_setting
    assert "one setting serves all 2" in common.words[2]


def test_three_blocks_need_two_settings() -> None:
    common = settings_in_common([NEAR, MIDDLE, FAR])
    assert common.elevation_ranges_deg == ((50.0, 54.0),)
    assert common.one_elevation[0].elevation_deg == 52.0
    assert common.speed_ranges_m_s == ()
    assert [one.serves for one in common.one_speed] == [("near to gate", "middle to gate")]
    assert [one.serves for one in common.one_setting] == [("near to gate", "middle to gate")]
    pair = common.two_settings
    assert [one.serves for one in pair] == [("near to gate", "middle to gate"), ("far to gate",)]
    assert pair[1].speed_m_s == pytest.approx(8.5)
    assert "no setting serves all 3" in common.words[2]
    assert common.words[3].startswith("two settings serve all 3: ")


def test_four_strangers_keep_two() -> None:
    windows = [made(str(k), block(44 + 4 * k, 45 + 4 * k, 5.0 + 2 * k, 5.5 + 2 * k)) for k in range(4)]
    common = settings_in_common(windows)
    assert len(common.two_settings) == 2
    assert {len(one.serves) for one in common.one_setting} == {1}
    assert common.words[0] == "no fixed elevation serves two of the 4"
    assert "two settings serve 2 of 4" in common.words[3]
    assert "; not " in common.words[3]


def test_a_blocked_window_is_named_and_left_out() -> None:
    shut = made("shut", {})
    common = settings_in_common([NEAR, shut])
    assert common.windows == ("near to gate",)
    assert common.blocked == ("shut to gate",)
    assert common.words[0] == "shut to gate is blocked and left out"
    none = settings_in_common([shut])
    assert none.words[-1] == "no position has a shot that scores"
    assert none.one_setting == none.two_settings == ()


def test_a_slanting_window_serves_the_speeds_between_its_rows() -> None:
    thin = made("thin", {e: ((e / 10, e / 10 + 0.01),) for e in DEGREES})
    assert served_speeds(thin) == [(4.0, pytest.approx(6.01))]
    flat = made("flat", {50.0: ((5.06, 5.14),), 52.0: ((5.06, 5.14),)})
    common = settings_in_common([thin, flat])
    (setting,) = common.one_setting
    # at 51 deg, between the rows at 50 and 52, the slanting one scores near 5.10 to 5.11
    assert (setting.elevation_deg, setting.speed_m_s) == (51.0, pytest.approx(5.105, abs=0.005))
    assert setting.between_elevations
    assert any("looked at every 2°" in sentence for sentence in common.words)


def test_edges_between_elevations_follow_the_parabola() -> None:
    # closed form: 1/v^2 = 2 cos(theta) (L sin(theta) - h cos(theta)) / (g L^2), flight without air
    def speed(degrees: float) -> float:
        e = math.radians(degrees)
        return (2 * math.cos(e) * (5 * math.sin(e) - math.cos(e)) / (9.80665 * 25)) ** -0.5

    rows = {e: ((speed(e), speed(e) + 0.1),) for e in DEGREES}
    cut = sliced(made("parabola", rows))
    for row, found in enumerate(cut.slices):
        # straight between two rows at most 2 deg apart: off by (1 deg)^2 / 2 times the curvature of 1/v^2
        assert found[0][0] == pytest.approx(speed(DEGREES[0] + row * cut.step), abs=5e-3)


def test_parts_of_a_split_window_are_not_joined_across_the_hole() -> None:
    split = made("split", dict.fromkeys(DEGREES, ((6.0, 6.4), (6.6, 7.0))))
    assert served_speeds(split) == [(6.0, 6.4), (6.6, 7.0)]
    assert sliced(split).room(1, 6.5) is None


def test_room_shrinks_with_the_tightest() -> None:
    tight = made("tight", block(48, 52, 6.7, 6.8))
    (setting,) = settings_in_common([NEAR, tight]).one_setting
    assert setting.speed_room_m_s == pytest.approx(0.05)
    assert setting.elevation_deg == 50.0
    assert setting.elevation_room_deg == pytest.approx(2.0)


intervals = st.tuples(st.floats(5.0, 9.0), st.floats(0.05, 2.0)).map(lambda one: (one[0], one[0] + one[1]))
window_rows = st.dictionaries(st.sampled_from(DEGREES), st.tuples(intervals), min_size=1)


@settings(max_examples=30, deadline=None)
@given(st.lists(window_rows, min_size=1, max_size=4))
def test_every_setting_scores_in_every_window_that_it_names(rows: list[Rows]) -> None:
    windows = [made(str(k), one) for k, one in enumerate(rows)]
    common = settings_in_common(windows)
    cut = {f"{w.position} to gate": sliced(w) for w in windows}
    for setting in (*common.one_setting, *common.two_settings):
        row = round((setting.elevation_deg - DEGREES[0]) / (2.0 / FINER))
        for name in setting.serves:
            assert cut[name].room(row, setting.speed_m_s) is not None
    for setting in common.one_elevation:
        k = DEGREES.index(setting.elevation_deg)
        assert all(windows[int(name.split()[0])].intervals_m_s[k] for name in setting.serves)
    assert_sizes(common, len(windows))


def assert_sizes(common: CommonSettings, count: int) -> None:
    """More freedom never serves fewer."""
    one, free = common.one_setting[0], (common.one_elevation[0], common.one_speed[0])
    assert all(len(one.serves) <= len(other.serves) for other in free)
    served = {name for setting in common.two_settings for name in setting.serves}
    assert len(one.serves) <= len(served) <= count
    assert (len(common.one_elevation[0].serves) == count) == bool(common.elevation_ranges_deg)
    json.dumps(common.to_dict(), allow_nan=False)


@given(st.lists(intervals, max_size=8))
def test_merged_intervals_hold_the_same_points(some: list[tuple[float, float]]) -> None:
    union = merged(some)
    assert all(a[1] < b[0] for a, b in itertools.pairwise(union))
    for point in {end for one in some for end in one}:
        assert any(low <= point <= high for low, high in union)
    assert set(groups([union])) == ({1} if some else set())


@pytest.mark.parametrize(
    ("windows", "words"),
    [
        ([], "no window"),
        ([NEAR, made("other", block(44, 54, 6, 7), release_height_m=0.6)], "different release heights"),
        (
            [NEAR, made("other", block(44, 54, 6, 7), spin_parameter=0.3)],
            "different release heights or spins",
        ),
        ([NEAR, made("other", block(44, 54, 6, 7), elevations_deg=DEGREES[1:])], "different elevations"),
    ],
)
def test_windows_that_do_not_fit_together_are_refused(windows: list[ShotWindow], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        settings_in_common(windows)
