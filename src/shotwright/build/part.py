"""A part to be made: its drawings, its figures, and what a crew is asked before it is drawn."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:  # the help of a verb reads the fields of a kind, and must not wait for arrays
    from shotwright.build.outline import Drawing, Title


@dataclass(frozen=True, slots=True)
class Field:
    """One thing that is asked before a part is drawn: an option of the command, a line of the form.

    Parameters
    ----------
    key : str
        Name in files and options: ``"bolt_circle"``.
    label : str
        In a form: ``"Bolt circle"``.
    kind : str
        A kind of quantity of `shotwright.base.quantities`, or ``"number"``, ``"whole"``, ``"choice"``,
        ``"text"`` (one line), ``"lines"`` (several, e.g. a table of readings).
    default : str
        As a person would type it; "" when the field may stay empty (its value is then None).
    help : str
        One line.
    above, least, most : float, optional
        Bounds in SI.
    choices : tuple of str
        For a choice.
    needed : bool
        An empty field is refused.
    """

    key: str
    label: str
    kind: str
    default: str = ""
    help: str = ""
    above: float | None = None
    least: float | None = None
    most: float | None = None
    choices: tuple[str, ...] = ()
    needed: bool = False


@dataclass(frozen=True, slots=True)
class Order:
    """What is known of every part before it is drawn.

    Parameters
    ----------
    name : str
        Of the part.
    project : str
        Name of the project, or "".
    date : datetime.date
        Printed on the drawing.
    material : str
        In the crew's words.
    thickness_m : float
        Of the material. [m]
    coarse : bool
        A preview that may be rough, to be had within a fifth of a second.
    """

    name: str
    project: str
    date: datetime.date
    material: str
    thickness_m: float
    coarse: bool = False

    def title(
        self, caution: str, *, name: str = "", module_m: float | None = None, notes: tuple[str, ...] = ()
    ) -> Title:
        """Title of a drawing of this order; `name` where the part has several drawings."""
        from shotwright.build.outline import Title

        return Title(
            part=name or self.name,
            project=self.project,
            material=self.material,
            thickness_m=self.thickness_m,
            date=self.date,
            caution=caution,
            module_m=module_m,
            notes=notes,
        )


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """A part as it comes from the numbers it was asked for.

    Parameters
    ----------
    drawings : tuple of Drawing
        At their true size, without kerf; none for a part that is bought, such as a spring.
    figures : dict
        Plain data for ``--json``; names carry their unit.
    rows : tuple of (str, str)
        The figures that a person wants first, in words: name and value with unit.
    words : tuple of str
        What to know, in sentences.
    cautions : tuple of str
        What can hurt.
    torque : tuple of (float, float)
        Turn [deg] and torque on the shaft [N m] from the drawn outline; empty when it does not turn a shaft.
    others : tuple of (str, tuple)
        Other ways to do the same, to be shown beside: name, and turn and torque as above.
    """

    drawings: tuple[Drawing, ...]
    figures: dict[str, Any]
    rows: tuple[tuple[str, str], ...]
    words: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    torque: tuple[tuple[float, float], ...] = ()
    others: tuple[tuple[str, tuple[tuple[float, float], ...]], ...] = ()


@dataclass(frozen=True, slots=True)
class PartKind:
    """A kind of part that can be made.

    Parameters
    ----------
    key : str
        Name in files and options: ``"hub-plate"``.
    label : str
        In a form: ``"Hub plate"``.
    about : str
        What it is, one sentence.
    fields : tuple of Field
        What is asked, material, thickness and kerf apart.
    make : str
        Where the function stands that makes it, ``"module:function"``. It takes the fields' values by key (SI
        numbers, text, or None for an empty field) and the :class:`Order`, and returns a :class:`Part`.
    thickness : str
        Usual thickness of the material, as typed.
    """

    key: str
    label: str
    about: str
    fields: tuple[Field, ...]
    make: str
    thickness: str = "6 mm"
