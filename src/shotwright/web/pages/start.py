"""The first page: where the project stands, and what to do next."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import BaseRoute

from shotwright.base.errors import BadInput
from shotwright.base.progress import Progress
from shotwright.bench.entry import understood
from shotwright.bench.projects import import_into
from shotwright.web.site import form_text, route, site_of

EXAMPLES = {"game": "game.toml", "prototypes": "prototypes.toml", "trials": "trials.toml"}


def start(request: Request) -> Response:
    """Show where the project stands; a phone goes straight to the test range."""
    site = site_of(request)
    if not request.state.owner:
        return RedirectResponse("/range", 303)
    return site.page(request, "start.html")


def parts(request: Request) -> Response:
    """Show the part that changes, for a page that is open already."""
    from shotwright.bench.projects import summary

    site = site_of(request)
    return Response(site.render("start_state.html", summary=summary(site.project)), media_type="text/html")


async def bring_in(request: Request) -> Response:
    """Take a file by upload: game, prototypes, trials or a table of shots."""
    site = site_of(request)
    async with request.form(max_files=1, max_fields=4) as form:
        upload = form.get("file")
        if upload is None or isinstance(upload, str) or not upload.filename:
            raise BadInput("choose a file first", field="file")
        name = Path(upload.filename.replace("\\", "/")).name
        with tempfile.TemporaryDirectory() as folder:
            # The reader tells kinds of files by their ending, and its notes name the file.
            there = Path(folder) / name
            with there.open("wb") as out:
                shutil.copyfileobj(upload.file, out)
            report = import_into(site.project, there, skip_bad_rows=form_text(form, "skip") == "yes")
    return JSONResponse(report.to_dict(), 200 if report.imported else 422)


def demo(request: Request) -> Response:
    """Run the demo beside the project, then turn to it."""
    site = site_of(request)
    folder = site.project.parent / "shotwright-demo"

    def work(progress: Progress) -> str:
        from shotwright.bench.demonstration import run_demo

        found = run_demo(folder, progress=progress)
        made = next(Path(f) for f in found.files if f.endswith(".shotwright"))
        site.turn_to(made)
        return str(made)

    return JSONResponse(site.jobs.start("demo", work).to_dict())


def job(request: Request) -> Response:
    """Tell how far a piece of long work is."""
    found = site_of(request).jobs.find(request.path_params["name"])
    if found is None:
        return JSONResponse({"field": "", "message": "this work is not known any more"}, 404)
    return JSONResponse(found.to_dict())


def cancel(request: Request) -> Response:
    """Stop a piece of long work."""
    site_of(request).jobs.cancel(request.path_params["name"])
    return JSONResponse({"stopping": True})


def understand(request: Request) -> Response:
    """Say what a typed quantity is read as, or why it can't be."""
    asked = request.query_params
    return JSONResponse(
        understood(asked.get("text", ""), asked.get("kind", ""), asked.get("field", "value")).to_dict()
    )


def undo(request: Request) -> Response:
    """Take back the last change."""
    site = site_of(request)
    return JSONResponse({"undone": site.undo(), "next": site.last_done})


ROUTES: list[BaseRoute] = [
    route("/", start),
    route("/start/state", parts),
    route("/import", bring_in, "POST"),
    route("/demo", demo, "POST"),
    route("/job/{name}", job),
    route("/job/{name}/cancel", cancel, "POST"),
    route("/understood", understand),
    route("/undo", undo, "POST"),
]
