"""The robot around the launcher: drive base, tilt, feed, brake, power, each by form with its picture."""

from __future__ import annotations

import functools
import time
from collections.abc import Callable
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import BaseRoute

from shotwright.base.errors import BadFile, BadInput, Cancelled, NoAnswer
from shotwright.base.progress import Progress
from shotwright.bench import robot_forms as forms
from shotwright.bench.form_tables import field_of
from shotwright.bench.robot_brake import brake
from shotwright.bench.robot_feed import feed
from shotwright.bench.robot_power import power
from shotwright.bench.robot_tilt import redrawn, tilt
from shotwright.bench.robots import FoundRobot, drive_base, find_robot
from shotwright.web.jobs import Job
from shotwright.web.pages.evidence import width_of
from shotwright.web.site import Site, form_text, route, site_of

HITS = "robot hits"
A_MOMENT = 1.0  # s; what takes longer tells how far it is
CAPTIONS = {
    "drive-base": "sprints against pushing force and ratio; speed of the first sprint.",
    "tilt": "torque of the weight and current of the motor against elevation.",
    "feed": "how hard a full channel pushes, against its width.",
    "brake": "force held against force on the pads; the reservoir over the match.",
    "power": "who runs when; current and voltage of the battery.",
}
# These take milliseconds ...
AT_ONCE: dict[str, Callable[[FoundRobot, float], Any]] = {
    "tilt": lambda found, width: tilt(found, hits=False, width=width),
    "feed": lambda found, width: feed(found, width=width),
    "brake": lambda found, width: brake(found, width=width),
}
# ... and these can take seconds.
LONG: dict[str, tuple[str, Callable[[FoundRobot, float, Progress], Any]]] = {
    "drive-base": ("drive base", lambda found, width, told: drive_base(found, width=width, progress=told)),
    "power": ("power budget", lambda found, width, told: power(found, width=width, progress=told)),
}


def robot(request: Request) -> Response:
    """Show the page."""
    site = site_of(request)
    mark = site.live.mark()
    return site.page(request, "robot.html", form=forms.robot_form(site.project), mark=mark)


# ---------------------------------------------------------------- changes


def _kept(site: Site, before: str | None, what: str = "robot") -> Response:
    """Remember how to take a change back, and say that it is kept."""
    site.remember(what, functools.partial(forms.put_robot_text, site.project, before))
    return JSONResponse({"words": ["Kept."], "undo": site.last_done})


async def _change(site: Site, work: Callable[..., str], *asked: Any) -> Response:
    """Run one change; answer what is wrong field by field."""
    try:
        before = await run_in_threadpool(work, site.project, *asked)
    except BadInput as wrong:
        every = wrong.problems if isinstance(wrong, BadFile) else (wrong,)
        faults = [{"field": field_of(one.field), "message": one.problem} for one in every]
        return JSONResponse({"faults": faults, "message": str(wrong), "field": wrong.field or ""}, 422)
    return _kept(site, before)


async def start(request: Request) -> Response:
    """Begin with the invented example."""
    site = site_of(request)
    return _kept(site, await run_in_threadpool(forms.start_robot, site.project), "robot from the example")


async def save(request: Request) -> Response:
    """Keep the robot as typed."""
    async with request.form(max_files=0, max_fields=2000) as form:
        fields = {name: form_text(form, name) for name in form}
    return await _change(site_of(request), forms.save_robot, fields)


async def save_text(request: Request) -> Response:
    """Keep the file as typed."""
    site = site_of(request)
    async with request.form(max_files=0, max_fields=2) as form:
        text = form_text(form, "text")
    return _kept(site, await run_in_threadpool(forms.put_robot_text, site.project, text + "\n"))


async def add(request: Request) -> Response:
    """Add a section or a table."""
    async with request.form(max_files=0, max_fields=2) as form:
        place = form_text(form, "table")
    return await _change(site_of(request), forms.add_to_robot, place)


async def remove(request: Request) -> Response:
    """Take a section or a table out."""
    async with request.form(max_files=0, max_fields=2) as form:
        place = form_text(form, "table")
    return await _change(site_of(request), forms.take_from_robot, place)


def drop(request: Request) -> Response:
    """Forget the robot."""
    site = site_of(request)
    return _kept(site, forms.put_robot_text(site.project, None), "dropping the robot")


# ---------------------------------------------------------------- parts


def part(request: Request) -> Response:
    """Draw a part; say why it has none; or, when that takes longer than a moment, how far it is."""
    site, kind, width = site_of(request), request.path_params["section"], width_of(request)
    job: Job | None = None
    found, trouble = None, ""
    hits = site.kept(HITS) if kind == "tilt" else None
    try:
        if hits is not None:
            found = redrawn(find_robot(None, site.project), hits, width)
        elif kind in AT_ONCE:
            found = AT_ONCE[kind](find_robot(None, site.project), width)
        elif kind in LONG:
            found, job = _long(site, kind, width)
        else:
            raise HTTPException(404)
    except (BadInput, NoAnswer) as wrong:
        trouble = str(wrong)
    if job is not None and job.state == "failed":
        trouble, job = job.message, None
    text = site.render(
        "robot_part.html",
        kind=kind,
        found=found,
        job=job,
        trouble=trouble,
        caption=CAPTIONS[kind],
        ask_hits=kind == "tilt" and hits is None,
    )
    return HTMLResponse(text)


def _long(site: Site, kind: str, width: float) -> tuple[Any, Job | None]:
    """Return what was found for the project as it is, or the work that is still at it."""
    title, compute = LONG[kind]
    name, mark = f"robot {kind} {width:.0f}", site.live.mark()
    found = site.kept(name)
    if found is not None:
        return found, None
    job: Job | None = site.kept(f"{name}, work")
    if job is None or job.state != "running":
        job = site.jobs.start(title, _work(site, name, mark, lambda robot, told: compute(robot, width, told)))
        site.keep(f"{name}, work", job, mark)
    deadline = time.monotonic() + A_MOMENT
    while job.state == "running" and time.monotonic() < deadline:
        time.sleep(0.01)
    return (site.kept(name), None) if job.state == "done" and site.kept(name) is not None else (None, job)


def _work(
    site: Site, name: str, mark: str, compute: Callable[[FoundRobot, Progress], Any]
) -> Callable[[Progress], None]:
    """Return work that keeps its result, and stops when the project is no longer what it began with."""
    project = site.project

    def work(progress: Progress) -> None:
        def told(fraction: float, what: str = "") -> None:
            if site.live.mark() != mark:
                raise Cancelled("the project changed")
            progress(fraction, what)

        site.keep(name, compute(find_robot(None, project), told), mark)

    return work


def hits(request: Request) -> Response:
    """Start carrying the tilt's backlash into hits."""
    site = site_of(request)
    work = _work(site, HITS, site.live.mark(), lambda found, told: tilt(found, progress=told))
    return JSONResponse(site.jobs.start("hits of the tilt", work).to_dict())


ROUTES: list[BaseRoute] = [
    route("/robot", robot),
    route("/robot/start", start, "POST"),
    route("/robot/save", save, "POST"),
    route("/robot/text", save_text, "POST"),
    route("/robot/add", add, "POST"),
    route("/robot/remove", remove, "POST"),
    route("/robot/drop", drop, "POST"),
    route("/robot/part/{section}", part),
    route("/robot/hits", hits, "POST"),
]
