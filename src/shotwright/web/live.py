"""Tell every open page that the project changed, whoever changed it: a page, a phone, the command line."""

from __future__ import annotations

import asyncio
import contextlib
import json
from pathlib import Path
from typing import Any

from starlette.websockets import WebSocket, WebSocketDisconnect, WebSocketState

from shotwright.base.errors import ProjectProblem
from shotwright.bench.projects import edition

LOOK_SECONDS = 0.2


class Live:
    """The pages that listen, and the eye on the project file.

    Parameters
    ----------
    project : Path
        The project file. Its size and time of change, and those of its write-ahead log, tell when to look;
        what it holds tells whether anything changed. So writers in other processes are seen too, and the
        database's own housekeeping is not.
    """

    def __init__(self, project: Path) -> None:
        self._files = (project, project.with_name(f"{project.name}-wal"))
        self._project = project
        self._sockets: set[WebSocket] = set()
        self._known = ("", "")
        self._seen = self.mark()

    def mark(self) -> str:
        """Return a word that differs when the project does."""
        trace = self._trace()
        if trace != self._known[0]:
            try:
                self._known = (trace, edition(self._project))
            except ProjectProblem:
                # Gone or being put in place: whatever was computed does not belong to it.
                return trace
        return self._known[1]

    def _trace(self) -> str:
        parts = []
        for file in self._files:
            with contextlib.suppress(OSError):
                found = file.stat()
                if found.st_size:
                    parts.append(f"{found.st_mtime_ns:x}.{found.st_size:x}")
        return "-".join(parts)

    async def watch(self) -> None:
        """Look at the file until cancelled; tell the pages when it changed."""
        while True:
            await asyncio.sleep(LOOK_SECONDS)
            now = self.mark()
            if now != self._seen:
                self._seen = now
                await self.tell({"changed": now})

    async def tell(self, what: dict[str, Any]) -> None:
        """Send a message to every page that listens."""
        text = json.dumps(what, allow_nan=False)
        for socket in tuple(self._sockets):
            try:
                await socket.send_text(text)
            except (WebSocketDisconnect, RuntimeError, OSError):
                self._sockets.discard(socket)

    async def listen(self, socket: WebSocket) -> None:
        """Serve one page's socket until it goes."""
        await socket.accept()
        self._sockets.add(socket)
        try:
            await socket.send_text(json.dumps({"changed": self._seen}))
            while socket.client_state is WebSocketState.CONNECTED:
                await socket.receive_text()
        except (WebSocketDisconnect, RuntimeError):
            pass
        finally:
            self._sockets.discard(socket)
