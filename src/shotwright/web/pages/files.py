"""What can be taken away: the notebook, the project as plain files."""

from __future__ import annotations

import io
import tempfile
import zipfile
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute

from shotwright.base.errors import BadInput
from shotwright.base.progress import Progress
from shotwright.bench.projects import copy_project, export_project
from shotwright.web.site import Site, route, site_of

KINDS = {".html": "text/html; charset=utf-8", ".pdf": "application/pdf"}


def files(request: Request) -> Response:
    """Show what can be taken away."""
    site = site_of(request)
    return site.page(request, "files.html", written=[f.suffix for f in _written(site)])


def _written(site: Site) -> list[Path]:
    kept = site.kept("notebook")
    return list(kept) if kept else []


def write(request: Request) -> Response:
    """Start writing the notebook."""
    site = site_of(request)
    mark, project = site.live.mark(), site.project

    def work(progress: Progress) -> None:
        from shotwright.bench.notebooks import write_notebook

        found = write_notebook(project, progress=progress)
        site.keep("notebook", [Path(f) for f in found.files], mark)

    return JSONResponse(site.jobs.start("notebook", work).to_dict())


def notebook(request: Request) -> Response:
    """Hand the notebook over."""
    site = site_of(request)
    wanted = f".{request.path_params['kind']}"
    for file in _written(site):
        if file.suffix == wanted and wanted in KINDS and file.is_file():
            headers = {"content-disposition": f'attachment; filename="{_safe(site.project.stem)}{wanted}"'}
            return Response(file.read_bytes(), media_type=KINDS[wanted], headers=headers)
    raise BadInput("write the notebook first; the project has changed since", field="notebook")


async def project_file(request: Request) -> Response:
    """Hand over a copy of the project file, whole, also while somebody logs."""
    site = site_of(request)

    def work() -> bytes:
        with tempfile.TemporaryDirectory() as folder:
            there = Path(folder) / "copy.shotwright"
            copy_project(site.project, there)
            return there.read_bytes()

    name = f"{_safe(site.project.stem)}.shotwright"
    return _download(await run_in_threadpool(work), name, "application/octet-stream")


async def plain_files(request: Request) -> Response:
    """Hand over the project as plain files: TOML and CSV, zipped."""
    site = site_of(request)

    def work() -> bytes:
        out = io.BytesIO()
        with tempfile.TemporaryDirectory() as folder:
            there = Path(folder) / "project"
            export_project(site.project, there)
            with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
                for file in sorted(there.rglob("*")):
                    if file.is_file():
                        packed.write(file, file.relative_to(there))
        return out.getvalue()

    return _download(await run_in_threadpool(work), f"{_safe(site.project.stem)}.zip", "application/zip")


def _download(data: bytes, name: str, kind: str) -> Response:
    headers = {"content-disposition": f'attachment; filename="{name}"', "cache-control": "no-store"}
    return Response(data, media_type=kind, headers=headers)


def _safe(name: str) -> str:
    return (
        "".join(sign if sign.isascii() and (sign.isalnum() or sign in "-_") else "-" for sign in name)
        or "project"
    )


ROUTES: list[BaseRoute] = [
    route("/files", files),
    route("/files/write", write, "POST"),
    route("/files/notebook.{kind}", notebook),
    route("/files/project", project_file),
    route("/files/plain", plain_files),
]
