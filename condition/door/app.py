"""The door's few addresses. Each but the page itself asks for the pass; a refusal is one sentence in JSON.

The pass's token stands behind ``#`` in the QR code's address, so that it is in no request line; the page sends it as
``Authorization: Bearer`` (RFC 6750, 2.1). The Host header must be the door's own (RFC 9110, 7.2), which keeps pages
of other sites from reaching it under another name.
"""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable
from pathlib import Path
from urllib.parse import unquote
from uuid import UUID

import anyio
from anyio import to_thread
from starlette.applications import Starlette
from starlette.datastructures import MutableHeaders
from starlette.middleware import Middleware
from starlette.requests import ClientDisconnect, Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from condition.door.phone_page import phone_page
from condition.errors import ConditionError, Refused
from condition.flow.desk import Desk
from condition.flow.intake import arriving_path
from condition.flow.phone import (
    LOOK_FIELDS,
    TAKE_AGAIN,
    PhoneSees,
    keep_from_phone,
    pass_for,
    picture_for,
    receipt_from_phone,
    seen_by,
    sheet_from_phone,
    take_from_phone,
    write_note,
)
from condition.records.arrivals import PhonePass
from condition.words import say, say_error

MOST_PHOTO_BYTES = 120_000_000
MOST_NOTE_BYTES = 20_000
AT_ONCE = 3
WRONG_PASS_WAIT_S = 0.7

_HERE = Path(__file__).parent
_HEADERS = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; "
    "connect-src 'self'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}

Handler = Callable[[Request, PhonePass], Awaitable[Response]]


def door_app(desk: Desk, host: str) -> Starlette:
    """Return the door's application.

    Parameters
    ----------
    host : the one ``address:port`` it answers to
    """
    door = _Door(desk)
    return Starlette(
        routes=[
            Route("/", door.page, methods=["GET"]),
            Route("/phone.css", lambda request: FileResponse(_HERE / "phone.css"), methods=["GET"]),
            Route("/phone.js", lambda request: FileResponse(_HERE / "phone.js"), methods=["GET"]),
            Route("/waiting.js", lambda request: FileResponse(_HERE / "waiting.js"), methods=["GET"]),
            Route("/health", lambda request: Response("ok", media_type="text/plain"), methods=["GET"]),
            Route("/state", door.with_pass(door.state), methods=["GET"]),
            Route("/pictures/{photo}", door.with_pass(door.picture), methods=["GET"]),
            Route("/photos", door.with_pass(door.photo), methods=["POST"]),
            Route("/notes", door.with_pass(door.note), methods=["POST"]),
            Route("/look", door.with_pass(door.look), methods=["POST"]),
            Route("/receipt", door.with_pass(door.receipt), methods=["POST"]),
            Route("/sheet", door.with_pass(door.sheet), methods=["GET"]),
        ],
        middleware=[Middleware(_OwnHostOnly, host=host)],
    )


