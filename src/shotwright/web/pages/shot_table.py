"""The shot table: what to set at which distance, with the measured points, and its forms to take away."""

from __future__ import annotations

from collections.abc import Callable

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import BaseRoute

from shotwright.base.errors import BadInput
from shotwright.base.progress import Progress
from shotwright.bench.results import ShotTable
from shotwright.bench.sheets import shot_table_sheet
from shotwright.bench.shot_table_files import c_header_bytes, card_bytes, csv_bytes
from shotwright.bench.shot_tables import keep_table
from shotwright.bench.shot_tables import shot_table as build
from shotwright.web.pages.evidence import width_of
from shotwright.web.site import Site, form_text, route, site_of

FIELDS = ("prototype", "target", "position", "distances", "step", "elevation", "level", "setting")
FORMS: dict[str, tuple[str, Callable[[ShotTable], bytes]]] = {
    "csv": ("text/csv; charset=utf-8", csv_bytes),
    "h": ("text/plain; charset=utf-8", c_header_bytes),
    "pdf": ("application/pdf", card_bytes),
}


def shot_table(request: Request) -> Response:
    """Show the form and, when one is built already, the table."""
    site = site_of(request)
    return site.page(request, "shot_table.html", ready=site.kept("shot table") is not None)


async def compute(request: Request) -> Response:
    """Start building the table as asked for."""
    site = site_of(request)
    async with request.form(max_files=0, max_fields=12) as form:
        asked = {name: form_text(form, name) or None for name in FIELDS}
    mark, project = site.live.mark(), site.project
    prototype = asked["prototype"]

    def work(progress: Progress) -> None:
        found = build(
            project,
            prototype,
            target=asked["target"],
            position=asked["position"],
            distances=asked["distances"],
            step=asked["step"],
            elevation=asked["elevation"],
            level=asked["level"],
            setting=asked["setting"],
            progress=progress,
        )
        site.keep("shot table", found, mark)

    return JSONResponse(site.jobs.start("shot table", work).to_dict())


def table(request: Request) -> Response:
    """Draw the table and the drivers' card."""
    site = site_of(request)
    sheet = shot_table_sheet(site.project, _needed(site), width_of(request))
    return HTMLResponse(site.render("sheet.html", sheet=sheet))


async def keep(request: Request) -> Response:
    """Keep the table in the project, so that the next one says what changed."""
    site = site_of(request)
    found = _needed(site)
    site.forget("shot table")
    await run_in_threadpool(keep_table, site.project, found)
    # A kept table changes the file, not the shots: what is shown still holds.
    site.keep("shot table", found, site.live.mark())
    return JSONResponse({"words": ["Kept: the next table says what changed."]})


async def file(request: Request) -> Response:
    """Hand the table over in one of its forms."""
    ending = request.path_params["ending"]
    if ending not in FORMS:
        raise BadInput(f"one of {', '.join(FORMS)}", field="file")
    media, made = FORMS[ending]
    data = await run_in_threadpool(made, _needed(site_of(request)))
    name = "drivers-card.pdf" if ending == "pdf" else f"shot_table.{ending}"
    headers = {"content-disposition": f'attachment; filename="{name}"', "cache-control": "no-store"}
    return Response(data, media_type=media, headers=headers)


def _needed(site: Site) -> ShotTable:
    found = site.kept("shot table")
    if found is None:
        raise BadInput("the project has changed; build the table again", field="table")
    assert isinstance(found, ShotTable)
    return found


ROUTES: list[BaseRoute] = [
    route("/shot-table", shot_table),
    route("/shot-table/compute", compute, "POST"),
    route("/shot-table/table", table),
    route("/shot-table/keep", keep, "POST"),
    route("/shot-table/file/{ending}", file),
]
