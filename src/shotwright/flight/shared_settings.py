"""Which firing positions can share a setting: one elevation, one speed, both, or two settings.

Windows are known exactly at the elevations that were looked at. Between two neighbouring ones their edges
are interpolated, which is good to 1 to 3 mm/s at a step of one degree, except beside a window's first and
last elevation; a result that rests on such an elevation says so.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.flight.window_edges import Interval
from shotwright.flight.window_slices import (
    FINER,
    Room,
    SlicedWindow,
    chosen,
    groups,
    served_elevations,
    served_speeds,
    shared,
    sliced,
    tightest,
)
from shotwright.flight.windows import ShotWindow

_SPEEDS_TRIED = 60  # of a range that is shared


@dataclass(frozen=True, slots=True)
class SharedSetting(Result):
    """One setting, or one fixed half of it, and the positions it serves.

    Parameters
    ----------
    serves : tuple of str
        Names of the windows, ``"position to target"``.
    elevation_deg : float, optional
        Elevation; None where only the speed is fixed. [deg]
    speed_m_s : float, optional
        Speed; None where only the elevation is fixed. [m/s]
    elevation_room_deg, speed_room_m_s : float
        How far the elevation, at the same speed, and the speed, at the same elevation, may be off to either
        side before the tightest of the positions is lost. Where one half is free, each position uses its own
        best value of it. [deg], [m/s]
    between_elevations : bool
        Whether it rests on an elevation between those looked at.
    """

    serves: tuple[str, ...]
    elevation_deg: float | None
    speed_m_s: float | None
    elevation_room_deg: float
    speed_room_m_s: float
    between_elevations: bool = False


@dataclass(frozen=True, slots=True)
class CommonSettings(Result):
    """What a set of firing positions can share.

    Parameters
    ----------
    windows : tuple of str
        Names of the windows that are open, ``"position to target"``.
    blocked : tuple of str
        Names of windows in which nothing scores; they are left out of everything below.
    elevation_ranges_deg : tuple of (float, float)
        Fixed elevations that serve all, speed free; empty when there is none. [deg]
    speed_ranges_m_s : tuple of (float, float)
        Fixed speeds that serve all, elevation free; empty when there is none. [m/s]
    one_elevation, one_speed, one_setting : tuple of SharedSetting
        The largest groups that one fixed elevation, one fixed speed, one setting of both can serve: all
        groups of the greatest size, each with the value that leaves the most room.
    two_elevations, two_speeds, two_settings : tuple of SharedSetting
        The pair that together serves the most, and among those leaves the most room; one entry where one
        serves all.
    elevation_step_deg : float
        Distance between the elevations looked at. [deg]
    words : tuple of str
        In plain sentences.
    """

    windows: tuple[str, ...]
    blocked: tuple[str, ...]
    elevation_ranges_deg: tuple[Interval, ...]
    speed_ranges_m_s: tuple[Interval, ...]
    one_elevation: tuple[SharedSetting, ...]
    one_speed: tuple[SharedSetting, ...]
    one_setting: tuple[SharedSetting, ...]
    two_elevations: tuple[SharedSetting, ...]
    two_speeds: tuple[SharedSetting, ...]
    two_settings: tuple[SharedSetting, ...]
    elevation_step_deg: float
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A setting, the windows that it serves as bits, and its room."""

    mask: int
    room: Room
    elevation: float | None
    speed: float | None
    between: bool

    @property
    def worth(self) -> tuple[float, float]:
        """What makes one candidate better than another."""
        return self.room.kept, self.room.speed

    def setting(self, names: Sequence[str]) -> SharedSetting:
        """Write it as a result."""
        return SharedSetting(
            serves=tuple(chosen(names, self.mask)),
            elevation_deg=self.elevation,
            speed_m_s=self.speed,
            elevation_room_deg=self.room.elevation,
            speed_room_m_s=self.room.speed,
            between_elevations=self.between,
        )


