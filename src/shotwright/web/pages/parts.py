"""Parts to cut and print: a form for each kind, drawn while it is filled in, to be kept and downloaded."""

from __future__ import annotations

import functools
import io
import re
import zipfile

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import BaseRoute

from shotwright.base.errors import BadInput
from shotwright.bench.kept_parts import keep_part, list_parts, parts_text, remove_part, set_parts_text
from shotwright.bench.part_files import ENDINGS, MEDIA, part_bytes, slug
from shotwright.bench.part_kinds import KINDS, fields_of, part_kind
from shotwright.bench.part_pages import project_name, view_part
from shotwright.bench.part_prefill import fitting, from_prototype
from shotwright.bench.parts import MadePart, make_part
from shotwright.web.pages.evidence import width_of
from shotwright.web.site import form_text, route, site_of


def parts(request: Request) -> Response:
    """Show the form of one kind; filled in from the kept part that is named, or from the last one kept."""
    site = site_of(request)
    kept = {one.name: one for one in list_parts(site.project).parts}
    chosen = kept.get(request.query_params.get("part", ""))
    if kept and not request.query_params:
        chosen = list(kept.values())[-1]
    asked = chosen.kind if chosen else request.query_params.get("kind", "")
    kind = part_kind(asked if asked in KINDS else next(iter(KINDS)))
    values = {one.key: one.default for one in fields_of(kind)}
    prototype = request.query_params.get("prototype", "")
    if prototype:
        values |= from_prototype(site.project, kind.key, prototype)
    if chosen:
        values = {key: chosen.inputs.get(key, "") for key in values}
    return site.page(
        request,
        "parts.html",
        kinds=[part_kind(key) for key in KINDS],
        kind=kind,
        fields=fields_of(kind),
        own=len(kind.fields),
        values=values,
        name=chosen.name if chosen else "",
        listed=list(kept.values()),
        prototypes=fitting(site.project, kind.key),
        prototype=prototype,
    )


def kept_list(request: Request) -> Response:
    """Show the parts that the project keeps, for a page that is open already."""
    site = site_of(request)
    return HTMLResponse(site.render("parts_kept.html", listed=list_parts(site.project).parts))


async def typed(request: Request) -> tuple[str, str, dict[str, str]]:
    """Read the form: kind, name, fields."""
    async with request.form(max_files=0, max_fields=200) as form:
        fields = {name: form_text(form, name) for name in form}
    return fields.pop("kind", ""), fields.pop("name", ""), fields


async def look(request: Request) -> Response:
    """Draw the part as typed: a preview, or the part itself when asked."""
    kind, name, fields = await typed(request)
    found = await run_in_threadpool(
        view_part,
        kind,
        fields,
        name=name,
        width=width_of(request),
        torque_width=width_of(request, "torque"),
        exact=request.query_params.get("exact") == "1",
    )
    return JSONResponse(found.to_dict())


async def keep(request: Request) -> Response:
    """Keep the part as typed."""
    site = site_of(request)
    kind, name, fields = await typed(request)
    if not name:
        raise BadInput("give the part a name to keep it by", field="name")
    before = await run_in_threadpool(parts_text, site.project)
    made = await run_in_threadpool(make_part, kind, fields, name=name)
    words = await run_in_threadpool(keep_part, site.project, made, name)
    site.remember(f"part {name}", functools.partial(set_parts_text, site.project, before))
    return JSONResponse({"words": [words], "undo": site.last_done})


async def remove(request: Request) -> Response:
    """Remove a part from the project."""
    site = site_of(request)
    async with request.form(max_files=0, max_fields=3) as form:
        name = form_text(form, "part")
    before = await run_in_threadpool(parts_text, site.project)
    found = await run_in_threadpool(remove_part, site.project, name)
    site.remember(f"removed part {name}", functools.partial(set_parts_text, site.project, before))
    return JSONResponse({"words": found.words, "undo": site.last_done})


async def file(request: Request) -> Response:
    """Hand the part over as a file; several drawings zipped."""
    ending = f".{request.path_params['ending']}"
    if ending not in ENDINGS:
        raise BadInput(f"one of {', '.join(ENDINGS)}", field="file")
    kind, name, fields = await typed(request)
    paper = request.query_params.get("paper", "a4")
    project = project_name(site_of(request).project)

    def work() -> tuple[str, str, bytes]:
        made = make_part(kind, fields, name=name, project=project)
        return _packed(made, ending, paper)

    label, media, data = await run_in_threadpool(work)
    headers = {"content-disposition": f'attachment; filename="{label}"', "cache-control": "no-store"}
    return Response(data, media_type=media, headers=headers)


def _packed(made: MadePart, ending: str, paper: str) -> tuple[str, str, bytes]:
    """Name, media type and bytes of a download."""
    drawings = made.part.drawings if ending == ".stl" else made.sheets
    if not drawings:
        raise BadInput(f"{made.name} has no drawing: it is bought, not cut", field="file")
    if len(drawings) == 1:
        return (
            f"{_ascii(slug(drawings[0]))}{ending}",
            MEDIA[ending],
            part_bytes(drawings[0], ending, paper=paper),
        )
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for drawing in drawings:
            packed.writestr(f"{slug(drawing)}{ending}", part_bytes(drawing, ending, paper=paper))
    return f"{_ascii(made.name)}-{ending[1:]}.zip", "application/zip", out.getvalue()


def _ascii(name: str) -> str:
    return re.sub(r"[^A-Za-z0-9._-]+", "-", name).strip("-.") or "part"


ROUTES: list[BaseRoute] = [
    route("/parts", parts),
    route("/parts/kept", kept_list),
    route("/parts/look", look, "POST"),
    route("/parts/keep", keep, "POST"),
    route("/parts/remove", remove, "POST"),
    route("/parts/file/{ending}", file, "POST"),
]
