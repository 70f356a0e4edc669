"""The map of recovery time over gear ratio and wheel, and what one place of it means."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.notebook.figures.sweep_map import MapPanel, even_edges, map_frame, sweep_map
from shotwright.powertrain.drive_file import DriveFile
from shotwright.powertrain.recovery_map import recovery_map, with_ratio
from shotwright.powertrain.train import BuildableTrain, Train, nearest_trains, stage
from shotwright.powertrain.wheel_duty import Drive, Duty, Wheel, recovery_time, spin_up

FloatArray = NDArray[np.float64]
CELLS = 40  # of a map, each way


@dataclass(frozen=True, slots=True)
class RecoveryPicture(Result):
    """A map with the place of its axes, so that a click can be read.

    Parameters
    ----------
    svg : str
        The map.
    left, top, width, height : float
        Of the axes within the picture. [px]
    ratios, inertias_kg_m2 : (float, float)
        Ends of the axes.
    words : str
        What is marked.
    origin : {"predicted"}
        Always.
    """

    svg: str
    left: float
    top: float
    width: float
    height: float
    ratios: tuple[float, float]
    inertias_kg_m2: tuple[float, float]
    words: str
    origin: Literal["predicted"] = "predicted"


@dataclass(frozen=True, slots=True)
class RecoverySpot(Result):
    """One ratio and wheel.

    Parameters
    ----------
    ratio : float
        [-]
    inertia_kg_m2 : float
        Of the wheel, without rotors.
    recovery_s, ready_s : float, optional
        From a shot, and from rest, until the wheel is ready, cold; None when it never is.
    train : BuildableTrain, optional
        Nearest that the owned gears make; None when the file names none.
    words : tuple of str
        In plain sentences.
    """

    ratio: float
    inertia_kg_m2: float
    recovery_s: float | None
    ready_s: float | None
    train: BuildableTrain | None
    words: tuple[str, ...]


def recovery_panel(
    drive: Drive,
    duty: Duty,
    ratios: Sequence[float],
    inertias: Sequence[float],
    best: tuple[float, float],
    best_name: str,
    title: str,
) -> tuple[MapPanel, FloatArray]:
    """Compute a map and say how it is drawn.

    Parameters
    ----------
    drive, duty
        Motors, supply, efficiencies; set point, ready share and ball.
    ratios, inertias : sequence of float
        Middles of the cells, evenly spaced. [-], [kg m^2]
    best : (float, float)
        Ratio and inertia to mark.
    best_name, title : str
        Of the mark, and of the map.

    Returns
    -------
    MapPanel
        In milliseconds.
    ndarray, shape (inertias, ratios)
        [s]; infinite where the speed is not reached.
    """
    cells = recovery_map(_geared(drive), duty, ratios, inertias).T
    known = 1e3 * cells[np.isfinite(cells)]
    panel = MapPanel(
        title=title,
        x_label="ratio",
        y_label="inertia of the wheel [kg cm²]",
        x=np.array(ratios),
        y=1e4 * np.array(inertias),
        values=np.where(np.isfinite(cells), 1e3 * cells, math.nan),
        edges=even_edges(known, 12) if known.size else (0.0, 1.0),
        unit=" ms",
        best=(best[0], 1e4 * best[1]),
        best_name=best_name,
    )
    return panel, cells


def _geared(drive: Drive) -> Drive:
    """Return a drive whose ratio can change; a motor on the wheel's shaft gets a stage of 1."""
    return drive if drive.train.stages else dataclasses.replace(drive, train=Train((stage("spur", 1.0),)))


def built_panel(file: DriveFile) -> MapPanel:
    """Compute the map around the drive as it is built.

    Parameters
    ----------
    file : DriveFile
        With a wheel.

    Returns
    -------
    MapPanel
        From a third of ratio and wheel to three times, and what the search names.
    """
    drive, duty = file.needed_wheel()
    ratio, inertia = drive.train.ratio, drive.wheel.inertia
    low, high = max(ratio / 3, min(file.ratios[0], ratio)), min(3 * ratio, max(file.ratios[1], ratio))
    ratios = np.linspace(low, max(high, 1.01 * low), CELLS)
    wheels = np.linspace(
        min(inertia / 3, *file.inertias, inertia), max(2 * inertia, *file.inertias, inertia), CELLS
    )
    title = f"Predicted recovery of {drive.motors} x {drive.motor.name}, cold"
    panel, _ = recovery_panel(
        drive, duty, ratios.tolist(), wheels.tolist(), (ratio, inertia), "as built", title
    )
    return panel


def recovery_picture(file: DriveFile, width: float) -> RecoveryPicture:
    """Draw the map around the drive as it is built.

    Parameters
    ----------
    file : DriveFile
        With a wheel.
    width : float
        Room. [px]

    Returns
    -------
    RecoveryPicture
        As :func:`built_panel`, with the place of its axes.
    """
    drive, _ = file.needed_wheel()
    panel = built_panel(file)
    ratios, wheels = panel.x, 1e-4 * panel.y
    frame = map_frame(panel, width)
    half = 0.5 * (ratios[1] - ratios[0]), 0.5 * (wheels[1] - wheels[0])
    return RecoveryPicture(
        svg=sweep_map(panel, key="recovery", width=width).svg(),
        left=frame.left,
        top=frame.top,
        width=frame.width,
        height=frame.height,
        ratios=(float(ratios[0] - half[0]), float(ratios[-1] + half[0])),
        inertias_kg_m2=(float(wheels[0] - half[1]), float(wheels[-1] + half[1])),
        words=(
            f"As built: ratio {drive.train.ratio:.4g}, wheel of {1e4 * drive.wheel.inertia:.4g} kg cm². "
            "White: never ready."
        ),
    )


def recovery_at(file: DriveFile, ratio: float, inertia: float) -> RecoverySpot:
    """Tell what one ratio and wheel would do, and which owned gears come nearest.

    Parameters
    ----------
    file : DriveFile
        With a wheel.
    ratio : float
        [-]
    inertia : float
        Of the wheel. [kg m^2]

    Returns
    -------
    RecoverySpot
        Cold, with the battery as it starts.

    Raises
    ------
    BadInput
        Ratio or inertia is not above zero.
    """
    if not (ratio > 0 and math.isfinite(ratio)):
        raise BadInput(f"{ratio:g} is not a ratio; it must be above zero", field="ratio")
    drive, duty = file.needed_wheel()
    geared = _geared(drive)
    wheel = Wheel(inertia, drive.wheel.friction)
    built = dataclasses.replace(geared, train=with_ratio(geared.train, ratio), wheel=wheel)
    ready = spin_up(built, duty.ready * duty.speed).time_s
    recovery = recovery_time(built, duty) if math.isfinite(ready) else math.inf
    what = f"Ratio {ratio:.4g}, wheel of {1e4 * inertia:.4g} kg cm²"
    if math.isfinite(recovery):
        words = [f"{what}: ready {ready:.2f} s from rest, and {1e3 * recovery:.0f} ms after a shot, cold."]
    else:
        words = [f"{what}: never ready at {duty.speed * 30 / math.pi:.0f} rpm."]
    train = nearest_trains(ratio, file.teeth, file.stages, 1)[0] if len(file.teeth) > 1 else None
    if train is not None:
        gears = ", then ".join(f"{a} drives {b}" for a, b in train.pairs)
        words.append(f"Your gears come to {train.ratio:.4g} ({100 * train.error:+.2g} %): {gears}.")
    return RecoverySpot(
        ratio,
        inertia,
        recovery if math.isfinite(recovery) else None,
        ready if math.isfinite(ready) else None,
        train,
        tuple(words),
    )
