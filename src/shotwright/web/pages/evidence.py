"""What the shots show: scatter at one scale, intervals, findings, how many shots a question needs."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import BaseRoute

from shotwright.base.errors import BadInput
from shotwright.bench.evidence import sample_size
from shotwright.bench.sheets import drawing_colours, evidence_sheet
from shotwright.web.site import form_text, route, site_of

USUAL_WIDTH = 720.0


def width_of(request: Request, field: str = "width") -> float:
    """Return the room that the page has for drawings. [px]"""
    try:
        return float(request.query_params.get(field, USUAL_WIDTH))
    except ValueError:
        raise BadInput("the width is a number of pixels", field=field) from None


def evidence(request: Request) -> Response:
    """Show the page; its sheet follows, drawn for the width it gets."""
    return site_of(request).page(request, "evidence.html")


def sheet(request: Request) -> Response:
    """Draw the chapters on comparison and trials."""
    site = site_of(request)
    drawn = evidence_sheet(site.project, width_of(request))
    return HTMLResponse(site.render("sheet.html", sheet=drawn))


async def plan(request: Request) -> Response:
    """Tell how many shots a question needs."""
    async with request.form(max_files=0, max_fields=6) as form:
        typed = {field: form_text(form, field) for field in ("ratio", "shots", "hit_rate", "width")}
    try:
        ratio = float(typed["ratio"].replace(",", ".")) if typed["ratio"] else None
    except ValueError:
        raise BadInput(f"{typed['ratio']!r} is not a number; type e.g. 1.5", field="ratio") from None
    if typed["shots"] and not typed["shots"].isdigit():
        raise BadInput(f"{typed['shots']!r} is not a number of shots", field="shots")
    found = await run_in_threadpool(
        sample_size,
        ratio=ratio,
        shots=int(typed["shots"]) if typed["shots"] else None,
        hit_rate=typed["hit_rate"] or None,
        width=typed["width"] or None,
    )
    return JSONResponse(found.to_dict())


def colours(request: Request) -> Response:  # noqa: ARG001 - the same for everybody
    """Return the colours of drawings, by day and by night."""
    return Response(drawing_colours(), media_type="text/css", headers={"cache-control": "max-age=3600"})


ROUTES: list[BaseRoute] = [
    route("/evidence", evidence),
    route("/evidence/sheet", sheet),
    route("/evidence/plan", plan, "POST"),
    route("/drawing.css", colours),
]
