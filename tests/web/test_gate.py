"""Who is let in, asked over real sockets with headers that a browser would never let a page set."""

from __future__ import annotations

import asyncio
import http.client
import socket
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest
from starlette.routing import Route
from starlette.types import Message, Receive, Scope, Send

from shotwright.web.limits import USUAL_BYTES, BodyLimit
from shotwright.web.pages import PAGES
from shotwright.web.serve import Workspace

Serve = Callable[..., Workspace]


def ask(
    address: str, method: str, path: str, headers: dict[str, str] | None = None, body: bytes | None = None
) -> tuple[int, str, dict[str, str]]:
    host, _, port = address.removeprefix("http://").partition(":")
    connection = http.client.HTTPConnection(host, int(port), timeout=10)
    try:
        connection.putrequest(method, path, skip_host=True)
        given = {"Host": f"{host}:{port}", **(headers or {})}
        if body is not None:
            given.setdefault("Content-Length", str(len(body)))
        for name, value in given.items():
            connection.putheader(name, value)
        connection.endheaders(body)
        answer = connection.getresponse()
        return answer.status, answer.read().decode(errors="replace"), dict(answer.getheaders())
    finally:
        connection.close()


def form(**fields: str) -> tuple[dict[str, str], bytes]:
    from urllib.parse import urlencode

    return {"Content-Type": "application/x-www-form-urlencoded"}, urlencode(fields).encode()


def pair(workspace: Workspace, secret: str) -> tuple[int, str, dict[str, str]]:
    phone = f"http://{workspace.site.network}"
    headers, body = form(secret=secret, name="Red phone")
    return ask(phone, "POST", "/pair", {**headers, "Origin": phone}, body)


def test_the_laptop_comes_in(serve: Serve) -> None:
    status, text, headers = ask(serve().url, "GET", "/")
    assert status == 200
    assert "Describe the game" in text
    assert "default-src 'self'" in headers["content-security-policy"]


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", "localhost:1", ""])
def test_a_foreign_host_is_refused(serve: Serve, host: str) -> None:
    assert ask(serve().url, "GET", "/", {"Host": host})[0] == 421


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": "https://127.0.0.1"},
    ],
)
def test_a_change_asked_for_elsewhere_is_refused(serve: Serve, headers: dict[str, str]) -> None:
    kind, body = form(name="x")
    assert ask(serve().url, "POST", "/undo", {**kind, **headers}, body)[0] == 403


def test_a_change_from_another_site_is_refused_by_what_the_browser_says(serve: Serve) -> None:
    url = serve().url
    kind, body = form(name="x")
    headers = {**kind, "Origin": url, "Sec-Fetch-Site": "cross-site"}
    assert ask(url, "POST", "/undo", headers, body)[0] == 403
    assert ask(url, "POST", "/undo", {**kind, "Origin": url}, body)[0] == 422  # nothing to undo


@pytest.mark.parametrize(
    "path", ["/range", "/phones", "/static/app.js", "/understood?text=1&kind=length", "/no"]
)
def test_an_unpaired_phone_gets_nothing(serve: Serve, path: str) -> None:
    phone = f"http://{serve(network=True).site.network}"
    assert ask(phone, "GET", path)[0] == 401


def test_an_unpaired_phone_is_shown_the_pairing_page(serve: Serve) -> None:
    phone = f"http://{serve(network=True).site.network}"
    status, _, headers = ask(phone, "GET", "/")
    assert (status, headers["location"]) == (303, "/pair")
    status, text, headers = ask(phone, "GET", "/pair")
    assert status == 200
    assert "Join the test range" in text
    assert "default-src 'none'" in headers["content-security-policy"]


