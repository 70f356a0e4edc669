"""No request may bring more than its page expects."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.datastructures import Headers
from starlette.responses import JSONResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MEGABYTE = 1_000_000
USUAL_BYTES = 2 * MEGABYTE


class TooLarge(Exception):
    """More came in than the limit."""


class BodyLimit:
    """Cut off bodies that are too long, whether they say so beforehand or not.

    Parameters
    ----------
    app : ASGI application
        What stands behind.
    larger : mapping of str to int
        Bytes allowed on paths that take files; elsewhere `USUAL_BYTES`.
    """

    def __init__(self, app: ASGIApp, larger: Mapping[str, int]) -> None:
        self._app = app
        self._larger = dict(larger)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Count what comes in; answer 413 once it is too much."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        limit = next(
            (size for path, size in self._larger.items() if scope["path"].startswith(path)), USUAL_BYTES
        )
        announced = Headers(scope=scope).get("content-length", "0")
        refusal = JSONResponse(
            {"field": "", "message": f"that is more than {limit / MEGABYTE:.0f} MB; send a smaller file"}, 413
        )
        if announced.isdigit() and int(announced) > limit:
            await refusal(scope, receive, send)
            return
        came, answered = 0, False

        async def counted() -> Message:
            nonlocal came
            message = await receive()
            came += len(message.get("body", b""))
            if came > limit:
                raise TooLarge
            return message

        async def noted(message: Message) -> None:
            nonlocal answered
            answered = True
            await send(message)

        try:
            await self._app(scope, counted, noted)
        except TooLarge:
            if not answered:
                await refusal(scope, receive, send)