def settings_in_common(windows: Sequence[ShotWindow]) -> CommonSettings:
    """Find what a set of windows has in common.

    Parameters
    ----------
    windows : sequence of ShotWindow
        Of one launcher: same release height, spin and elevations. Blocked ones are named and left out.

    Returns
    -------
    CommonSettings
        Ranges that serve all, largest groups, best pairs.

    Raises
    ------
    BadInput
        No window, or windows of different launchers or elevations.

    Notes
    -----
    Room is compared by the chance that a launch of the windows' spread stays within it, in speed and in
    elevation, at the tightest position. That compares settings; it is no hit probability.
    """
    _check_alike(windows)
    opened = [window for window in windows if not window.blocked]
    names = tuple(_name(window) for window in opened)
    degrees = windows[0].elevations_deg
    step = degrees[1] - degrees[0] if len(degrees) > 1 else 0.0
    cut = [sliced(window) for window in opened]
    by_elevation = _elevation_candidates(opened, cut)
    by_speed = _speed_candidates(opened, cut)
    by_setting = _setting_candidates(opened, cut)
    common = CommonSettings(
        windows=names,
        blocked=tuple(_name(window) for window in windows if window.blocked),
        elevation_ranges_deg=tuple(shared([served_elevations(w) for w in opened])),
        speed_ranges_m_s=tuple(shared([served_speeds(w) for w in opened])),
        one_elevation=_largest(by_elevation, names),
        one_speed=_largest(by_speed, names),
        one_setting=_largest(by_setting, names),
        two_elevations=_best_pair(by_elevation, names),
        two_speeds=_best_pair(by_speed, names),
        two_settings=_best_pair(by_setting, names),
        elevation_step_deg=step,
        words=(),
    )
    return replace(common, words=_words(common))


def _name(window: ShotWindow) -> str:
    return f"{window.position} to {window.target}"


def _check_alike(windows: Sequence[ShotWindow]) -> None:
    if not windows:
        raise BadInput("there is no window to compare; give at least one", field="windows")
    first = windows[0]
    for other in windows[1:]:
        launcher = (other.release_height_m, other.spin_parameter, other.spin_rev_s)
        if launcher != (first.release_height_m, first.spin_parameter, first.spin_rev_s):
            raise BadInput(
                f"{_name(other)} and {_name(first)} are for different release heights or spins; a setting is "
                "shared by one launcher only",
                field="windows",
            )
        if other.elevations_deg != first.elevations_deg:
            raise BadInput(
                f"{_name(other)} and {_name(first)} look at different elevations; use the same range and "
                "number of elevations for all",
                field="windows",
            )


def _elevation_candidates(opened: Sequence[ShotWindow], cut: Sequence[SlicedWindow]) -> list[_Candidate]:
    """For each group that one elevation serves, the elevation looked at that has the most room."""
    best: dict[int, _Candidate] = {}
    for k, elevation in enumerate(opened[0].elevations_deg if opened else ()):
        mask = sum(1 << n for n, window in enumerate(opened) if window.intervals_m_s[k])
        rooms = [one.best_at_elevation(k * FINER) for one in chosen(cut, mask)]
        if mask:
            room = tightest([one for one in rooms if one])
            _keep(best, _Candidate(mask, room, elevation, None, between=False))
    return list(best.values())


def _speed_candidates(opened: Sequence[ShotWindow], cut: Sequence[SlicedWindow]) -> list[_Candidate]:
    """For each group that one speed serves, the speed with the most room."""
    best: dict[int, _Candidate] = {}
    for mask, ranges in groups([served_speeds(window) for window in opened]).items():
        for low, high in ranges:
            for n in range(_SPEEDS_TRIED):
                speed = low + (high - low) * (n + 0.5) / _SPEEDS_TRIED
                rooms = [one.best_at_speed(speed) for one in chosen(cut, mask)]
                known = [one for one in rooms if one]
                # a speed that scores between slices only has no room worth naming
                room = tightest(known) if len(known) == len(rooms) else Room(0.0, 0.0, 0.0)
                exact = all(
                    any(a <= speed <= b for row in window.intervals_m_s for a, b in row)
                    for window in chosen(opened, mask)
                )
                _keep(best, _Candidate(mask, room, None, speed, between=not exact))
    return list(best.values())


def _setting_candidates(opened: Sequence[ShotWindow], cut: Sequence[SlicedWindow]) -> list[_Candidate]:
    """For each group that one setting serves, the setting with the most room."""
    best: dict[int, _Candidate] = {}
    for row in range(len(cut[0].slices) if cut else 0):
        elevation = opened[0].elevations_deg[0] + row * cut[0].step
        for mask, ranges in groups([one.slices[row] for one in cut]).items():
            for low, high in ranges:
                speed = 0.5 * (low + high)
                rooms = [one.room(row, speed) for one in chosen(cut, mask)]
                room = tightest([one for one in rooms if one])
                _keep(best, _Candidate(mask, room, elevation, speed, between=row % FINER != 0))
    return list(best.values())


