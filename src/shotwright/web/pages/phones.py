"""Let phones in, list them, send them away."""

from __future__ import annotations

import io
import secrets

import segno
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import BaseRoute

from shotwright.web.gate import COOKIE
from shotwright.web.pairing import PairingRefused
from shotwright.web.site import form_text, route, site_of

COOKIE_SECONDS = 30 * 24 * 3600


def phones(request: Request) -> Response:
    """List the phones that may come in."""
    site = site_of(request)
    return site.page(request, "phones.html", devices=site.pairing.devices, network=site.network)


def add(request: Request) -> Response:
    """Give out a one-time secret, as a picture to scan and as words to type."""
    site = site_of(request)
    if site.network is None:
        return JSONResponse(
            {"field": "", "message": "phones can't reach this laptop: start again with --network"}, 409
        )
    secret = site.pairing.new_secret()
    address = f"http://{site.network}/pair"
    out = io.BytesIO()
    # The secret stands behind the #, so that it enters no log on its way.
    segno.make(f"{address}#{secret}", error="m").save(out, kind="svg", xmldecl=False, omitsize=True, border=2)
    spaced = " ".join(secret[i : i + 4] for i in range(0, len(secret), 4))
    return HTMLResponse(
        site.render(
            "phone_code.html",
            picture=out.getvalue().decode(),
            address=address,
            secret=spaced,
            minutes=round(site.pairing.seconds_left() / 60),
        )
    )


async def remove(request: Request) -> Response:
    """Send a phone away."""
    site = site_of(request)
    async with request.form() as form:
        site.pairing.remove(form_text(form, "digest"))
    return JSONResponse({"removed": True})


def pairing_page(request: Request) -> Response:
    """Show the one page that answers an unknown phone; it carries all it needs in itself."""
    nonce = secrets.token_urlsafe(12)
    answer = HTMLResponse(site_of(request).render("pair.html", nonce=nonce))
    answer.headers["content-security-policy"] = (
        f"default-src 'none'; script-src 'nonce-{nonce}'; style-src 'nonce-{nonce}'; connect-src 'self'; "
        "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )
    answer.headers["cache-control"] = "no-store"
    return answer


async def pair(request: Request) -> Response:
    """Let a phone in for a secret."""
    site = site_of(request)
    async with request.form() as form:
        try:
            key = site.pairing.redeem(form_text(form, "secret"), form_text(form, "name"))
        except PairingRefused as refused:
            return JSONResponse({"field": "secret", "message": str(refused)}, 403)
    answer = JSONResponse({"paired": True})
    # Not marked Secure: a laptop in a workshop has no certificate that phones trust, and says so on the page.
    answer.set_cookie(COOKIE, key, max_age=COOKIE_SECONDS, httponly=True, samesite="lax", path="/")
    answer.headers["cache-control"] = "no-store"
    await site.live.tell({"phones": len(site.pairing.devices)})
    return answer


ROUTES: list[BaseRoute] = [
    route("/phones", phones),
    route("/phones/add", add, "POST"),
    route("/phones/remove", remove, "POST"),
    route("/pair", pairing_page),
    route("/pair", pair, "POST"),
]
