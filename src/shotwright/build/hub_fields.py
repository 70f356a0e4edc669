"""What is asked of a part that sits on a shaft; `shotwright.build.hub.hub_of` reads the answers."""

from __future__ import annotations

from shotwright.build.part import Field

SEATS = ("round", "keyway", "flat")
HUB_FIELDS: tuple[Field, ...] = (
    Field("bore", "Bore", "length", "8 mm", "Diameter of the shaft's hole; 0 for none.", least=0.0),
    Field("seat", "Seat on the shaft", "choice", "round", "What keeps it from turning.", choices=SEATS),
    Field("key_width", "Width of the key", "length", "", "With a keyway.", above=0.0),
    Field(
        "key_depth", "Depth of the keyway", "length", "", "From the bore's round to its bottom.", above=0.0
    ),
    Field("flat_across", "Across the flat", "length", "", "From the flat to the far side.", above=0.0),
    Field("bolts", "Bolt holes", "whole", "4", "How many on the circle; 0 for none.", least=0, most=60),
    Field("bolt_circle", "Bolt circle", "length", "24 mm", "Diameter through the holes' centres.", above=0.0),
    Field("bolt_hole", "Bolt hole", "length", "4.2 mm", "Diameter of a hole.", above=0.0),
)
