"""The torque of a kept cam or spiral gear, as the turn that a drive winds."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.bench.drive_forms import replace_with
from shotwright.bench.kept_parts import kept_part, orders_of
from shotwright.bench.workbook import Workbook
from shotwright.powertrain.drive_file import DriveFile
from shotwright.powertrain.winding_duty import Turn

WINDERS = ("snail-cam", "spiral-gear")
_STEPS = 36  # of the file, over the angle that winds


def winding_parts(book: Workbook) -> tuple[str, ...]:
    """Return the names of the parts of a project that wind a piston."""
    return tuple(order.name for order in orders_of(book) if order.kind in WINDERS)


def part_turn(project: Path, part: str) -> tuple[Turn, float]:
    """Return the turn of a kept part, from the torque of its drawn outline.

    Where the outline would drive the motor, past the nose, the torque counts as none.

    Parameters
    ----------
    project : Path
        The project file.
    part : str
        Name of the part.

    Returns
    -------
    turn : Turn
        In even steps, each with the mean torque over it; the rest of the turn is free. [rad], [N m]
    wound : float
        Angle that winds. [rad]

    Raises
    ------
    BadInput
        No such part, or one that winds nothing.
    """
    made = kept_part(project, part)
    rows = np.array(made.part.torque, dtype=float).reshape(-1, 2)
    # the last corner of a turn is the first of the next
    angle, torque = np.radians(rows[:-1, 0]), np.maximum(rows[:-1, 1], 0.0)
    if not torque.any():
        raise BadInput(f"{made.name} has no torque over a turn: it winds nothing", field="part")
    whole = math.radians(float(rows[-1, 0]) - float(rows[0, 0]))
    last = int(np.flatnonzero(torque > 0)[-1])
    wound = min(float(angle[min(last + 1, len(angle) - 1)] - angle[0]), whole)
    edges = np.linspace(angle[0], angle[0] + wound, _STEPS + 1)
    grid = np.unique(np.concatenate([edges, angle[(angle > edges[0]) & (angle < edges[-1])]]))
    height = np.interp(grid, angle, torque)
    work = np.concatenate([[0.0], np.cumsum(np.diff(grid) * (height[1:] + height[:-1]) / 2)])
    means = np.diff(np.interp(edges, grid, work)) / np.diff(edges)
    steps = tuple((edges - edges[0]).tolist())
    if wound < whole * (1 - 1e-9):
        return Turn((*steps, whole), (*means.tolist(), 0.0)), wound
    return Turn(steps, tuple(means.tolist())), wound


def with_turn(file: DriveFile, project: Path, part: str) -> DriveFile:
    """Return a drive that winds the turn of a kept part.

    Parameters
    ----------
    file : DriveFile
        With a winding.
    project : Path
        The project file.
    part : str
        Name of the part.

    Returns
    -------
    DriveFile
        All else as it was; its notes say so.
    """
    wound = file.needed_winding()
    turn, _ = part_turn(project, part)
    words = f"The torque over a turn is that of the part {part}, from its drawn outline, without friction."
    changed = dataclasses.replace(wound, turn=turn, stored=0.0)
    return dataclasses.replace(file, winding=changed, notes=(words, *file.notes))


def take_turn(project: Path, name: str, part: str) -> str:
    """Put the torque of a kept part into the file of a drive.

    Parameters
    ----------
    project : Path
        The project file.
    name : str
        Of the drive.
    part : str
        Name of the part.

    Returns
    -------
    str
        Its file as it was.
    """
    turn, wound = part_turn(project, part)
    gone = ("torque", "stiffness", "preload", "stroke", "slide_friction", "shape", "taper")
    fields = {f"winding.{key}": "" for key in gone} | {
        "winding.turn": f"{math.degrees(turn.angles[-1]):.6g} deg",
        "winding.wound": f"{math.degrees(wound):.6g} deg",
        "winding.torques": ", ".join(f"{one:.4g} N m" for one in turn.torques[:_STEPS]),
    }
    return replace_with(project, name, fields)
