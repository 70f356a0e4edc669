"""One module for each page: read the form, call the bench, show what came back."""

from __future__ import annotations

from starlette.routing import BaseRoute

from shotwright.web.pages import (
    choice,
    drive,
    evidence,
    field,
    files,
    match,
    parts,
    phones,
    photo,
    prototypes,
    range,
    robot,
    shot_table,
    start,
    video,
)
from shotwright.web.stations import Station

# The pages in the order of the chain, from rule book to notebook.
STATIONS: tuple[Station, ...] = (
    Station("/", "Start", "where the project stands"),
    Station("/field", "Field", "what each shot needs"),
    Station("/prototypes", "Prototypes", "what each would throw"),
    Station("/drive", "Drive", "what turns it, and what breaks first"),
    Station("/range", "Test range", "where the balls landed"),
    Station("/evidence", "Evidence", "what the shots show"),
    Station("/choice", "Choice", "which one to build"),
    Station("/robot", "Robot", "whether the robot around it keeps up"),
    Station("/shot-table", "Shot table", "what to set at which distance"),
    Station("/match", "Match", "how to play it, and what to work on"),
    Station("/parts", "Parts", "what to cut"),
    Station("/files", "Take away", "notebook and files"),
)
PAGES: tuple[list[BaseRoute], ...] = (
    start.ROUTES,
    field.ROUTES,
    prototypes.ROUTES,
    drive.ROUTES,
    range.ROUTES,
    photo.ROUTES,
    video.ROUTES,
    evidence.ROUTES,
    choice.ROUTES,
    robot.ROUTES,
    shot_table.ROUTES,
    match.ROUTES,
    parts.ROUTES,
    files.ROUTES,
    phones.ROUTES,
)
