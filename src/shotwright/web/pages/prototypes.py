"""Prototypes on paper: dimensions by form, what they would throw, where their scatter comes from."""

from __future__ import annotations

import functools

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import BaseRoute

from shotwright.base.errors import BadInput
from shotwright.base.progress import Progress
from shotwright.bench.launcher_forms import launcher_form, preview, save_launcher, set_launcher_text
from shotwright.bench.projects import summary
from shotwright.bench.sheets import prediction_sheet
from shotwright.web.pages.evidence import width_of
from shotwright.web.site import form_text, route, site_of


def prototypes(request: Request) -> Response:
    """Show the page of one prototype; the first when none is named."""
    site = site_of(request)
    names = summary(site.project).prototypes
    asked = request.query_params
    chosen = asked.get("prototype") or (names[0] if names else "")
    form = launcher_form(site.project, chosen, asked.get("kind", "")) if chosen else None
    return site.page(request, "prototypes.html", form=form, chosen=chosen)


async def typed(request: Request) -> tuple[str, str, dict[str, str]]:
    """Read the form: prototype, kind, fields."""
    async with request.form(max_files=0, max_fields=200) as form:
        fields = {name: form_text(form, name) for name in form}
    return fields.pop("prototype", ""), fields.pop("kind", ""), fields


async def look(request: Request) -> Response:
    """Tell what the launcher as typed would throw."""
    prototype, kind, fields = await typed(request)
    found = await run_in_threadpool(
        preview, site_of(request).project, prototype, kind, fields, width=width_of(request)
    )
    return JSONResponse(found.to_dict())


async def save(request: Request) -> Response:
    """Keep the launcher as typed."""
    site = site_of(request)
    prototype, kind, fields = await typed(request)
    before = await run_in_threadpool(save_launcher, site.project, prototype, kind, fields)
    if before:
        site.remember(f"launcher of {prototype}", functools.partial(set_launcher_text, site.project, before))
    return JSONResponse({"words": [f"Kept: {prototype}, {kind}."], "undo": site.last_done})


async def save_text(request: Request) -> Response:
    """Keep the launcher's file as typed."""
    site = site_of(request)
    async with request.form(max_files=0, max_fields=3) as form:
        text = form_text(form, "text")
    if not text:
        raise BadInput("write the launcher's file first", field="text")
    await run_in_threadpool(set_launcher_text, site.project, text + "\n")
    return JSONResponse({"words": ["Kept."]})


def predict(request: Request) -> Response:
    """Start predicting reach, hits and variance shares of one prototype."""
    site = site_of(request)
    name = request.query_params.get("prototype", "")
    mark, project = site.live.mark(), site.project

    def work(progress: Progress) -> None:
        from shotwright.bench.launchers import predict as run

        site.keep(f"predicted {name}", run(project, prototypes=(name,), progress=progress), mark)

    return JSONResponse(site.jobs.start(f"prediction of {name}", work).to_dict())


def predicted(request: Request) -> Response:
    """Draw what was predicted."""
    site = site_of(request)
    kept = site.kept(f"predicted {request.query_params.get('prototype', '')}")
    if kept is None:
        raise BadInput("predict it first", field="prototype")
    return HTMLResponse(
        site.render("sheet.html", sheet=prediction_sheet(site.project, kept, width_of(request)))
    )


ROUTES: list[BaseRoute] = [
    route("/prototypes", prototypes),
    route("/prototypes/look", look, "POST"),
    route("/prototypes/save", save, "POST"),
    route("/prototypes/text", save_text, "POST"),
    route("/prototypes/predict", predict, "POST"),
    route("/prototypes/predicted", predicted),
]
