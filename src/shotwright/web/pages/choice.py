"""Which one to build: hit probabilities, weights by slider, how sure the ranking is, the record."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import BaseRoute

from shotwright.base.errors import BadInput
from shotwright.base.progress import Progress
from shotwright.bench.choosing import record
from shotwright.bench.sheets import CRITERIA_NAMES, Standing, choice_sheet, hit_sheet, ranked, standing
from shotwright.web.pages.evidence import width_of
from shotwright.web.site import Site, form_text, route, site_of

CRITERIA_WORDS = {
    "points": "points a ball, over all firing positions, needed or not",
    "worst": "points from the worst needed position",
    "motors": "few motors",
    "mass": "little mass",
    "energy": "little stored energy",
}


def choice(request: Request) -> Response:
    """Show the page; what is computed follows."""
    site = site_of(request)
    at = known(site)
    return site.page(
        request,
        "choice.html",
        criteria=[(name, CRITERIA_WORDS[name]) for name in CRITERIA_NAMES],
        ready=at is not None,
    )


def known(site: Site) -> Standing | None:
    """Return the hit probabilities of the project as it is now, if they are computed already."""
    kept = site.kept("standing")
    assert kept is None or isinstance(kept, Standing)
    return kept


def compute(request: Request) -> Response:
    """Start computing the hit probabilities of the project as it is now."""
    site = site_of(request)
    mark, project = site.live.mark(), site.project

    def work(progress: Progress) -> None:
        site.keep("standing", standing(project, progress=progress), mark)

    return JSONResponse(site.jobs.start("hit probabilities", work).to_dict())


def state(request: Request) -> Response:
    """Tell whether what is shown is of the project as it is now."""
    return JSONResponse({"ready": known(site_of(request)) is not None})


def hits(request: Request) -> Response:
    """Draw the chapter on hit probabilities."""
    site = site_of(request)
    return HTMLResponse(site.render("sheet.html", sheet=hit_sheet(_needed(site), width_of(request))))


async def ranking(request: Request) -> Response:
    """Rank with the crew's weights and draw the chapter on the choice."""
    site = site_of(request)
    async with request.form(max_files=0, max_fields=12) as form:
        weights = weights_of(form)
    width = width_of(request)

    def work() -> str:
        at = _needed(site)
        return site.render("sheet.html", sheet=choice_sheet(at, ranked(at, weights), width))

    return HTMLResponse(await run_in_threadpool(work))


async def put_on_record(request: Request) -> Response:
    """Record the choice with its reason and the evidence of now."""
    site = site_of(request)
    async with request.form(max_files=0, max_fields=16) as form:
        prototype, reason = form_text(form, "prototype"), form_text(form, "reason")
        weights = weights_of(form)
    if not reason:
        raise BadInput("say why; the notebook shows it", field="reason")

    def work() -> None:
        at = _needed(site)
        site.forget("standing")
        recorded = record(site.project, at.book, at.hits, ranked(at, weights), prototype, reason)
        # A choice on record changes the file, not the shots: what was computed still holds.
        site.keep("standing", Standing(at.book, at.hits, at.draws, recorded), site.live.mark())

    await run_in_threadpool(work)
    return JSONResponse({"words": [f"Recorded: {prototype}."]})


def weights_of(form: FormData) -> dict[str, float] | None:
    """Read the sliders; None when the crew did not weigh."""
    if form_text(form, "weighing") != "own":
        return None
    weights: dict[str, float] = {}
    for name in CRITERIA_NAMES:
        text = form_text(form, f"weight-{name}")
        try:
            weights[name] = float(text) if text else 0.0
        except ValueError:
            raise BadInput(f"{text!r} is not a number", field=f"weight-{name}") from None
    if not any(value > 0 for value in weights.values()):
        raise BadInput("let at least one thing count", field="weights")
    return {name: value for name, value in weights.items() if value > 0}


def _needed(site: Site) -> Standing:
    at = known(site)
    if at is None:
        raise BadInput("shots or game changed; compute the hit probabilities again", field="standing")
    return at


ROUTES: list[BaseRoute] = [
    route("/choice", choice),
    route("/choice/state", state),
    route("/choice/compute", compute, "POST"),
    route("/choice/hits", hits),
    route("/choice/ranking", ranking, "POST"),
    route("/choice/record", put_on_record, "POST"),
]
