"""The site: what all pages share, and the list of pages."""

from __future__ import annotations

import asyncio
import contextlib
import datetime
from collections.abc import AsyncIterator, Awaitable, Callable, Collection
from pathlib import Path
from time import monotonic
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import BaseRoute, Mount, Route, WebSocketRoute
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp

from shotwright import __version__
from shotwright.base.errors import BadFile, BadInput, ShotwrightError
from shotwright.bench.projects import summary
from shotwright.web.gate import Gate
from shotwright.web.jobs import Jobs
from shotwright.web.limits import MEGABYTE, BodyLimit
from shotwright.web.live import Live
from shotwright.web.pairing import Pairing, device_book
from shotwright.web.stations import Station

MOST_UNDO = 50
PHOTO_BYTES = 50 * MEGABYTE
TABLE_BYTES = 20 * MEGABYTE
CLIP_BYTES = 500 * MEGABYTE
SAFE_HEADERS = {
    "content-security-policy": (
        "default-src 'self'; img-src 'self' blob: data:; object-src 'none'; base-uri 'none'; "
        "form-action 'self'; frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
}


class Site:
    """Everything that the pages share: the project, phones, listeners, long work, what can be undone.

    Parameters
    ----------
    project : Path
        The project file; it exists.
    network : str, optional
        Address and port by which phones reach the laptop; None keeps to the laptop.
    remember_phones : bool
        Keep the list of phones over a restart.
    """

    def __init__(self, project: Path, *, network: str | None = None, remember_phones: bool = True) -> None:
        self.project = project
        self.network = network
        self.stations: tuple[Station, ...] = ()
        self.jobs = Jobs()
        self.live = Live(project)
        self.pairing = Pairing(
            device_book(project) if remember_phones else None,
            monotonic,
            lambda: f"{datetime.datetime.now():%Y-%m-%d %H:%M}",  # noqa: DTZ005 - the wall clock, for people
        )
        self._kept: dict[str, tuple[str, Any]] = {}
        self._undo: list[tuple[str, Callable[[], object]]] = []
        self._words = Environment(
            loader=PackageLoader("shotwright.web", "templates"),
            autoescape=select_autoescape(default=True),
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )

    # ------------------------------------------------------------------ undo

    def remember(self, what: str, undo: Callable[[], object]) -> None:
        """Note how to take back what was just done; `what` ends the sentence "Undo: ..."."""
        self._undo.append((what, undo))
        del self._undo[:-MOST_UNDO]

    def undo(self) -> str:
        """Take back the last thing; return what it was."""
        if not self._undo:
            raise BadInput("there is nothing to undo", field="undo")
        what, back = self._undo[-1]
        back()
        del self._undo[-1]
        return what

    @property
    def last_done(self) -> str:
        """What `undo` would take back; empty when there is nothing."""
        return self._undo[-1][0] if self._undo else ""

    # ------------------------------------------------------------------ what was computed

    def keep(self, name: str, value: Any, mark: str) -> None:
        """Keep a result for as long as the project is as it was at `mark`."""
        self._kept[name] = (mark, value)

    def kept(self, name: str) -> Any:
        """Return a kept result, or None when there is none or the project has changed since."""
        mark, value = self._kept.get(name, ("", None))
        return value if value is not None and mark == self.live.mark() else None

    def forget(self, name: str) -> None:
        """Drop a kept result."""
        self._kept.pop(name, None)

    # ------------------------------------------------------------------ the project

    def turn_to(self, project: Path) -> None:
        """Serve another project from now on."""
        self.project = project
        self._undo.clear()
        self._kept.clear()
        self.live = Live(project)

    # ------------------------------------------------------------------ pages

    def render(self, template: str, **context: Any) -> str:
        """Fill a template without the page around it."""
        return self._words.get_template(template).render(site=self, **context)

    def page(self, request: Request, template: str, status: int = 200, **context: Any) -> Response:
        """Fill a template as a whole page."""
        text = self.render(
            template,
            here=request.url.path,
            owner=request.state.owner,
            device=request.state.device,
            summary=summary(self.project),
            version=__version__,
            **context,
        )
        return HTMLResponse(text, status)


def site_of(request: Request) -> Site:
    """Return the site that a request came to."""
    site = request.app.state.site
    assert isinstance(site, Site)
    return site


def form_text(form: Any, field: str) -> str:
    """Return a field of a form as text without blanks around it; empty when it is missing."""
    value = form.get(field, "")
    return value.strip() if isinstance(value, str) else ""


def application(site: Site, hosts: Collection[str], loopback: str, routes: list[BaseRoute]) -> ASGIApp:
    """Build the whole application: gate, limits, pages.

    Parameters
    ----------
    site : Site
        What the pages share.
    hosts : collection of str
        Host headers by which it may be called.
    loopback : str
        The laptop's own address.
    routes : list of BaseRoute
        The pages.

    Returns
    -------
    ASGI application
        To be served.
    """

    @contextlib.asynccontextmanager
    async def lifespan(_app: Starlette) -> AsyncIterator[None]:
        async def watch() -> None:
            # The project can change while the server runs; always watch the present one.
            while True:
                watched = site.live
                task = asyncio.create_task(watched.watch())
                while site.live is watched:
                    await asyncio.sleep(0.2)
                task.cancel()
                await watched.tell({"moved": True})

        watcher = asyncio.create_task(watch())
        yield
        watcher.cancel()
        await asyncio.to_thread(site.jobs.cancel_all)

    async def listen(socket: Any) -> None:
        await site.live.listen(socket)

    app = Starlette(
        routes=[
            *routes,
            WebSocketRoute("/live", listen),
            Mount(
                "/static",
                StaticFiles(packages=[("shotwright.web", "static"), ("shotwright.notebook", "fonts")]),
            ),
        ],
        lifespan=lifespan,
        exception_handlers={
            ShotwrightError: _mendable,
            HTTPException: _refused,
            500: _broken,
        },
    )
    app.state.site = site
    inner = _SafeHeaders(GZipMiddleware(app, minimum_size=1000))
    larger = {"/range/photo": PHOTO_BYTES, "/range/video/send": CLIP_BYTES, "/import": TABLE_BYTES}
    return Gate(BodyLimit(inner, larger), site.pairing, hosts, loopback)


class _SafeHeaders:
    """Give every answer the headers that keep a browser on our own files."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        async def noted(message: Any) -> None:
            if message["type"] == "http.response.start":
                present = {name.lower() for name, _ in message["headers"]}
                message["headers"] = [
                    *message["headers"],
                    *((k.encode(), v.encode()) for k, v in SAFE_HEADERS.items() if k.encode() not in present),
                ]
            await send(message)

        await self._app(scope, receive, noted if scope["type"] == "http" else send)


def wants_page(request: Request) -> bool:
    """Tell a person following a link from a script asking for a part."""
    accepted = request.headers.get("accept", "")
    return request.method == "GET" and "text/html" in accepted and "application/json" not in accepted


async def _mendable(request: Request, wrong: Exception) -> Response:
    field = getattr(wrong, "field", None) or ""
    if wants_page(request):
        return site_of(request).page(
            request, "trouble.html", 422, message=str(wrong), title="That did not work"
        )
    every = [str(problem) for problem in wrong.problems] if isinstance(wrong, BadFile) else [str(wrong)]
    problem = getattr(wrong, "problem", "") or str(wrong)
    told = {"field": field, "message": " ".join(every), "messages": every, "problem": problem}
    return JSONResponse(told, 422)


async def _refused(request: Request, wrong: Exception) -> Response:
    assert isinstance(wrong, HTTPException)
    words = "There is no such page." if wrong.status_code == 404 else wrong.detail
    if wants_page(request):
        return site_of(request).page(
            request, "trouble.html", wrong.status_code, message=words, title="Not here"
        )
    return JSONResponse({"field": "", "message": words}, wrong.status_code)


async def _broken(request: Request, wrong: Exception) -> Response:  # noqa: ARG001 - the server prints it
    words = (
        "Something broke inside. The project file is safe; the window that runs the server has the details."
    )
    return JSONResponse({"field": "", "message": words}, 500)


def route(path: str, answer: Callable[[Request], Response | Awaitable[Response]], *methods: str) -> Route:
    """Shorthand for a route; GET unless told otherwise."""
    return Route(path, answer, methods=list(methods) or ["GET"])
