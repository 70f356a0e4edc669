"""What a shot of a launcher on paper does to the wheel that its drive turns."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.base.plain import Result
from shotwright.bench.drive_forms import replace_with
from shotwright.bench.workbook import Workbook, read_workbook
from shotwright.launcher.wheels import WheelLauncher
from shotwright.powertrain.drive_file import DriveFile
from shotwright.powertrain.wheel_duty import ball_inertia

_RPM = 2 * math.pi / 60


@dataclass(frozen=True, slots=True)
class Jolt(Result):
    """The wheel that a shot slows most, at the launcher's stated settings.

    Parameters
    ----------
    prototype, wheel : str
        Whose, and which of its wheels.
    speed_rad_s : float
        Before the shot.
    rim_before_m_s, rim_after_m_s : float
        Of its surface.
    ball_inertia_kg_m2 : float
        What the ball adds for the jolt, with the launcher's own inertia of that wheel.
    words : tuple of str
        In plain sentences.
    origin : {"predicted"}
        Always.
    """

    prototype: str
    wheel: str
    speed_rad_s: float
    rim_before_m_s: float
    rim_after_m_s: float
    ball_inertia_kg_m2: float
    words: tuple[str, ...]
    origin: Literal["predicted"] = "predicted"


def jolt_of(book: Workbook, prototype: str) -> Jolt:
    """Predict the jolt of a shot from the launcher model of a prototype.

    Parameters
    ----------
    book : Workbook
        The loaded project; it has a game.
    prototype : str
        Whose launcher file describes wheels of one radius.

    Returns
    -------
    Jolt
        Of the wheel that loses most.

    Raises
    ------
    BadInput
        No such prototype, no launcher file, no wheels, or no ball thrown.
    """
    (named,) = book.some_prototypes((prototype,))
    described = book.launcher_of(named.name)
    if described is None or not isinstance(described.launcher, WheelLauncher):
        raise BadInput(
            f"{named.name} has no launcher file with driven wheels; there is: "
            f"{', '.join(wheel_prototypes(book)) or 'none'}",
            field="launcher",
        )
    means = described.means(book.needed_game().ball)
    shot = described.release(means)
    laid = described.launcher.layout({name: np.array([value]) for name, value in means.items()})
    if not shot.speed[0] > 0:
        raise BadInput(f"{named.name} throws no ball at its stated settings", field="launcher")
    radius, inertia = means["wheel_radius"], means["wheel_inertia"]
    before = np.array([float(np.ravel(one.rim_speed)[0]) for one in laid.surfaces[: laid.wheels]])
    after = shot.rim_speeds[0, : laid.wheels]
    worst = int(np.argmax(before / np.maximum(after, 1e-12)))
    name = laid.surfaces[worst].name
    given = ball_inertia(float(before[worst]), float(after[worst]), inertia)
    words = (
        f"{named.name}, {name}: a shot slows its surface from {before[worst]:.3g} to {after[worst]:.3g} m/s; "
        f"the ball counts as {1e4 * given:.3g} kg cm² at {before[worst] / radius / _RPM:.0f} rpm."
    )
    return Jolt(
        prototype=named.name,
        wheel=name,
        speed_rad_s=float(before[worst] / radius),
        rim_before_m_s=float(before[worst]),
        rim_after_m_s=float(after[worst]),
        ball_inertia_kg_m2=given,
        words=(words,),
    )


def wheel_prototypes(book: Workbook) -> tuple[str, ...]:
    """Return the prototypes whose launcher file describes driven wheels of one radius."""
    return tuple(one.prototype for one in book.launchers if isinstance(one.launcher, WheelLauncher))


def with_jolt(file: DriveFile, jolt: Jolt) -> DriveFile:
    """Return a drive with set point and jolt of a launcher.

    Parameters
    ----------
    file : DriveFile
        With a wheel.
    jolt : Jolt
        Of the launcher.

    Returns
    -------
    DriveFile
        All else as it was; its notes say so.
    """
    _, duty = file.needed_wheel()
    changed = dataclasses.replace(duty, speed=jolt.speed_rad_s, ball_inertia=jolt.ball_inertia_kg_m2)
    return dataclasses.replace(file, duty=changed, notes=(*jolt.words, *file.notes))


def take_jolt(project: Path, name: str, prototype: str) -> str:
    """Put set point and jolt of a launcher into the file of a drive.

    Parameters
    ----------
    project : Path
        The project file.
    name : str
        Of the drive.
    prototype : str
        Whose launcher.

    Returns
    -------
    str
        Its file as it was.
    """
    jolt = jolt_of(read_workbook(project), prototype)
    fields = {
        "wheel.speed": f"{jolt.speed_rad_s / _RPM:.0f} rpm",
        "wheel.ball_inertia": f"{1e4 * jolt.ball_inertia_kg_m2:.4g} kg cm^2",
        "wheel.rim_speed_before": "",
        "wheel.rim_speed_after": "",
    }
    return replace_with(project, name, fields)
