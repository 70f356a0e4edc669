"""The safety page."""

from __future__ import annotations

from shotwright.notebook.blocks import Block, Bullets, Caution, Column, Section, Table, Words
from shotwright.notebook.content import NotebookContent
from shotwright.trials.records import Prototype

# Cautions of the workshop: common practice, no source.
CAUTIONS = (
    (
        "Eyes: everyone within reach of a ball or of a part that may break wears safety glasses, those who "
        "watch too."
    ),
    (
        "Wheels keep turning after the power is off and store energy by the square of their speed. Keep out "
        "of their plane, guard them, check for cracks and loose screws before each day, and never run one "
        "faster than its maker allows."
    ),
    (
        "Springs and elastic cords stay dangerous while they are drawn. Block the mechanism before a hand "
        "goes in; let the energy out before work begins; draw it only with the range clear."
    ),
    (
        "Air tanks: use only tanks, valves and hoses rated for the pressure, with a relief valve. Let the "
        "air out and look at the gauge before anything is opened."
    ),
    (
        "Pinch points: rollers, belts, gears and feeders draw in fingers, hair, sleeves and cords. Tie back, "
        "roll up, take off gloves beside turning parts."
    ),
    (
        "Batteries: fuse and a switch within reach, no damaged or swollen cells, no charging unattended, "
        "nothing metal across the poles. Unplug the battery before hands go into the mechanism."
    ),
    (
        "Range: nobody stands in front. One person says “clear” before each shot and is the only one who "
        "may. Stop when anybody steps onto the range."
    ),
    "A shot that did not leave is still loaded. Wait, take the energy out, then look, never into the muzzle.",
)


def safety(content: NotebookContent) -> Section:
    """Return the safety page."""
    blocks: list[Block] = [
        Caution(
            "Launchers hurt people. They hold energy in wheels, springs or air tanks and let it go in an "
            "instant."
        ),
        Bullets(CAUTIONS),
        _stored(content.prototypes) if content.prototypes else Words("No prototype has been described yet."),
        Words(
            "The crew follows the rules of its event, the rules of its workshop, and what a responsible "
            "adult or a licensed engineer says. This notebook and the tool that wrote it replace none of "
            "them. Figures in it are no proof that a mechanism is safe."
        ),
    ]
    return Section("safety", "Safety", tuple(blocks), fresh_page=True)


def _stored(prototypes: tuple[Prototype, ...]) -> Table:
    columns = (
        Column("prototype", share=1.2),
        Column("mechanism", share=1.4),
        Column("stored energy [J]", True, 1.2),
        Column("to mind", share=2.6),
    )
    rows = tuple(
        (
            p.name,
            p.mechanism or "–",
            "not stated" if p.stored_energy is None else f"{p.stored_energy:.3g}",
            "unknown is not safe: work it out before the first shot"
            if p.stored_energy is None
            else "let it out, or block it, before hands go in",
        )
        for p in prototypes
    )
    return Table("Energy stored before a shot, as the crew stated it.", columns, rows)
