"""Little pictures of the changes of a return check, behind the gate."""

from __future__ import annotations

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from condition.errors import ConditionError
from condition.flow.desk import current
from condition.flow.return_pictures import change_picture
from condition.pages.gate import Turned, admit, uuid_of
from condition.words import say_error

_PRIVATE = {"Cache-Control": "private, max-age=60"}


def return_routes() -> list[Route]:
    """Return the routes; each passes the gate."""
    return [Route("/bench/return/{change}/{side}.jpg", _picture, methods=["GET"])]


async def _picture(request: Request) -> Response:
    try:
        admit(request)
        change, side = uuid_of(request.path_params["change"]), request.path_params["side"]
        if side not in ("before", "after"):
            raise Turned(404, "canvas.unknown_id")
        path = await to_thread.run_sync(change_picture, current(), change, side)
    except Turned as turned:
        return Response(say_error(turned), turned.status, media_type="text/plain")
    except ConditionError as refusal:
        return Response(say_error(refusal), 404, media_type="text/plain")
    return FileResponse(path, media_type="image/jpeg", headers=_PRIVATE)
