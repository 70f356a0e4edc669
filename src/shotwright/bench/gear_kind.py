"""What is asked of a spiral gear and its rack."""

from __future__ import annotations

from dataclasses import replace

from shotwright.build.hub_fields import HUB_FIELDS
from shotwright.build.part import Field, PartKind

WAYS = ("curved rack", "straight rack", "cable drum")
FITS = ("smooth", "meet")
# The gear is small at the end of its turn: a smaller bolt circle than a plate's.
_HUB = {"bolts": "3", "bolt_circle": "15 mm", "bolt_hole": "3.2 mm"}
SPIRAL_GEAR = PartKind(
    "spiral-gear",
    "Spiral gear",
    "A spiral gear and its rack, or a drum, that wind a spring with even torque.",
    (
        Field("stiffness", "Spring rate", "stiffness", "900 N/m", "Of a linear spring.", above=0.0),
        Field("preload", "Preload", "length", "90 mm", "How far it is bent at the front stop.", least=0.0),
        Field("stroke", "Stroke", "length", "90 mm", "Of the rack.", above=0.0, most=2.0),
        Field("readings", "Force readings", "lines", "", "Travel and force, a CSV; instead of a rate."),
        Field("front", "Front stop", "length", "", "In the readings' own travel; the least one read."),
        Field("fit", "Curve", "choice", "smooth", "Smooths readings, or meets each.", choices=FITS),
        Field("way", "Way", "choice", "curved rack", "What is drawn; all three are compared.", choices=WAYS),
        Field("turn", "Turn", "angle", "", "Over which it winds; the longest that frees the rack.", above=0.0,
              most=6.1),
        Field("teeth", "Teeth", "whole", "", "Instead of a turn: the arc then holds so many pitches.",
              least=4, most=400),
        Field("module", "Module", "length", "1.5 mm", "Of the teeth, from ISO 54.", above=0.0, most=0.05),
        Field("profile", "Profile", "choice", "A", "Basic rack of ISO 53.", choices=("A", "B", "C", "D")),
        Field("shift", "Profile shift", "number", "0", "Of the gear outwards, in modules.", least=-0.5,
              most=0.8),
        Field("backlash", "Backlash", "length", "0.1 mm", "Play along the pitch line.", least=0.0),
        Field("soft_start", "Soft start", "length", "0 mm", "Travel over which the torque rises.", least=0.0),
        Field("backing", "Backing", "length", "10 mm", "Of the rack behind its roots.", above=0.0, most=0.2),
        Field("rack_holes", "Rack holes", "whole", "3", "Along its back; 0 for none.", least=0, most=40),
        Field("rack_hole", "Rack hole", "length", "4.2 mm", "Diameter.", above=0.0),
        Field("cable", "Cable", "length", "1 mm", "Diameter, for a drum.", above=0.0, most=0.02),
        Field("cable_end", "Cable's end", "length", "100 mm", "Behind the axis when wound.", above=0.0),
        Field("wall", "Wall", "length", "2 mm", "Least, between hub and edge.", above=0.0),
        *(replace(one, default=_HUB[one.key]) if one.key in _HUB else one for one in HUB_FIELDS),
    ),
    "shotwright.bench.gears:make_spiral_gear",
)  # fmt: skip