class _Door:
    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.room = anyio.CapacityLimiter(AT_ONCE)

    async def page(self, request: Request) -> Response:
        return Response(phone_page(), media_type="text/html; charset=utf-8")

    def with_pass(self, handler: Handler) -> Callable[[Request], Awaitable[Response]]:
        async def handle(request: Request) -> Response:
            try:
                the_pass = await to_thread.run_sync(pass_for, self.desk, _token(request))
            except Refused as refusal:
                await anyio.sleep(WRONG_PASS_WAIT_S)
                return _refusal(401, refusal)
            try:
                return await handler(request, the_pass)
            except ConditionError as refusal:
                return _refusal(422, refusal)

        return handle

    async def state(self, request: Request, the_pass: PhonePass) -> Response:
        seen = await to_thread.run_sync(seen_by, self.desk, the_pass)
        return JSONResponse(
            {
                "job": seen.job.name,
                "title": seen.instrument.title,
                "occasion": say(f"phone.occasion_{the_pass.occasion.replace('-', '_')}"),
                "expires_at": the_pass.expires_at,
                "view": the_pass.view_id,
                "faces": [
                    {"id": face.view.id, "name": face.view.name, "earlier": face.earlier.id if face.earlier else None}
                    for face in seen.faces
                ],
                "photos": seen.photo_count,
                "look": _look(seen) if seen.look else None,
            }
        )

    async def picture(self, request: Request, the_pass: PhonePass) -> Response:
        photo_id = _uuid(request.path_params["photo"])
        return FileResponse(
            await to_thread.run_sync(picture_for, self.desk, the_pass, photo_id), media_type="image/jpeg"
        )

    async def photo(self, request: Request, the_pass: PhonePass) -> Response:
        name = _name(request)
        view = request.headers.get("x-face") or None
        path = arriving_path(self.desk, name)
        try:
            await _receive(request, path)
            await to_thread.run_sync(pass_for, self.desk, _token(request))
            taken = await to_thread.run_sync(
                take_from_phone, self.desk, the_pass, name, path, _uuid(view) if view else None, limiter=self.room
            )
        except ClientDisconnect:
            return Response(status_code=499)
        finally:
            path.unlink(missing_ok=True)
        if taken.error is not None:
            return _refusal(422, taken.error)
        return JSONResponse(
            {
                "photo": taken.photo.id,
                "already_here": taken.already_here,
                "cards": len(taken.photo.cards),
                "advice": [say(code, **dict(values)) for code, values in taken.photo.advice if code in TAKE_AGAIN],
            }
        )

    async def note(self, request: Request, the_pass: PhonePass) -> Response:
        told = await _told(request)
        if not isinstance(told.get("words"), str):
            raise Refused("phone.unreadable")
        words, operation = told["words"], _uuid(told.get("op"))
        note = await to_thread.run_sync(lambda: write_note(self.desk, the_pass.job_id, words, operation=operation))
        return JSONResponse({"note": note.id})

    async def look(self, request: Request, the_pass: PhonePass) -> Response:
        look = await to_thread.run_sync(keep_from_phone, self.desk, the_pass, await _told(request))
        return JSONResponse({"look": look.id})

    async def receipt(self, request: Request, the_pass: PhonePass) -> Response:
        name, path = _name(request), arriving_path(self.desk, "receipt")
        try:
            await _receive(request, path)
            await to_thread.run_sync(pass_for, self.desk, _token(request))
            await to_thread.run_sync(receipt_from_phone, self.desk, the_pass, name, path)
        except ClientDisconnect:
            return Response(status_code=499)
        finally:
            path.unlink(missing_ok=True)
        return JSONResponse({"file": name})

    async def sheet(self, request: Request, the_pass: PhonePass) -> Response:
        path = await to_thread.run_sync(sheet_from_phone, self.desk, the_pass, limiter=self.room)
        return FileResponse(path, media_type="application/pdf")


def _look(seen: PhoneSees) -> dict[str, str]:
    fields = {name: getattr(seen.look, name) for name in LOOK_FIELDS if name not in ("claims", "serial")}
    return fields | {"claims": "\n".join(seen.look.claims), "serial": seen.instrument.serial}


async def _told(request: Request) -> dict:
    """Return the JSON object of a request's body."""
    body = bytearray()
    async for chunk in request.stream():
        body += chunk
        if len(body) > MOST_NOTE_BYTES:
            raise Refused("phone.unreadable")
    try:
        told = json.loads(body)
    except (ValueError, RecursionError) as error:
        raise Refused("phone.unreadable") from error
    if not isinstance(told, dict):
        raise Refused("phone.unreadable")
    return told


def _name(request: Request) -> str:
    return Path(unquote(request.headers.get("x-file-name", ""))[:200]).name or "phone.jpg"


async def _receive(request: Request, path: Path) -> None:
    """Write a request's body to a file as it comes, never more than a photo may have."""
    size = 0
    async with await anyio.open_file(path, "wb") as file:
        async for chunk in request.stream():
            size += len(chunk)
            if size > MOST_PHOTO_BYTES:
                raise Refused("phone.photo_too_large", most=MOST_PHOTO_BYTES // 1_000_000)
            await file.write(chunk)
    if not size:
        raise Refused("phone.photo_empty")


def _token(request: Request) -> str:
    scheme, _, token = request.headers.get("authorization", "").partition(" ")
    return token.strip() if scheme.lower() == "bearer" else ""


def _uuid(value: object) -> str:
    try:
        if isinstance(value, str) and len(value) == 36:
            return str(UUID(value))
    except ValueError:
        pass
    raise Refused("phone.unreadable")


def _refusal(status: int, error: ConditionError) -> JSONResponse:
    return JSONResponse({"error": say_error(error), "code": error.code}, status)


class _OwnHostOnly:
    """Turns away whoever calls the door by another name, and gives each answer the house's headers."""

    def __init__(self, app: ASGIApp, host: str) -> None:
        self.app = app
        self.host = host

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def dressed(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers[name] = value
            await send(message)

        request = Request(scope)
        origin = request.headers.get("origin")
        if request.headers.get("host") != self.host or (origin is not None and origin != f"http://{self.host}"):
            await Response(say("phone.wrong_host"), 403, media_type="text/plain")(scope, receive, dressed)
            return
        await self.app(scope, receive, dressed)
