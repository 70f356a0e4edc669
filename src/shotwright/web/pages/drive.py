"""What drives a launcher: motors, train, supply, duty by form; the match, the map, the search."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import BaseRoute

from shotwright.base.errors import BadFile, BadInput, NoAnswer
from shotwright.base.progress import Progress
from shotwright.base.quantities import parse_quantity
from shotwright.bench import drive_forms as forms
from shotwright.bench.drives import DriveFile, find_drive, motors
from shotwright.bench.form_tables import field_of
from shotwright.bench.launcher_jolt import take_jolt, wheel_prototypes
from shotwright.bench.match_heat import match_heat
from shotwright.bench.part_turn import take_turn, winding_parts
from shotwright.bench.recovery import recovery_at, recovery_picture
from shotwright.bench.winding import winding
from shotwright.bench.workbook import read_workbook
from shotwright.web.pages.evidence import width_of
from shotwright.web.site import Site, form_text, route, site_of


def drive(request: Request) -> Response:
    """Show the page of one drive; the first when none is named."""
    site = site_of(request)
    mark, book = site.live.mark(), read_workbook(site.project)
    return site.page(
        request,
        "drive.html",
        form=forms.drive_form(site.project, request.query_params.get("drive", "")),
        kinds=forms.KINDS,
        mark=mark,
        launchers=wheel_prototypes(book),
        winders=winding_parts(book),
    )


def _faults(wrong: BadInput) -> Response:
    """Answer what is wrong field by field."""
    every = wrong.problems if isinstance(wrong, BadFile) else (wrong,)
    faults = [{"field": field_of(one.field), "message": one.problem} for one in every]
    return JSONResponse({"faults": faults, "message": str(wrong), "field": wrong.field or ""}, 422)


def _kept(site: Site, name: str, now: str, before: str) -> Response:
    """Remember how to take a change back, and say that it is kept."""
    site.remember(f"drive {name}", functools.partial(forms.replace_drive, site.project, now, before))
    return JSONResponse({"words": ["Kept."], "drive": now, "undo": site.last_done})


async def _change(request: Request, work: Callable[..., str], *fields: str) -> Response:
    """Run one change of a drive that leaves its name; `fields` of the form are handed to it."""
    site = site_of(request)
    async with request.form(max_files=0, max_fields=10) as form:
        name, values = form_text(form, "drive"), [form_text(form, field) for field in fields]
    try:
        before = await run_in_threadpool(work, site.project, name, *values)
    except BadInput as wrong:
        return _faults(wrong)
    return _kept(site, name, name, before)


async def start(request: Request) -> Response:
    """Begin a drive with typical values."""
    site = site_of(request)
    async with request.form(max_files=0, max_fields=4) as form:
        name, kind = form_text(form, "name"), form_text(form, "kind")
    await run_in_threadpool(forms.start_drive, site.project, name, kind)
    site.remember(f"drive {name}", functools.partial(forms.drop, site.project, name))
    return JSONResponse({"drive": name, "undo": site.last_done})


async def save(request: Request) -> Response:
    """Keep the drive as typed."""
    site = site_of(request)
    async with request.form(max_files=0, max_fields=2000) as form:
        fields = {name: form_text(form, name) for name in form}
    name = fields.pop("drive", "")
    try:
        before, found = await run_in_threadpool(forms.save_drive, site.project, name, fields)
    except BadInput as wrong:
        return _faults(wrong)
    return _kept(site, name, found.name, before)


async def save_text(request: Request) -> Response:
    """Keep the drive's file as typed."""
    site = site_of(request)
    async with request.form(max_files=0, max_fields=3) as form:
        name, text = form_text(form, "drive"), form_text(form, "text")
    before = forms.drive_form(site.project, name)
    assert before is not None
    found = await run_in_threadpool(forms.replace_drive, site.project, name, text + "\n")
    return _kept(site, name, found.name, before.text)


async def add(request: Request) -> Response:
    """Add a motor, a stage, bursts, a wheel or a winding."""
    return await _change(request, forms.add_table, "table")


async def remove(request: Request) -> Response:
    """Take one of them out."""
    return await _change(request, forms.remove_table, "table")


async def jolt(request: Request) -> Response:
    """Take set point and jolt from a launcher on paper."""
    return await _change(request, take_jolt, "prototype")


async def turn(request: Request) -> Response:
    """Take the torque over a turn from a kept part."""
    return await _change(request, take_turn, "part")