def _keep(best: dict[int, _Candidate], found: _Candidate) -> None:
    """Keep the roomier candidate of a group."""
    known = best.get(found.mask)
    if known is None or found.worth > known.worth:
        best[found.mask] = found


def _largest(candidates: Sequence[_Candidate], names: Sequence[str]) -> tuple[SharedSetting, ...]:
    """Groups of the greatest size, the roomiest first."""
    size = max((c.mask.bit_count() for c in candidates), default=0)
    kept = sorted((c for c in candidates if c.mask.bit_count() == size), key=lambda c: c.worth, reverse=True)
    return tuple(c.setting(names) for c in kept)


def _best_pair(candidates: Sequence[_Candidate], names: Sequence[str]) -> tuple[SharedSetting, ...]:
    """The pair that serves most; one candidate alone where a second serves no more."""
    pairs = list(itertools.combinations_with_replacement(candidates, 2))
    if not pairs:
        return ()

    def worth(pair: tuple[_Candidate, _Candidate]) -> tuple[int, bool, tuple[float, float]]:
        alone = pair[0] is pair[1]
        return (pair[0].mask | pair[1].mask).bit_count(), alone, min(pair[0].worth, pair[1].worth)

    best = max(pairs, key=worth)
    first, second = sorted(best, key=lambda c: -c.mask.bit_count())
    return (first.setting(names),) if first is second else (first.setting(names), second.setting(names))


def _words(common: CommonSettings) -> tuple[str, ...]:
    sentences = [f"{name} is blocked and left out" for name in common.blocked]
    if not common.windows:
        return (*sentences, "no position has a shot that scores")
    sentences += [
        _one("fixed elevation", common.one_elevation, common.elevation_ranges_deg, "°", common.windows),
        _one("fixed speed", common.one_speed, common.speed_ranges_m_s, " m/s", common.windows),
        _one("setting", common.one_setting, (), "", common.windows),
    ]
    if len(common.one_setting[0].serves) < len(common.windows):
        sentences.append(_two(common))
    shown = (*common.one_speed, *common.one_setting, *common.two_settings)
    if any(setting.between_elevations for setting in shown):
        sentences.append(
            f"elevations were looked at every {common.elevation_step_deg:.3g}°; between them the edges of "
            "a window are interpolated: check such a setting before it is built in"
        )
    return tuple(sentences)


def _one(
    what: str,
    groups: Sequence[SharedSetting],
    ranges: Sequence[Interval],
    unit: str,
    windows: tuple[str, ...],
) -> str:
    count, best = len(windows), groups[0]
    if len(best.serves) == count:
        whom = f"all {count}" if count > 1 else "it"
        reach = " or ".join(f"{low:.4g} to {high:.4g}{unit}" for low, high in ranges)
        return f"one {what} serves {whom}: {f'{reach}, with most room at ' if reach else ''}{_value(best)}"
    if len(best.serves) == 1:
        return f"no {what} serves two of the {count}"
    return f"no {what} serves all {count}; {_value(best)} serves {len(best.serves)}: {', '.join(best.serves)}"


def _two(common: CommonSettings) -> str:
    pair = common.two_settings
    done: list[str] = []
    parts = []
    for setting in pair:
        parts.append(f"{_value(setting)} for {', '.join(n for n in setting.serves if n not in done)}")
        done += setting.serves
    left = [name for name in common.windows if name not in done]
    if left:
        served = f"two settings serve {len(set(done))} of {len(common.windows)}: {'; '.join(parts)}"
        return f"{served}; not {', '.join(left)}"
    return f"two settings serve all {len(common.windows)}: {'; '.join(parts)}"


def _value(setting: SharedSetting) -> str:
    if setting.speed_m_s is None:
        return f"{setting.elevation_deg:.3g}°"
    if setting.elevation_deg is None:
        return f"{setting.speed_m_s:.4g} m/s"
    return f"{setting.speed_m_s:.4g} m/s at {setting.elevation_deg:.3g}°"
