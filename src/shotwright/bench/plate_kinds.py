"""What is asked of round plates, wheel discs and hood side plates."""

from __future__ import annotations

from shotwright.build.hub_fields import HUB_FIELDS
from shotwright.build.part import Field, PartKind

HUB_PLATE = PartKind(
    "hub-plate",
    "Hub plate",
    "A round plate for a shaft, with its bolt circle.",
    (
        Field("diameter", "Diameter", "length", "40 mm", "Outer.", above=0.0, most=3.0),
        *HUB_FIELDS,
    ),
    "shotwright.bench.plates:make_hub_plate",
)
WHEEL_DISC = PartKind(
    "wheel-disc",
    "Wheel disc",
    "A round disc that turns fast, with openings that make it lighter where wanted.",
    (
        Field("diameter", "Diameter", "length", "100 mm", "Without the tread.", above=0.0, most=3.0),
        Field("speed", "Fastest speed", "spin", "3000 rpm", "That it will ever turn.", above=0.0),
        Field("openings", "Openings", "whole", "0", "Round ones on a circle.", least=0, most=60),
        Field("opening_circle", "Circle of openings", "length", "", "0.7 of the diameter.", above=0.0),
        Field("opening", "Opening", "length", "", "Diameter; 0.12 of the disc's.", above=0.0),
        *HUB_FIELDS,
    ),
    "shotwright.bench.plates:make_wheel_disc",
)
HOOD_PLATE = PartKind(
    "hood-plate",
    "Hood side plate",
    "A side plate that carries a hood over a wheel, and the wheel's axle.",
    (
        Field("wheel_diameter", "Wheel", "length", "100 mm", "Diameter with the tread.", above=0.0, most=2.0),
        Field("ball_diameter", "Ball", "length", "178 mm", "Diameter.", above=0.0, most=2.0),
        Field("compression", "Compression", "length", "20 mm", "Ball less the gap.", least=0.0),
        Field("wrap_angle", "Wrap angle", "angle", "90 deg", "Angle of the arc about the axle.", above=0.0),
        Field("elevation", "Elevation", "angle", "50 deg", "Of the shot.", least=-1.6, most=1.6),
        Field("entry", "Straight entry", "length", "40 mm", "Before the arc.", least=0.0, most=1.0),
        Field("exit", "Straight exit", "length", "20 mm", "After the arc.", least=0.0, most=1.0),
        Field("axle", "Axle or bearing hole", "length", "22 mm", "Diameter.", above=0.0),
        Field("slot", "Slot", "length", "0 mm", "Draws the axle's holes out, to set the gap.", least=0.0),
        Field("bolts", "Bearing bolts", "whole", "4", "Round the axle; 0 for none.", least=0, most=24),
        Field("bolt_circle", "Bolt circle", "length", "36 mm", "Diameter.", above=0.0),
        Field("bolt_hole", "Bolt hole", "length", "4.2 mm", "Diameter.", above=0.0),
        Field("margin", "Margin", "length", "30 mm", "Of plate beyond face and holes.", above=0.0, most=1.0),
        Field("strip", "Strip", "length", "2 mm", "Thickness of the hood's face.", least=0.0),
        Field("spacer", "Spacer", "length", "10 mm", "Diameter of the tubes behind the strip.", above=0.0),
        Field("spacers", "Spacers", "whole", "5", "Along the arc; 0 for none.", least=0, most=60),
        Field("spacer_hole", "Spacer hole", "length", "5.2 mm", "Diameter.", above=0.0),
    ),
    "shotwright.bench.plates:make_hood_plate",
)
