"""Parts of the demo's invented crew can be made, and its gear keeps its promises."""

from importlib.resources import files

from shotwright.bench.parts import make_part
from shotwright.build.orders import orders_from_text


def test_every_part_of_the_demo_can_be_made():
    text = files("shotwright.bench").joinpath("yard", "parts.toml").read_text(encoding="utf-8")
    orders = orders_from_text(text)
    made = {one.name: make_part(one.kind, one.inputs, name=one.name) for one in orders}
    assert {one.kind for one in made.values()} >= {"hood-plate", "snail-cam", "spiral-gear"}
    gear = made["winding gear"].part.figures
    assert gear["outline"]["travel_error_m"] < 20e-6
    assert gear["outline"]["free_to_deg"] > gear["outline"]["free_from_deg"] + 10
    assert all(one["holds"] for one in gear["strength"])
