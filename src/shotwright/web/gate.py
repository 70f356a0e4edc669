"""Who may ask for what: the outermost layer, before any page is looked for.

The laptop itself comes in over the loopback address and may do everything. Anything else is a phone on the
workshop's network: it must hold the key of a device that was paired, and it may log, not administer. Requests
that another web site makes in the person's browser are told by their Host and Origin headers.
"""

from __future__ import annotations

from collections.abc import Collection
from http.cookies import CookieError, SimpleCookie
from ipaddress import ip_address

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from shotwright.web.pairing import Device, Pairing

COOKIE = "shotwright_phone"
PAIRING_PATHS = frozenset({"/pair"})
READING = frozenset({"GET", "HEAD"})
# What a phone may not even look at: other phones' keys, files to take away, the game as text.
OWNER_PATHS = ("/phones", "/files", "/parts", "/game", "/shot-table/file")
# All that a phone may ask for beyond looking: shots, and work whose answer everybody may see.
PHONE_WRITES = (
    "/range",
    "/evidence/plan",
    "/field/map",
    "/choice/compute",
    "/choice/ranking",
    "/job",
)


class Gate:
    """Refuse what does not belong here.

    Parameters
    ----------
    app : ASGI application
        What stands behind the gate.
    pairing : Pairing
        Knows the phones.
    hosts : collection of str
        Host headers by which this server may be called, port included.
    loopback : str
        The address on which the laptop itself comes in.
    """

    def __init__(self, app: ASGIApp, pairing: Pairing, hosts: Collection[str], loopback: str) -> None:
        self._app = app
        self._pairing = pairing
        self._hosts = frozenset(hosts)
        self._loopback = loopback

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it with a refusal."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refusal: Response | None = self._foreign(scope, headers)
        if refusal is None:
            scope.setdefault("state", {})
            owner = self._is_owner(scope)
            device = None if owner else self._device(headers)
            scope["state"]["owner"] = owner
            scope["state"]["device"] = device.name if device else None
            refusal = self._stranger(scope, owner, device is not None)
        if refusal is None:
            await self._app(scope, receive, send)
        elif scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.close", "code": 1008})
        else:
            await refusal(scope, receive, send)

    def _foreign(self, scope: Scope, headers: Headers) -> PlainTextResponse | None:
        """Refuse a name that is not ours (a rebound address), and what another site's page asks for."""
        host = headers.get("host", "").lower()
        if host not in self._hosts:
            return PlainTextResponse("This server does not go by that name.", 421)
        changes = scope["type"] == "websocket" or scope["method"] not in READING
        if changes:
            origin = headers.get("origin", "").lower()
            if origin != f"http://{host}" or headers.get("sec-fetch-site", "same-origin") != "same-origin":
                return PlainTextResponse("Refused: this did not come from our own page.", 403)
        return None

    def _stranger(self, scope: Scope, owner: bool, paired: bool) -> Response | None:
        """Refuse a phone that was not let in, and a phone on the laptop's pages."""
        path: str = scope["path"]
        if owner or path in PAIRING_PATHS:
            return None
        if not paired:
            if scope["type"] == "http" and scope["method"] in READING and path == "/":
                return RedirectResponse("/pair", 303)
            return PlainTextResponse("Not paired. Open /pair on this phone.", 401)
        looks = scope["type"] == "websocket" or scope["method"] in READING
        if _under(path, OWNER_PATHS) or not (looks or _under(path, PHONE_WRITES)):
            return PlainTextResponse("Only the laptop may do this.", 403)
        return None

    def _is_owner(self, scope: Scope) -> bool:
        """Tell whether a request came in on the laptop's own address from the laptop itself."""
        server, client = scope.get("server"), scope.get("client")
        if not server or not client or server[0] != self._loopback:
            return False
        try:
            return ip_address(client[0]).is_loopback
        except ValueError:
            return False

    def _device(self, headers: Headers) -> Device | None:
        try:
            jar = SimpleCookie(headers.get("cookie", ""))
        except CookieError:
            return None
        key = jar[COOKIE].value if COOKIE in jar else ""
        return self._pairing.device_of(key) if key else None


def _under(path: str, places: Collection[str]) -> bool:
    """Whether a path is one of some places, or below one."""
    return any(path == place or path.startswith(f"{place}/") for place in places)
