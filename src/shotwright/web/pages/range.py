"""The test range: shots logged where they land, by thumb; made so that a lost line loses nothing."""

from __future__ import annotations

import re

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute

from shotwright.base.errors import BadInput
from shotwright.bench.shots import add_shot, add_trial, list_shots, set_aside, take_back
from shotwright.web.site import Site, form_text, route, site_of

UID = re.compile(r"[0-9a-f]{32}")
MEASURED = ("along", "cross", "height", "speed", "elevation", "spin")
TRIAL_FIELDS = (
    "name",
    "prototype",
    "setting",
    "elevation",
    "release_height",
    "surface",
    "surface_at",
    "mark_sd",
    "position",
    "target",
    "remark",
)
HITS = {"": None, "in": True, "out": False}


def test_range(request: Request) -> Response:
    """Show the page; the shots come by themselves."""
    site = site_of(request)
    found = list_shots(site.project)
    asked = request.query_params.get("trial", "")
    names = [t.name for t in found.trials]
    return site.page(
        request,
        "range.html",
        trials=found.trials,
        prototypes=found.prototypes,
        chosen=asked if asked in names else (names[-1] if names else ""),
    )


def shots(request: Request) -> Response:
    """Return a trial and its shots, as they are on record."""
    site = site_of(request)
    name = request.query_params.get("trial", "")
    if not name:
        raise BadInput("say which trial", field="trial")
    return JSONResponse(list_shots(site.project, name).to_dict())


async def log(request: Request) -> Response:
    """Log one shot; the same shot sent twice is logged once."""
    async with request.form(max_files=0, max_fields=20) as form:
        answer = await run_in_threadpool(_log, site_of(request), form, request.state.device)
    return JSONResponse(answer)


def _log(site: Site, form: FormData, device: str | None) -> dict[str, object]:
    uid = form_text(form, "uid")
    if not UID.fullmatch(uid):
        raise BadInput("the shot has no number of its own; load the page again", field="uid")
    hit = form_text(form, "hit")
    if hit not in HITS:
        raise BadInput("a ball went in, or out, or nobody says", field="hit")
    typed = {field: form_text(form, field) or None for field in MEASURED}
    done = add_shot(
        site.project,
        form_text(form, "trial"),
        ball=form_text(form, "ball") or None,
        hit=HITS[hit],
        remark=form_text(form, "remark"),
        uid=uid,
        source=form_text(form, "source")[:80]
        or (f"tapped on {device}" if device else "tapped on the laptop"),
        along=typed["along"],
        cross=typed["cross"],
        height=typed["height"],
        speed=typed["speed"],
        elevation=typed["elevation"],
        spin=typed["spin"],
    )
    shot = done.shots[0]
    if device is None and done.words[0].startswith("Logged shot"):
        project, trial, order = site.project, shot.trial, shot.order
        site.remember(f"shot {order}", lambda: set_aside(project, trial, order, "logged by mistake (undone)"))
    return {"shot": shot.order, "words": done.words, "undo": site.last_done if device is None else ""}


async def aside(request: Request) -> Response:
    """Set a shot aside for a reason, or let it count again."""
    site = site_of(request)
    async with request.form(max_files=0, max_fields=8) as form:
        trial, order, reason = (form_text(form, f) for f in ("trial", "order", "reason"))
        back = form_text(form, "back") == "yes"
    if not order.isdigit():
        raise BadInput(f"{order!r} is not the number of a shot", field="order")
    number, project = int(order), site.project
    owner = request.state.owner
    if back:
        done = await run_in_threadpool(take_back, project, trial, number)
        if owner:
            site.remember(
                f"shot {number} counts", lambda: set_aside(project, trial, number, "set aside again (undone)")
            )
    else:
        done = await run_in_threadpool(set_aside, project, trial, number, reason)
        if owner:
            site.remember(f"shot {number} set aside", lambda: take_back(project, trial, number))
    return JSONResponse({"words": done.words, "undo": site.last_done if owner else ""})


async def start(request: Request) -> Response:
    """Start a trial."""
    site = site_of(request)
    async with request.form(max_files=0, max_fields=30) as form:
        typed = {field: form_text(form, field) for field in TRIAL_FIELDS}
    done = await run_in_threadpool(add_trial, site.project, typed)
    return JSONResponse({"trial": done.trials[0].name, "words": done.words})


ROUTES: list[BaseRoute] = [
    route("/range", test_range),
    route("/range/shots", shots),
    route("/range/log", log, "POST"),
    route("/range/aside", aside, "POST"),
    route("/range/trial", start, "POST"),
]
