"""The field: drag a thing, see at once what a shot needs; let go, and it is saved."""

from __future__ import annotations

import functools
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, QueryParams
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute

from shotwright.base.errors import BadInput
from shotwright.base.progress import Progress
from shotwright.bench.field import Moved, field_plan, game_text, look, move, set_game_text
from shotwright.bench.floor_result import FloorMap
from shotwright.web.site import form_text, route, site_of

MAP, MAP_STEP, MAP_DRAWS = "floor map", "20 cm", 200


def field(request: Request) -> Response:
    """Show the page; the plan follows."""
    site = site_of(request)
    return site.page(request, "field.html")


def plan(request: Request) -> Response:
    """Return the plan as plain shapes."""
    return JSONResponse(field_plan(site_of(request).project).to_dict())


def shot(request: Request) -> Response:
    """Return what a shot from one position needs, with one thing held where the pointer is."""
    asked = request.query_params
    try:
        width = float(asked.get("width", "420"))
    except ValueError:
        raise BadInput("the width is a number of pixels", field="width") from None
    found = look(
        site_of(request).project,
        asked.get("position", ""),
        asked.get("target", ""),
        prototype=asked.get("prototype") or None,
        moved=_moved(asked) if asked.get("kind") else None,
        defended=asked.get("defended") == "yes",
        width=min(max(width, 280.0), 900.0),
    )
    return JSONResponse(found.to_dict())


async def drop(request: Request) -> Response:
    """Save where a thing was let go."""
    site = site_of(request)
    async with request.form(max_files=0, max_fields=6) as form:
        moved = _moved(form)
    before = await run_in_threadpool(move, site.project, moved)
    site.remember(f"{moved.name} moved", functools.partial(set_game_text, site.project, before))
    return JSONResponse({"undo": site.last_done})


def start_map(request: Request) -> Response:
    """Start mapping the hit probability over the floor; each round is kept as it comes, coarse first."""
    site = site_of(request)
    asked, project = request.query_params, site.project
    prototype, target = asked.get("prototype") or None, asked.get("target") or None
    placed_as, defended = asked.get("position") or None, asked.get("defended") == "yes"

    def work(progress: Progress) -> None:
        from shotwright.bench.floor_maps import floor_map

        def shown(found: FloorMap) -> None:
            # Firing positions may move meanwhile; what moves openings or solids starts the map anew.
            site.keep(MAP, found, site.live.mark())

        shown(
            floor_map(
                project,
                prototype,
                target=target,
                placed_as=placed_as,
                step=MAP_STEP,
                draws=MAP_DRAWS,
                defended=defended,
                workers=1,
                progress=progress,
                shown=shown,
            )
        )

    for job in site.jobs.running("map of the floor"):
        job.stop.set()
    site.forget(MAP)
    return JSONResponse(site.jobs.start("map of the floor", work).to_dict())


def seen_map(request: Request) -> Response:
    """Return the map as far as it is known."""
    found = site_of(request).kept(MAP)
    if found is None:
        return JSONResponse({})
    assert isinstance(found, FloorMap)
    return JSONResponse(
        {
            "prototype": found.prototype,
            "target": found.target,
            "x_m": found.x_m,
            "y_m": found.y_m,
            "hit_probability": found.hit_probability,
            "words": found.words,
            "origin": found.origin,
        }
    )


def text(request: Request) -> Response:
    """Return the game file as it stands."""
    return JSONResponse({"text": game_text(site_of(request).project)})


async def rewrite(request: Request) -> Response:
    """Replace the game file by what was typed."""
    site = site_of(request)
    async with request.form(max_files=0, max_fields=3) as form:
        typed = form_text(form, "text")
    before = await run_in_threadpool(_text_or_none, site.project)
    await run_in_threadpool(set_game_text, site.project, typed + "\n")
    if before is not None:
        site.remember("game file changed", functools.partial(set_game_text, site.project, before))
    return JSONResponse({"undo": site.last_done, "words": ["The game file is saved."]})


def _text_or_none(project: Path) -> str | None:
    try:
        return game_text(project)
    except BadInput:
        return None


def _moved(given: FormData | QueryParams) -> Moved:
    try:
        x, y = float(form_text(given, "x")), float(form_text(given, "y"))
    except ValueError:
        raise BadInput("the place did not arrive whole; drag again", field="x") from None
    if not (abs(x) < 1e3 and abs(y) < 1e3):
        raise BadInput("that place is off the field", field="x")
    return Moved(form_text(given, "kind"), form_text(given, "name"), x, y)


ROUTES: list[BaseRoute] = [
    route("/field", field),
    route("/field/plan", plan),
    route("/field/look", shot),
    route("/field/map", start_map, "POST"),
    route("/field/map", seen_map),
    route("/game/move", drop, "POST"),
    route("/game/text", text),
    route("/game/text", rewrite, "POST"),
]
