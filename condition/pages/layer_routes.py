"""Tiles of a picture as it lies over another photo of the same face; every request passes the gate."""

from __future__ import annotations

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from condition.errors import ConditionError
from condition.flow.desk import current
from condition.flow.layers import layer_tile
from condition.pages.gate import Turned, admit, uuid_of
from condition.words import say_error

DEEPEST_LEVEL = 16
_CACHE = "private, max-age=86400"
"""Another placing has another address: its version is part of it."""


def layer_routes() -> list[Route]:
    """Return the route under ``/bench/layer/``."""
    path = "/bench/layer/{photo}/{layer}/{version}/{level:int}/{col:int}_{row:int}.jpg"
    return [Route(path, _tile, methods=["GET"])]


async def _tile(request: Request) -> Response:
    try:
        admit(request)
        given = request.path_params
        photo, layer = uuid_of(given["photo"]), uuid_of(given["layer"])
        if given["level"] > DEEPEST_LEVEL:
            raise Turned(404, "canvas.no_tile")
        path = await to_thread.run_sync(
            lambda: layer_tile(current(), photo, layer, given["level"], given["col"], given["row"])
        )
        if not path.is_file():
            raise Turned(404, "canvas.no_tile")
        return FileResponse(path, media_type="image/jpeg", headers={"Cache-Control": _CACHE})
    except Turned as turned:
        return Response(say_error(turned), turned.status, media_type="text/plain")
    except ConditionError as refusal:
        return Response(say_error(refusal), 404, media_type="text/plain")