def test_a_secret_lets_one_phone_in_once(serve: Serve) -> None:
    workspace = serve(network=True)
    phone = f"http://{workspace.site.network}"
    secret = workspace.site.pairing.new_secret()
    status, _, headers = pair(workspace, secret)
    assert status == 200
    cookie = headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=lax" in cookie
    key = {"Cookie": cookie.split(";")[0]}
    assert ask(phone, "GET", "/understood?text=4+in&kind=length", key)[0] == 200
    assert pair(workspace, secret)[0] == 403
    # What belongs to the laptop stays with it.
    assert ask(phone, "GET", "/phones", key)[0] == 403
    kind, body = form()
    assert ask(phone, "POST", "/undo", {**key, **kind, "Origin": phone}, body)[0] == 403
    assert ask(phone, "GET", "/parts", key)[0] == 403
    assert ask(phone, "POST", "/parts/file/dxf", {**key, **kind, "Origin": phone}, body)[0] == 403
    # Of all that changes anything it may log shots and ask for work; every other page is the laptop's.
    refused = {
        one.path
        for part in PAGES
        for one in part
        if isinstance(one, Route) and one.methods is not None and "POST" in one.methods
        if not one.path.startswith(("/range/", "/field/map", "/evidence/plan", "/choice/", "/job/", "/pair"))
    } | {"/choice/record"}
    assert {"/game/move", "/prototypes/save", "/import", "/demo"} <= refused
    for path in sorted(refused):
        place = path.replace("{ending}", "csv")
        assert ask(phone, "POST", place, {**key, **kind, "Origin": phone}, body)[0] == 403, path
    assert ask(phone, "POST", "/range/log", {**key, **kind, "Origin": phone}, body)[0] != 403
    workspace.site.pairing.remove(workspace.site.pairing.devices[0].digest)
    assert ask(phone, "GET", "/understood?text=4+in&kind=length", key)[0] == 401


def test_guessing_ends_after_five_tries(serve: Serve) -> None:
    workspace = serve(network=True)
    secret = workspace.site.pairing.new_secret()
    for _ in range(5):
        assert pair(workspace, "a" * 12)[0] == 403
    assert pair(workspace, secret)[0] == 403


@pytest.mark.parametrize("key", ["0" * 64, "", 'a"b;c', "shotwright"])
def test_a_made_up_key_is_worth_nothing(serve: Serve, key: str) -> None:
    workspace = serve(network=True)
    assert (
        ask(f"http://{workspace.site.network}", "GET", "/range", {"Cookie": f"shotwright_phone={key}"})[0]
        == 401
    )


def test_the_live_line_is_gated_too(serve: Serve) -> None:
    workspace = serve(network=True)
    for address, origin, expected in (
        (workspace.url, workspace.url, 101),
        (workspace.url, "http://evil.example", 403),
        (f"http://{workspace.site.network}", f"http://{workspace.site.network}", 403),
    ):
        host = address.removeprefix("http://")
        name, port = host.split(":")
        with socket.create_connection((name, int(port)), timeout=10) as line:
            line.sendall(
                (
                    f"GET /live HTTP/1.1\r\nHost: {host}\r\nOrigin: {origin}\r\nConnection: Upgrade\r\n"
                    "Upgrade: websocket\r\nSec-WebSocket-Version: 13\r\n"
                    "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n"
                ).encode()
            )
            assert int(line.recv(64).split()[1]) == expected


def test_a_body_over_the_limit_is_cut_off(serve: Serve) -> None:
    url = serve().url
    headers = {"Origin": url, "Content-Type": "application/x-www-form-urlencoded"}
    status, text, _ = ask(url, "POST", "/undo", {**headers, "Content-Length": "2000001"}, b"")
    assert status == 413
    assert "2 MB" in text


def test_a_body_that_hides_its_length_is_cut_off_too() -> None:
    read = 0

    async def greedy(scope: Scope, receive: Receive, send: Send) -> None:
        nonlocal read
        more = True
        while more:
            message = await receive()
            read += len(message["body"])
            more = message["more_body"]
        raise AssertionError("the whole body came through")

    async def receive() -> Message:
        return {"type": "http.request", "body": b"x" * 500_000, "more_body": True}

    sent: list[Message] = []

    async def send(message: Message) -> None:
        sent.append(message)

    scope = {"type": "http", "path": "/undo", "method": "POST", "headers": []}
    # in a thread of its own: the browser tests keep a loop running in this one
    with ThreadPoolExecutor(1) as pool:
        pool.submit(lambda: asyncio.run(BodyLimit(greedy, {})(scope, receive, send))).result()
    assert sent[0]["status"] == 413
    assert read <= USUAL_BYTES


def test_answers_are_sent_at_once(serve: Serve) -> None:
    # An answer that waits for the other side's acknowledgement comes 40 ms late.
    ours = serve(network=True).sockets
    assert len(ours) == 2
    assert {one.proto for one in ours} == {socket.IPPROTO_TCP}
