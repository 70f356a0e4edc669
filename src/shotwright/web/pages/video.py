"""Launches from a clip: sent, kept beside the project, searched, scrubbed, tapped, measured, entered."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import BaseRoute

from shotwright.base.errors import BadInput
from shotwright.base.progress import Progress
from shotwright.bench.clips import accept_clip, clip_frame, keep_clip, measure_clip, search_clip
from shotwright.bench.shots import list_shots
from shotwright.bench.video_results import VideoResult
from shotwright.bench.video_scale import TypedScale
from shotwright.bench.videos import TypedVideo
from shotwright.web.site import Site, form_text, route, site_of

FIELDS = (
    "clip", "file", "marks", "distance", "plumb", "release", "filmed_at", "mark", "moved", "trial", "only",
    "shot", "width",
)  # fmt: skip


def video_page(request: Request) -> Response:
    """Show the page."""
    site = site_of(request)
    trial = request.query_params.get("trial", "")
    found = list_shots(site.project, trial or None)
    if not found.trials:
        raise BadInput("start a trial first", field="trial")
    return site.page(request, "video.html", trial=found.trials[-1])


async def send(request: Request) -> Response:
    """Take a clip in."""
    site = site_of(request)
    async with request.form(max_files=1, max_fields=2) as form:
        upload = form.get("clip")
        if upload is None or isinstance(upload, str) or not upload.filename:
            raise BadInput("choose a clip first", field="clip")
        kept = await run_in_threadpool(keep_clip, site.project, upload.file, upload.filename)
    return JSONResponse(kept.to_dict())


async def search(request: Request) -> Response:
    """Start looking for the ball in the clip's frames."""
    asked = await _asked(request)
    site = site_of(request)
    project, name = site.project, asked["clip"]

    def work(progress: Progress) -> None:
        site.keep(f"clip {name}", search_clip(project, name, progress), site.live.mark())

    return JSONResponse(site.jobs.start("looking for the ball", work).to_dict())


async def searched(request: Request) -> Response:
    """Return what the search left: size and times of the frames."""
    asked = await _asked(request)
    found = await run_in_threadpool(search_clip, site_of(request).project, asked["clip"])
    return JSONResponse(found.to_dict())


def frame(request: Request) -> Response:
    """Return one frame."""
    params = request.path_params
    file = clip_frame(site_of(request).project, params["name"], params["frame"])
    return FileResponse(file, media_type="image/jpeg", headers={"cache-control": "private, max-age=86400"})


async def measure(request: Request) -> Response:
    """Measure the clip with the taps as they are."""
    asked = await _asked(request)
    found = await run_in_threadpool(_measured, site_of(request), asked)
    plain = found.to_dict()
    plain["pictures"] = [shot.svg for shot in found.shots]
    return JSONResponse(plain)


async def accept(request: Request) -> Response:
    """Enter a shot into the trial."""
    asked = await _asked(request)
    if not asked["only"].isdigit():
        raise BadInput("say which shot of the clip", field="only")
    if asked["shot"] and not asked["shot"].isdigit():
        raise BadInput(f"{asked['shot']!r} is not a shot number; 1, 2, 3, ...", field="shot")
    site = site_of(request)

    def work() -> dict[str, object]:
        found = _measured(site, asked)
        number = int(asked["shot"]) if asked["shot"] else None
        return accept_clip(site.project, asked["trial"], found, int(asked["only"]), number).to_dict()

    return JSONResponse(await run_in_threadpool(work))


async def _asked(request: Request) -> dict[str, str]:
    async with request.form(max_files=0, max_fields=20) as form:
        return {field: form_text(form, field) for field in FIELDS}


def _measured(site: Site, asked: Mapping[str, str]) -> VideoResult:
    rate = None
    if asked["filmed_at"]:
        try:
            rate = float(asked["filmed_at"].replace(",", "."))
        except ValueError:
            raise BadInput(f"{asked['filmed_at']!r} is no rate; e.g. 240", field="filmed_at") from None
    width = min(max(float(asked["width"]), 280.0), 900.0) if asked["width"].isdigit() else 640.0
    # two taps without a distance, or a distance without taps, is a form half filled: the ball gives the scale
    marks = asked["marks"] if asked["distance"] else ""
    scale = TypedScale(
        marks=marks or None,
        distance=asked["distance"] if marks else None,
        plumb=asked["plumb"] or None,
    )
    typed = TypedVideo(
        release=asked["release"] or None,
        filmed_at=rate,
        mark=asked["mark"],
        moved=tuple(asked["moved"].split(";")) if asked["moved"] else (),
    )
    return measure_clip(site.project, asked["clip"], scale, typed, asked["file"] or "clip", width)


ROUTES: list[BaseRoute] = [
    route("/range/video", video_page),
    route("/range/video/send", send, "POST"),
    route("/range/video/search", search, "POST"),
    route("/range/video/searched", searched, "POST"),
    route("/range/video/measure", measure, "POST"),
    route("/range/video/accept", accept, "POST"),
    route("/range/video/{name}/{frame:int}.jpg", frame),
]
