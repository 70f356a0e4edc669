"""What is asked of a snail cam."""

from __future__ import annotations

from shotwright.build.hub_fields import HUB_FIELDS
from shotwright.build.part import Field, PartKind

FITS = ("smooth", "meet")
SNAIL_CAM = PartKind(
    "snail-cam",
    "Snail cam",
    "A cam that winds a spring with even torque and lets go once a turn.",
    (
        Field("stiffness", "Spring rate", "stiffness", "900 N/m", "Of a linear spring.", above=0.0),
        Field("preload", "Preload", "length", "40 mm", "How far it is bent at the front stop.", least=0.0),
        Field("stroke", "Stroke", "length", "90 mm", "Of the follower.", above=0.0, most=2.0),
        Field("readings", "Force readings", "lines", "", "Travel and force, a CSV; instead of a rate."),
        Field("front", "Front stop", "length", "", "In the readings' own travel; the least one read."),
        Field("fit", "Curve", "choice", "smooth", "Smooths readings, or meets each.", choices=FITS),
        Field("rise", "Rise", "angle", "310 deg", "Turn over which it winds.", above=0.0, most=6.28),
        Field("blend", "Blend", "angle", "0 deg", "Of that, with torque rising from 0.", least=0.0),
        Field("roller", "Roller", "length", "16 mm", "Its outer diameter.", above=0.0, most=0.5),
        Field("prime", "Prime radius", "length", "", "Roller's centre when low; the least good.", above=0.0),
        Field("pressure_angle", "Pressure angle", "angle", "30 deg", "Most for it.", above=0.0, most=1.2),
        Field("offset", "Offset", "length", "0 mm", "Of the follower's line from the axis."),
        Field("clearance", "Clearance", "length", "1 mm", "Under the low roller.", least=0.0),
        Field("relief", "Relief", "angle", "3 deg", "Of the drop flank.", least=0.0),
        Field("friction", "Guide friction", "number", "0.15", "Of the follower.", least=0.0, most=2.0),
        Field("mass", "Mass", "mass", "", "What the spring drives, to time the drop.", above=0.0),
        Field("speed", "Cam speed", "spin", "30 rpm", "To time the drop.", above=0.0),
        Field("wall", "Wall", "length", "5 mm", "Least, between hub and edge.", above=0.0),
        *HUB_FIELDS,
    ),
    "shotwright.bench.cams:make_snail_cam",
)  # fmt: skip