async def drop(request: Request) -> Response:
    """Forget a drive."""
    site = site_of(request)
    async with request.form(max_files=0, max_fields=2) as form:
        name = form_text(form, "drive")
    text = await run_in_threadpool(forms.drop, site.project, name)
    site.remember(f"dropping {name}", functools.partial(forms.put_text, site.project, text))
    return JSONResponse({"words": [f"Dropped: {name}."], "undo": site.last_done})


def _drive(request: Request) -> DriveFile:
    return find_drive(None, site_of(request).project, request.query_params.get("drive", ""))


def _part(request: Request, compute: Callable[[DriveFile, float], Any], kind: str) -> Response:
    """Draw a part, or say why it has none."""
    try:
        found, trouble = compute(_drive(request), width_of(request)), ""
    except (BadInput, NoAnswer) as wrong:
        found, trouble = None, str(wrong)
    text = site_of(request).render("drive_part.html", kind=kind, found=found, trouble=trouble)
    return HTMLResponse(text)


def motor_part(request: Request) -> Response:
    """Tell what the motors do, cold and warm."""
    return _part(request, lambda file, _: motors(file), "motors")


def match_part(request: Request) -> Response:
    """Follow the match."""
    return _part(request, lambda file, width: match_heat(file, width=width), "match")


def winding_part(request: Request) -> Response:
    """Wind the piston."""
    return _part(request, lambda file, width: winding(file, width=width), "winding")


def recovery_map(request: Request) -> Response:
    """Draw the map of recovery times."""
    return JSONResponse(recovery_picture(_drive(request), width_of(request)).to_dict())


def _spot(asked: Any) -> tuple[float, float]:
    try:
        ratio = float(asked.get("ratio", ""))
    except ValueError:
        raise BadInput(f"{asked.get('ratio', '')!r} is not a number; e.g. 5", field="ratio") from None
    typed = str(asked.get("inertia", ""))
    return ratio, parse_quantity(typed, "moment of inertia", "inertia")


def spot(request: Request) -> Response:
    """Tell what one place of the map means."""
    return JSONResponse(recovery_at(_drive(request), *_spot(request.query_params)).to_dict())


async def take(request: Request) -> Response:
    """Build what a place of the map says, from the gears that the crew owns."""

    def work(project: Any, name: str, ratio: str, inertia: str) -> str:
        at = recovery_at(find_drive(None, project, name), *_spot({"ratio": ratio, "inertia": inertia}))
        if at.train is None:
            raise BadInput("list the tooth counts that you own first, under Search", field="[search], teeth")
        return forms.take(project, name, at.train.pairs, at.inertia_kg_m2)

    return await _change(request, work, "ratio", "inertia")


def search(request: Request) -> Response:
    """Start the search for a drive."""
    site, name = site_of(request), request.query_params.get("drive", "")
    mark, project = site.live.mark(), site.project

    def work(progress: Progress) -> None:
        from shotwright.bench.drives import ratio_search

        found = ratio_search(find_drive(None, project, name), progress=progress)
        site.keep(f"search of {name}", found, mark)

    return JSONResponse(site.jobs.start(f"search for {name}", work).to_dict())


def found(request: Request) -> Response:
    """Show what the search found, for as long as the project has not changed since."""
    site = site_of(request)
    kept = site.kept(f"search of {request.query_params.get('drive', '')}")
    return HTMLResponse(site.render("drive_part.html", kind="search", found=kept, trouble=""))


async def pick(request: Request) -> Response:
    """Build what the search picked."""
    site = site_of(request)

    def work(project: Any, name: str) -> str:
        kept = site.kept(f"search of {name}")
        if kept is None:
            raise BadInput("the project changed since; search again", field="search")
        best = kept.search.pick
        return forms.take(project, name, kept.pairs, best.wheel_inertia_kg_m2, best.motor, best.motors)

    return await _change(request, work)


ROUTES: list[BaseRoute] = [
    route("/drive", drive),
    route("/drive/start", start, "POST"),
    route("/drive/save", save, "POST"),
    route("/drive/text", save_text, "POST"),
    route("/drive/add", add, "POST"),
    route("/drive/remove", remove, "POST"),
    route("/drive/jolt", jolt, "POST"),
    route("/drive/turn", turn, "POST"),
    route("/drive/drop", drop, "POST"),
    route("/drive/motors", motor_part),
    route("/drive/match", match_part),
    route("/drive/winding", winding_part),
    route("/drive/map", recovery_map),
    route("/drive/spot", spot),
    route("/drive/take", take, "POST"),
    route("/drive/search", search, "POST"),
    route("/drive/found", found),
    route("/drive/pick", pick, "POST"),
]
