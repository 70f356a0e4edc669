"""Springs: by dimensions, by the crew's own readings, or searched in a list of those at hand."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate, in_words
from shotwright.base.toml_tables import Section, raise_problems, read_text
from shotwright.bench.pictures import write_picture
from shotwright.bench.spring_cautions import HOOK_CAUTION, RUBBER_CAUTION, STORED_CAUTION
from shotwright.bench.spring_files import (
    ForceReadings,
    read_coil,
    read_force_text,
    read_springs,
    typed_section,
)
from shotwright.bench.spring_results import SpringReport, TubeInUse
from shotwright.build.coil_spring import FIXITY, Coil, CoilInUse, coil_in_use
from shotwright.build.elastic_tube import SOFT_RUBBER, Tube
from shotwright.build.force_curve import ForceCurve, polynomial_force
from shotwright.build.force_readings import MeasuredSpring, measured_curve, measured_spring, smooth_fit
from shotwright.build.springs_at_hand import SpringWish, search_springs
from shotwright.notebook.figures.force_curve import ForceLine, force_chart

__all__ = ["find_spring", "readings_text", "spring_by_readings", "spring_by_size", "write_picture"]

_SIDE = 720.0  # px
_POINTS = 101


def spring_by_size(typed: Mapping[str, Any]) -> SpringReport:
    """Follow a spring given by its dimensions over a stroke.

    Parameters
    ----------
    typed : mapping
        ``kind`` (compression, extension, tube), the keys of a coil or a tube, ``free_length``, ``preload``,
        ``stroke``, ``fixity``, as typed.

    Returns
    -------
    SpringReport
        With forces, energies, stress and margins.

    Raises
    ------
    BadInput
        What is missing or can't be.
    """
    problems: list[BadInput] = []
    part = typed_section(typed, problems)
    free = part.quantity("free_length", "length", "120 mm", above=0.0)
    preload = part.quantity("preload", "length", "40 mm", 0.0, least=0.0)
    stroke = part.quantity("stroke", "length", "90 mm", above=0.0)
    if typed.get("kind") == "tube":
        return _tube(part, free, preload, stroke)
    fixity = part.choice("fixity", tuple(FIXITY), "both ends flat and guided")
    tension = part.quantity("tension", "force", "8 N", 0.0, least=0.0)
    coil = read_coil(part, free, tension)
    part.finish()
    raise_problems(problems)
    assert coil is not None
    told = coil_in_use(coil, preload, stroke, fixity=FIXITY[fixity])
    curve = polynomial_force(
        [coil.initial_tension + told.rate_n_m * preload, told.rate_n_m], stroke, "dimensions"
    )
    cautions = (STORED_CAUTION,) if coil.kind == "compression" else (STORED_CAUTION, HOOK_CAUTION)
    return SpringReport(
        title=f"{coil.kind} spring, wire {1e3 * coil.wire:.4g} mm, {coil.turns:g} turns",
        preload_m=preload,
        stroke_m=stroke,
        coil=told,
        curve_mm_n=_points(curve),
        svg=_computed_picture(curve, preload),
        words=_coil_words(coil, told),
        cautions=cautions,
    )


def _coil_words(coil: Coil, told: CoilInUse) -> tuple[str, ...]:
    words = [
        (
            f"Rate {told.rate_n_m:.4g} N/m; {told.front_n:.3g} N at the front stop, {told.wound_n:.3g} N "
            f"wound. The stroke gives {told.usable_j:.3g} J; {told.stored_j:.3g} J sit in the wound spring."
        )
    ]
    if isinstance(told.margin, float):
        verdict = "It would set" if told.margin < 1 else "It holds" if told.margin >= 1.2 else "It just holds"
        words.append(
            f"{verdict}: {told.stress_pa / 1e6:.0f} MPa in the wire (Wahl's factor {told.wahl:.3f}), yield "
            f"at {float(told.stress_pa * told.margin) / 1e6:.0f} MPa, margin {told.margin:.2f}; 1.2 or more "
            "is common practice."
        )
    else:
        words.append(f"{told.stress_pa / 1e6:.0f} MPa in the wire; no margin: {told.margin.reason}.")
    if told.left_m is not None and told.left_m < 0.1 * (coil.free_length - coil.solid_length):
        words.append(
            f"Only {1e3 * told.left_m:.3g} mm are left until the coils touch; a tenth of the deflection to "
            "solid is common practice."
        )
    if told.buckles:
        words.append(
            f"It can buckle: its free length is above {1e3 * (told.stable_length_m or 0):.0f} mm. Run it "
            "over a rod or in a tube."
        )
    words.append(
        f"Surge at {told.surge_hz:.0f} Hz; {1e3 * told.mass_kg:.3g} g of wire, of which about a third moves "
        "with the piston."
    )
    return tuple(words)


def _tube(part: Section, free: float, preload: float, stroke: float) -> SpringReport:
    part.know("kind")
    outside = part.quantity("outside", "length", "10 mm", above=0.0)
    inside = part.quantity("inside", "length", "6 mm", 0.0, least=0.0)
    modulus = part.quantity("shear_modulus", "pressure", "0.4 MPa", SOFT_RUBBER, above=0.0)
    strands = int(part.number("strands", 1, "2", least=1))
    part.finish()
    raise_problems(part.problems)
    tube = Tube(outside, inside, free, modulus, strands)
    curve = tube.curve(preload, stroke)
    low, high = 1 + preload / free, 1 + (preload + stroke) / free
    told = TubeInUse(
        front_n=tube.force(low), wound_n=tube.force(high), usable_j=tube.energy(high) - tube.energy(low),
        stored_j=tube.energy(high), most_stretch=high, start_rate_n_m=tube.start_rate,
    )  # fmt: skip
    words = (
        (
            f"{told.front_n:.3g} N at the front stop, {told.wound_n:.3g} N wound, stretched to {high:.3g} "
            f"times its length. The stroke takes {told.usable_j:.3g} J; {told.stored_j:.3g} J sit in it."
        ),
        (
            "This is the law of ideal rubber with a typical modulus (no source) unless you typed your own: "
            "real tube gives back 5 to 25 % less (typical, no source), softens after the first pulls, sets "
            "and ages. Read the force with a scale, there and back, and use --readings."
        ),
    )
    return SpringReport(
        title=f"elastic tube {1e3 * outside:.4g}/{1e3 * inside:.4g} mm, {1e3 * free:.4g} mm long",
        preload_m=preload,
        stroke_m=stroke,
        tube=told,
        curve_mm_n=_points(curve),
        svg=_computed_picture(curve, preload),
        words=words,
        cautions=(STORED_CAUTION, RUBBER_CAUTION),
    )


def _points(curve: ForceCurve) -> tuple[tuple[float, float], ...]:
    x = np.linspace(0.0, curve.stroke, _POINTS)
    return tuple(zip((1e3 * x).tolist(), curve.force(x).tolist(), strict=True))


def _computed_picture(curve: ForceCurve, preload: float) -> str:
    x = np.linspace(0.0, curve.stroke, _POINTS)
    line = ForceLine("force while winding", 1e3 * (preload + x), curve.force(x))
    ends = (1e3 * preload, 1e3 * (preload + curve.stroke))
    return force_chart(
        [line], key="spring", width=_SIDE, title="Force of the spring", origin="computed", stroke=ends
    ).svg()


def spring_by_readings(
    text: str, *, file: str = "readings", front: str | None = None, stroke: str | None = None
) -> SpringReport:
    """Follow a spring given by the crew's own readings of force.

    Parameters
    ----------
    text : str
        Readings, as :func:`shotwright.bench.spring_files.read_force_text` describes.
    file : str
        Name for messages.
    front, stroke : str, optional
        Where the front stop lies in the readings' own travel, and the stroke, as typed; all that was read
        when left out.

    Returns
    -------
    SpringReport
        Rate, energy and loss with 95 % intervals.
    """
    problems: list[BadInput] = []
    part = typed_section({"front": front, "stroke": stroke}, problems)
    start, length = part.optional("front", "length"), part.optional("stroke", "length", above=0.0)
    raise_problems(problems)
    read = read_force_text(text, file)
    told = measured_spring(read.loading, read.unloading, front=start, stroke=length)
    curve = measured_curve(read.loading, front=told.from_m, stroke=told.to_m - told.from_m)
    return SpringReport(
        title=f"measured spring, {told.readings} readings",
        preload_m=None,
        stroke_m=told.to_m - told.from_m,
        measured=told,
        curve_mm_n=_points(curve),
        svg=_measured_picture(read, told),
        words=_measured_words(read, told, curve),
        cautions=(STORED_CAUTION,),
    )


def readings_text(path: Path | None, typed: tuple[str, ...]) -> str:
    """Text of a file of readings, or of readings typed one by one.

    Parameters
    ----------
    path : Path, optional
        A file; it goes before what was typed.
    typed : tuple of str
        Each ``"20 mm, 54 N"``, with a third word ``unloading`` on the way back.

    Returns
    -------
    str
        For :func:`spring_by_readings`.
    """
    return read_text(path) if path is not None else "\n".join(typed)


def _measured_words(read: ForceReadings, told: MeasuredSpring, curve: ForceCurve) -> tuple[str, ...]:
    shape = ("", "a straight line", "a curve of degree 2", "a curve of degree 3")[told.degree]
    winding = f"Winding from {1e3 * told.from_m:.4g} to {1e3 * told.to_m:.4g} mm takes"
    if isinstance(told.energy_in_j, Estimate):
        words = [
            (
                f"Rate {in_words(told.rate_n_m, 'N/m')}; the loading readings follow {shape} within "
                f"{told.misfit_n:.2g} N (standard deviation)."
            ),
            f"{winding} {in_words(told.energy_in_j, 'J')}.",
        ]
    else:
        rate = float(curve.force(curve.stroke) - curve.force(0.0)) / curve.stroke
        words = [
            (
                f"{winding} {curve.total_work:.4g} J at {rate:.4g} N/m by these readings; how sure that is "
                f"can't be told: {told.energy_in_j.reason}."
            )
        ]
    if isinstance(told.loss, Estimate):
        back, lost = in_words(told.energy_back_j, "J"), in_words(told.loss, "%", 100.0)
        words.append(f"It gives back {back}; lost on the way: {lost}.")
        if told.loss.high < 0:
            words.append("That is more than it takes: were the two ways swapped, or does the scale drift?")
    else:
        words.append(f"What it gives back can't be told: {told.loss.reason}.")
    if read.by_weight:
        words.append("Forces read in kg or lb are taken as weights.")
    words.append("A cam winds along the loading curve; the ball gets what the unloading curve gives back.")
    return tuple(words)


def _measured_picture(read: ForceReadings, told: MeasuredSpring) -> str:
    lines = []
    for name, branch in (("loading", read.loading), ("unloading", read.unloading)):
        if branch is None:
            continue
        x = np.linspace(branch.travel.min(), branch.travel.max(), _POINTS)
        fit = smooth_fit(branch)
        force = np.array([float(fit.force_row(one) @ fit.coefficients) for one in x])
        readings = 1e3 * branch.travel, branch.force
        lines.append(ForceLine(name, 1e3 * x, force, np.column_stack(readings)))
    ends = (1e3 * told.from_m, 1e3 * told.to_m)
    return force_chart(
        lines, key="spring", width=_SIDE, title="Force of the spring", origin="measured", stroke=ends
    ).svg()


def find_spring(
    path: Path,
    *,
    energy: str,
    stroke: str,
    side_by_side: int = 1,
    most_force: str | None = None,
    most_preload: str | None = None,
) -> SpringReport:
    """Search a list of springs at hand for the wanted energy and stroke.

    Parameters
    ----------
    path : Path
        TOML or CSV, as :func:`shotwright.bench.spring_files.read_springs` describes.
    energy, stroke : str
        Work of the stroke, and the stroke, as typed.
    side_by_side : int
        Most springs that pull together.
    most_force, most_preload : str, optional
        Limits, as typed.

    Returns
    -------
    SpringReport
        Ranked choices; the others with the reason why they fail.
    """
    problems: list[BadInput] = []
    given = {"energy": energy, "stroke": stroke, "most_force": most_force, "most_preload": most_preload}
    part = typed_section(given, problems)
    wish = SpringWish(
        energy_j=part.quantity("energy", "energy", "7 J", above=0.0),
        stroke_m=part.quantity("stroke", "length", "90 mm", above=0.0),
        side_by_side=side_by_side,
        most_force_n=part.quantity("most_force", "force", "150 N", math.inf, above=0.0),
        most_preload_m=part.quantity("most_preload", "length", "60 mm", math.inf, above=0.0),
    )
    raise_problems(problems)
    springs = read_springs(path)
    choices = search_springs(springs, wish)
    fits = [one for one in choices if one.fits]
    told = (
        f"{len(springs)} kinds of springs, {len({one.name for one in fits})} of them can give "
        f"{wish.energy_j:.3g} J over {1e3 * wish.stroke_m:.3g} mm."
    )
    words = [told]
    if fits:
        best = fits[0]
        words.append(
            f"First: {best.side_by_side} x {best.name} with {1e3 * (best.preload_m or 0):.3g} mm of preload: "
            f"{best.front_n:.3g} N to {best.wound_n:.3g} N, {best.stored_j:.3g} J when wound; {best.reason}. "
            "It leads because it asks for the least force when wound."
        )
    words.append("Energy is that of the spring on paper; friction and loss take their share.")
    return SpringReport(
        title=f"springs of {path.name}", stroke_m=wish.stroke_m, wish=wish, choices=choices,
        words=tuple(words), cautions=(STORED_CAUTION,),
    )  # fmt: skip
