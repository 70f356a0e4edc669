"""The match: the file with its plans, and the plans side by side."""

from __future__ import annotations

import functools

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import BaseRoute

from shotwright.base.errors import BadFile, BadInput
from shotwright.base.progress import Progress
from shotwright.bench.match_plans import match_plans
from shotwright.bench.match_text import begun_match, match_text, set_match_text
from shotwright.bench.sheets import match_sheet
from shotwright.web.pages.evidence import width_of
from shotwright.web.site import form_text, route, site_of


def match(request: Request) -> Response:
    """Show the match file and, when it is simulated already, its plans."""
    site = site_of(request)
    text = match_text(site.project)
    ready = site.kept("match plans") is not None
    return site.page(
        request, "match.html", text=text or begun_match(site.project), kept=bool(text), ready=ready
    )


async def save(request: Request) -> Response:
    """Keep the match file as typed."""
    site = site_of(request)
    async with request.form(max_files=0, max_fields=2) as form:
        text = form_text(form, "text")
    before = await run_in_threadpool(match_text, site.project)
    try:
        names = await run_in_threadpool(set_match_text, site.project, text.replace("\r\n", "\n") + "\n")
    except BadInput as wrong:
        every = wrong.problems if isinstance(wrong, BadFile) else (wrong,)
        faults = [str(one) for one in every]
        return JSONResponse({"field": "text", "message": faults[0], "faults": faults}, 422)
    if before:
        site.remember("match file", functools.partial(set_match_text, site.project, before))
    words = f"Kept: {len(names)} plan{'s' if len(names) != 1 else ''}."
    return JSONResponse({"words": [words], "undo": site.last_done})


def compute(request: Request) -> Response:
    """Start simulating the plans that the project keeps."""
    site = site_of(request)
    mark, project = site.live.mark(), site.project

    def work(progress: Progress) -> None:
        site.keep("match plans", match_plans(project, workers=1, progress=progress), mark)

    return JSONResponse(site.jobs.start("match plans", work).to_dict())


def plans(request: Request) -> Response:
    """Draw the plans side by side."""
    site = site_of(request)
    found = site.kept("match plans")
    if found is None:
        raise BadInput("the project has changed; simulate the plans again", field="plans")
    return HTMLResponse(site.render("sheet.html", sheet=match_sheet(site.project, found, width_of(request))))


ROUTES: list[BaseRoute] = [
    route("/match", match),
    route("/match/save", save, "POST"),
    route("/match/compute", compute, "POST"),
    route("/match/plans", plans),
]
