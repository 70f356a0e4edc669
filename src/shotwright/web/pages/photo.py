"""Marks from a photo: sent, kept beside the project, tapped, rectified, logged."""

from __future__ import annotations

import json

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import BaseRoute

from shotwright.base.errors import BadInput
from shotwright.bench.photos import keep_photo, photo_file, propose_marks, rectify
from shotwright.bench.shots import list_shots
from shotwright.web.site import form_text, route, site_of


def photo_page(request: Request) -> Response:
    """Show the page where marks are tapped."""
    site = site_of(request)
    trial = request.query_params.get("trial", "")
    found = list_shots(site.project, trial or None)
    if not found.trials:
        raise BadInput("start a trial first", field="trial")
    return site.page(request, "photo.html", trial=found.trials[-1])


async def send(request: Request) -> Response:
    """Take a photo in."""
    site = site_of(request)
    async with request.form(max_files=1, max_fields=2) as form:
        upload = form.get("photo")
        if upload is None or isinstance(upload, str) or not upload.filename:
            raise BadInput("choose a photo first", field="photo")
        data = await upload.read()
        kept = await run_in_threadpool(keep_photo, site.project, data, upload.filename)
    return JSONResponse(kept.to_dict())


def show(request: Request) -> Response:
    """Return a photo that was kept."""
    file = photo_file(site_of(request).project, request.path_params["name"])
    return FileResponse(file, media_type="image/jpeg", headers={"cache-control": "private, max-age=86400"})


async def marks(request: Request) -> Response:
    """Turn taps into places on the floor."""
    async with request.form(max_files=0, max_fields=8) as form:
        asked = {field: form_text(form, field) for field in ("photo", "width", "known", "marks", "place_sd")}
    try:
        known = [(float(x), float(y), str(a), str(c)) for x, y, a, c in json.loads(asked["known"])]
        taps = [(float(x), float(y)) for x, y in json.loads(asked["marks"])]
        width = int(asked["width"])
    except (ValueError, TypeError) as reason:
        raise BadInput("the taps did not arrive whole; tap again", field="marks") from reason
    if len(known) > 40 or len(taps) > 200 or width < 1:
        raise BadInput("at most 40 known points and 200 marks on one photo", field="marks")
    photo_file(site_of(request).project, asked["photo"])
    found = await run_in_threadpool(
        rectify, asked["photo"], width, known, taps, place_sd=asked["place_sd"] or "5 mm"
    )
    return JSONResponse(found.to_dict())


async def proposals(request: Request) -> Response:
    """Look for marks between the known points; the person says which are right."""
    async with request.form(max_files=0, max_fields=4) as form:
        asked = {field: form_text(form, field) for field in ("photo", "known")}
    try:
        known = [(float(x), float(y), str(a), str(c)) for x, y, a, c in json.loads(asked["known"])]
    except (ValueError, TypeError) as reason:
        raise BadInput("the taps did not arrive whole; tap again", field="known") from reason
    if len(known) > 40:
        raise BadInput("at most 40 known points on one photo", field="known")
    found = await run_in_threadpool(propose_marks, site_of(request).project, asked["photo"], known)
    return JSONResponse(found.to_dict())


ROUTES: list[BaseRoute] = [
    route("/range/photo", photo_page),
    route("/range/photo/send", send, "POST"),
    route("/range/photo/marks", marks, "POST"),
    route("/range/photo/proposals", proposals, "POST"),
    route("/range/photo/{name}.jpg", show),
]
