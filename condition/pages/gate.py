"""The one gate of the program's own routes: who asks, and from where.

Streamlit's own protection covers its own routes only. These are the browser-side facts the gate relies on: the Host
header (RFC 9110, 7.2), the Origin header (RFC 6454) and Sec-Fetch-Site (W3C Fetch Metadata Request Headers), which no
page of another site can set. A refusal is an answer with one sentence; sign-in later replaces :func:`person_of`.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from urllib.parse import urlsplit
from uuid import UUID

from starlette.requests import Request

from condition.errors import Refused

OWN_HOSTS = frozenset({"localhost", "127.0.0.1", "::1"})
BODY_LIMIT_BYTES = 2_000_000


@dataclass(frozen=True, slots=True)
class Person:
    """Whoever acts. There is no sign-in yet: all who reach the bench's own machine are the bench."""

    id: str
    name: str


class Turned(Refused):
    """The gate turns a request away, with the HTTP status that says how."""

    def __init__(self, status: int, code: str, **values: object) -> None:
        super().__init__(code, **values)
        self.status = status


def admit(request: Request) -> Person:
    """Return who asks.

    Raises
    ------
    Turned
        403: the Host is not this machine's own, or the request comes from a page that is not the program's.
    """
    if _hostname(request.headers.get("host", "")) not in OWN_HOSTS:
        raise Turned(403, "canvas.gate_host")
    if not _same_origin(request):
        raise Turned(403, "canvas.gate_origin")
    return person_of(request)


def person_of(request: Request) -> Person:
    """Return the person behind an admitted request."""
    return Person("bench", "bench")


async def json_of(request: Request) -> dict:
    """Return the JSON object in an admitted request's body.

    Raises
    ------
    Turned
        415: another content type; 413: more than ``BODY_LIMIT_BYTES``; 400: no JSON object, or with NaN or infinity.
    """
    if request.headers.get("content-type", "").partition(";")[0].strip().lower() != "application/json":
        raise Turned(415, "canvas.gate_json")
    body = bytearray()
    async for chunk in request.stream():
        body += chunk
        if len(body) > BODY_LIMIT_BYTES:
            raise Turned(413, "canvas.gate_large", limit=BODY_LIMIT_BYTES // 1000)
    try:
        values = json.loads(body, parse_constant=_not_finite)
    except (ValueError, RecursionError) as error:
        raise Turned(400, "canvas.gate_unreadable") from error
    if not isinstance(values, dict):
        raise Turned(400, "canvas.gate_unreadable")
    return values


def uuid_of(value: object) -> str:
    """Return the id in its one written form.

    Raises
    ------
    Turned
        404: the value is not a UUID written with hyphens.
    """
    try:
        if isinstance(value, str) and len(value) == 36:
            return str(UUID(value))
    except ValueError:
        pass
    raise Turned(404, "canvas.unknown_id")


def _hostname(host: str) -> str | None:
    """Return the name in ``name``, ``name:port`` or ``[address]:port``; None if it is none of them."""
    try:
        parts = urlsplit(f"//{host}")
        _ = parts.port
    except ValueError:
        return None
    if parts.username is not None or parts.path or parts.query or parts.fragment:
        return None
    return parts.hostname


def _same_origin(request: Request) -> bool:
    """Whether the request is the program's own page's; a GET typed into the address bar counts as own."""
    reads = request.method in ("GET", "HEAD")
    site = request.headers.get("sec-fetch-site")
    origin = request.headers.get("origin")
    if site is not None and site != "same-origin" and not (reads and site == "none"):
        return False
    if origin is not None:
        parts = urlsplit(origin)
        return parts.scheme in ("http", "https") and parts.netloc == request.headers.get("host")
    return site is not None or reads


def _not_finite(name: str) -> float:
    raise ValueError(name)
