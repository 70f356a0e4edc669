"""What measuring on video must give: moments of a streak, a parabola's launch, a turn too fast, a lens."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator

import numpy as np

from shotwright.flight.model import flight_model
from shotwright.game.records import Ball, CoefficientLaw, Weather
from shotwright.published.table import Check
from shotwright.trials.measure.ball_spin import spin_of
from shotwright.trials.measure.ball_tracks import Track, TrackPoint
from shotwright.trials.measure.flight_fit import ELEVATION, SPEED, FittedFlight, Priors, fit_flight
from shotwright.trials.measure.flight_plane import level_camera, plane_by_length
from shotwright.trials.measure.lens import Lens
from shotwright.trials.measure.streak import Streak, streak_of

_MOMENTS = "closed form: second moments of a disc, r²/4, and of a line, L²/12"
_PARABOLA = "closed form: motion under gravity alone"
_SAMPLING = "closed form: turns a whole number of turns a frame apart look the same (sampling theorem)"
_BROWN = "closed form: Brown's radial model (Photogrammetric Engineering 37, 855, 1971; from memory), by hand"
_RADIUS, _LENGTH = 9.0, 12.0  # px
_SPEED, _ELEVATION = 6.2, math.radians(48.0)


@functools.cache
def _streak() -> Streak:
    """A disc that moves during the exposure, drawn by brute force on sub-pixels."""
    fine = (np.arange(60 * 5) + 0.5) / 5 - 0.5
    x, y = np.meshgrid(fine, fine)
    steps = ((np.arange(61) + 0.5) / 61 - 0.5) * _LENGTH
    cover = np.mean([np.hypot(x - 29.7 - s, y - 30.2) < _RADIUS for s in steps], axis=0)
    found = streak_of(cover.reshape(60, 5, 60, 5).mean(axis=(1, 3)))
    assert found is not None
    return found


@functools.cache
def _thrown() -> FittedFlight:
    """A ball without air, seen at 60 frames a second with 200 pixels to the metre."""
    law = CoefficientLaw("constant", constant=0.0)
    vacuum = flight_model(Ball("b", 0.15, 0.165, law, CoefficientLaw("none")), Weather(), density=1e-9)
    t = np.arange(45) / 60
    x = 100 + 200 * _SPEED * math.cos(_ELEVATION) * t
    y = 600 - 200 * (_SPEED * math.sin(_ELEVATION) * t - 0.5 * vacuum.gravity * t**2)
    rows = zip(t.tolist(), x.tolist(), y.tolist(), strict=True)
    track = Track(tuple(TrackPoint(k, s, u, v, 15.0, 0.0, 1.0) for k, (s, u, v) in enumerate(rows)))
    plane = plane_by_length((100.0, 600.0), (900.0, 600.0), 4.0, level_camera(), 0.5)
    return fit_flight(track, plane, vacuum, Priors(drag_sd=0.0, lift_sd=0.0))


def _turn() -> float:
    """A dot that turns 23 times a second, filmed with 20 frames a second."""
    t = np.arange(30) / 20
    return spin_of(t, list(np.exp(-2j * math.pi * 23.0 * t)), 1, to_the_right=True).spin_rev_s.value


def _bent() -> float:
    lens = Lens(1000, 800, 500.0, 500.0, 400.0, -0.1, 0.02)
    return float(lens.bent(np.array([[650.0, 400.0]]))[0, 0])


def _checks() -> Iterator[Check]:
    yield Check("radius of a ball that moves by 12 px while the shutter is open [px]", _MOMENTS, "identity",
                _RADIUS, 0.05, lambda: _streak().radius)  # fmt: skip
    yield Check("length of its streak [px]", _MOMENTS, "identity", _LENGTH, 0.15, lambda: _streak().length)
    yield Check("speed fitted to a ball without air [m/s]", _PARABOLA, "identity",
                _SPEED, 1e-5, lambda: float(_thrown().values[SPEED]))  # fmt: skip
    yield Check("its elevation [deg]", _PARABOLA, "identity",
                48.0, 1e-4, lambda: math.degrees(_thrown().values[ELEVATION]))  # fmt: skip
    yield Check("23 turns a second at 20 frames a second [rev/s]", _SAMPLING, "identity", 3.0, 1e-4, _turn)
    # u = 0.3: 0.3 (1 - 0.1 x 0.09 + 0.02 x 0.0081) = 0.2973486
    yield Check("pixel 650 through a lens with k1 = -0.1, k2 = 0.02, focal length 500 px", _BROWN, "identity",
                648.6743, 1e-4, _bent)  # fmt: skip


CHECKS: tuple[Check, ...] = tuple(_checks())
