"""The canvas's own routes: tiles out, marks in and out one operation at a time, assists asked and answered.

Every route passes :mod:`condition.pages.gate`. The steps behind them are one object (:class:`Steps`), the flow's
functions unless a test hands in others; they run in a worker thread.
"""

from __future__ import annotations

import math
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route

from condition.errors import ConditionError, InvalidRecord, Refused
from condition.pages.gate import Turned, admit, json_of, uuid_of
from condition.records.shapes import Ring, shape_to_dict
from condition.words import say_error

if TYPE_CHECKING:
    from condition.flow.desk import Desk

TILE_CACHE = "private, max-age=31536000, immutable"
DEEPEST_LEVEL = 16
MOST_TURNS = 16

Handler = Callable[[Request], Awaitable[Response]]


@dataclass(frozen=True, slots=True)
class Steps:
    """What the routes ask of the rest. Places and shapes are in pixels of the upright photo.

    tile_file(desk, photo_id, level, col, row) -> Path of a JPEG; level 0 is full size
    marks_of(desk, photo_id) -> the photo's marks
    apply(desk, operation) -> ``{"ok": True, "mark": ...}`` or ``{"ok": False, "error", "mark"}``
    trace(desk, photo_id, points, tone) -> ``{"line", "width_px"}``; tone is 'dark', 'light' or None
    ways(desk, photo_id, start, turn, rough, tone) -> bytes, as :func:`condition.flow.assists.crack_ways` says
    sketch(desk, photo_id) -> bytes, as :func:`condition.flow.assists.crack_costs` says
    holes(desk, photo_id, box, bright) -> ``{"holes": [{"centre", "diameter_px", "sure", ...}]}``; box is x, y, width,
        height; bright holes are lighter than the wood around them
    grow(desk, photo_id, start, amount, add, away) -> ``{"ring", "holes"}``; start is a point or a ring, amount 0..1
    outline(desk, photo_id, hint) -> ``{"ring", "advice"}``; hint is a ring or None
    ready(desk, photo_id) fetches beforehand what the first assist on a photo would wait for
    """

    desk: Callable[[], Any]
    tile_file: Callable[..., Path]
    marks_of: Callable[..., list[dict]]
    apply: Callable[..., dict]
    trace: Callable[..., dict]
    ways: Callable[..., bytes]
    sketch: Callable[..., bytes]
    holes: Callable[..., dict]
    grow: Callable[..., dict]
    outline: Callable[..., dict]
    ready: Callable[..., None]


def flow_steps() -> Steps:
    """Return the steps of the examination at the process's one desk."""
    from condition.flow import assists, desk, examination, pictures

    return Steps(
        desk.current, pictures.tile_file, examination.marks_of, examination.apply,
        assists.trace, assists.ways, assists.sketch, assists.holes, assists.grow, assists.outline, _ready,
    )  # fmt: skip


def _ready(desk: Desk, photo_id: str) -> None:
    from condition.flow.assists import warm_up
    from condition.flow.pixels import pixels_of
    from condition.records.photo import Photo

    pixels_of(desk, desk.store.get(Photo, photo_id))
    warm_up()


def routes(steps: Callable[[], Steps] = flow_steps) -> list[Route]:
    """Return the routes under ``/bench/``; the steps are looked up when a request needs them."""
    handlers = (
        ("/bench/tiles/{photo}/meta", "GET", _meta),
        ("/bench/tiles/{photo}/{level:int}/{col:int}_{row:int}.jpg", "GET", _tile),
        ("/bench/thumb/{photo}", "GET", _thumb),
        ("/bench/marks/{photo}", "GET", _marks),
        ("/bench/marks", "POST", _apply),
        ("/bench/assist/ready", "POST", _get_ready),
        ("/bench/assist/trace", "POST", _trace),
        ("/bench/assist/ways", "POST", _ways),
        ("/bench/assist/sketch", "POST", _sketch),
        ("/bench/assist/holes", "POST", _holes),
        ("/bench/assist/grow", "POST", _grow),
        ("/bench/assist/outline", "POST", _outline),
        ("/bench/rings/split", "POST", _split_ring),
        ("/bench/rings/join", "POST", _join_rings),
    )
    return [Route(path, _gated(partial(answer, steps)), methods=[method]) for path, method, answer in handlers]


def _gated(answer: Callable[..., Awaitable[Response]]) -> Handler:
    async def handle(request: Request) -> Response:
        try:
            request.state.person = admit(request)
            return await answer(request=request)
        except Turned as turned:
            return _no(turned, turned.status)
        except (Refused, InvalidRecord) as refusal:
            return _no(refusal, 422)

    return handle


def _no(error: ConditionError, status: int, **more: object) -> JSONResponse:
    return _fresh({"ok": False, "error": say_error(error), **more}, status)


def _fresh(values: dict, status: int = 200) -> JSONResponse:
    return JSONResponse(values, status, headers={"Cache-Control": "no-store"})


async def _run(step: Callable[..., Any], *given: object) -> Any:
    return await to_thread.run_sync(partial(step, *given))


async def _tile_path(steps: Callable[[], Steps], photo: str, level: int, col: int, row: int) -> Path:
    def find() -> Path:
        if level > DEEPEST_LEVEL:
            raise Turned(404, "canvas.no_tile")
        way = steps()
        path = Path(way.tile_file(way.desk(), photo, level, col, row))
        if not path.is_file():
            raise Turned(404, "canvas.no_tile")
        return path

    return await _run(find)


async def _tile(steps: Callable[[], Steps], request: Request) -> Response:
    given = request.path_params
    path = await _tile_path(steps, uuid_of(given["photo"]), given["level"], given["col"], given["row"])
    return FileResponse(path, media_type="image/jpeg", headers={"Cache-Control": TILE_CACHE})


async def _meta(steps: Callable[[], Steps], request: Request) -> Response:
    base = await _tile_path(steps, uuid_of(request.path_params["photo"]), 0, 0, 0)
    return FileResponse(
        base.parent.parent / "meta.json", media_type="application/json", headers={"Cache-Control": "no-store"}
    )


async def _thumb(steps: Callable[[], Steps], request: Request) -> Response:
    base = await _tile_path(steps, uuid_of(request.path_params["photo"]), 0, 0, 0)
    thumb = base.parent.parent / "thumb.jpg"
    return FileResponse(thumb, media_type="image/jpeg", headers={"Cache-Control": TILE_CACHE})


async def _marks(steps: Callable[[], Steps], request: Request) -> Response:
    photo = uuid_of(request.path_params["photo"])
    way = steps()
    return _fresh({"marks": await _run(lambda: way.marks_of(way.desk(), photo))})


async def _apply(steps: Callable[[], Steps], request: Request) -> Response:
    """Do one operation; a stale or refused one is answered with the mark as it stands, for the page to show."""
    operation = await json_of(request)
    mark = operation.get("mark")
    if not isinstance(mark, dict):
        raise Turned(400, "canvas.gate_unreadable")
    uuid_of(operation.get("op"))
    mark_id, photo = uuid_of(mark.get("id")), uuid_of(mark.get("photo_id"))
    way = steps()
    try:
        answer = await _run(lambda: way.apply(way.desk(), operation))
    except (Refused, InvalidRecord) as refusal:
        current = await _run(lambda: _standing(way, photo, mark_id))
        return _no(refusal, 422, mark=current)
    return _fresh(answer, 200) if answer["ok"] else _fresh({**answer, "stale": True}, 409)


def _standing(way: Steps, photo: str, mark_id: str) -> dict | None:
    try:
        return next((mark for mark in way.marks_of(way.desk(), photo) if mark["id"] == mark_id), None)
    except (Refused, InvalidRecord):
        return None


async def _get_ready(steps: Callable[[], Steps], request: Request) -> Response:
    return await _assist(steps, "ready", await json_of(request))


async def _trace(steps: Callable[[], Steps], request: Request) -> Response:
    given = await json_of(request)
    points = _points(given.get("points"), 2)
    return await _assist(steps, "trace", given, points, _tone(given))


async def _ways(steps: Callable[[], Steps], request: Request) -> Response:
    given = await json_of(request)
    (start,) = _points([given.get("start")], 1)
    turn = given.get("turn", 0)
    if not (isinstance(turn, int) and 0 <= turn <= MOST_TURNS):
        raise Turned(422, "canvas.bad_assist")
    photo, way, tone = uuid_of(given.get("photo_id")), steps(), _tone(given)
    rough = given.get("rough") is True
    told = await _run(lambda: way.ways(way.desk(), photo, start, turn, rough, tone))
    return _bytes(told)


async def _sketch(steps: Callable[[], Steps], request: Request) -> Response:
    photo, way = uuid_of((await json_of(request)).get("photo_id")), steps()
    return _bytes(await _run(lambda: way.sketch(way.desk(), photo)))


def _bytes(told: bytes) -> Response:
    return Response(told, media_type="application/octet-stream", headers={"Cache-Control": "no-store"})


def _tone(given: dict) -> str | None:
    tone = given.get("tone")
    if tone not in (None, "dark", "light"):
        raise Turned(422, "canvas.bad_assist")
    return tone


async def _holes(steps: Callable[[], Steps], request: Request) -> Response:
    given = await json_of(request)
    box = given.get("box")
    if not (isinstance(box, list) and len(box) == 4 and all(map(_number, box)) and min(box[2:]) > 0):
        raise Turned(422, "canvas.bad_assist")
    return await _assist(steps, "holes", given, tuple(float(v) for v in box), given.get("bright") is True)


async def _grow(steps: Callable[[], Steps], request: Request) -> Response:
    given = await json_of(request)
    amount = given.get("amount", 0.5)
    if not (_number(amount) and 0 <= amount <= 1):
        raise Turned(422, "canvas.bad_assist")
    start = _points([given["point"]], 1)[0] if "point" in given else _points(given.get("ring"), 3)
    add, away = (_points(given.get(name, []), 0) for name in ("add", "away"))
    return await _assist(steps, "grow", given, start, float(amount), add, away)


async def _outline(steps: Callable[[], Steps], request: Request) -> Response:
    given = await json_of(request)
    hint = _points(given["ring"], 3) if given.get("ring") is not None else None
    return await _assist(steps, "outline", given, hint)


async def _split_ring(_steps: Callable[[], Steps], request: Request) -> Response:
    """Cut a ring along a line: ``{"rings"}``. What comes of it is stored by the page as it stores any change."""
    from condition.flow.rings import split_ring

    given = await json_of(request)
    parts = await _run(split_ring, _ring(given.get("ring")), _points(given.get("line"), 2))
    return _fresh({"rings": [shape_to_dict(part) for part in parts]})


async def _join_rings(_steps: Callable[[], Steps], request: Request) -> Response:
    from condition.flow.rings import joined_rings

    given = (await json_of(request)).get("rings")
    if not (isinstance(given, list) and len(given) == 2):
        raise Turned(422, "canvas.bad_assist")
    whole = await _run(joined_rings, *map(_ring, given))
    return _fresh({"rings": [shape_to_dict(whole)]})


def _ring(value: object) -> Ring:
    if not (isinstance(value, dict) and isinstance(value.get("holes", []), list)):
        raise Turned(422, "canvas.bad_assist")
    return Ring(_points(value.get("points"), 3), tuple(_points(hole, 3) for hole in value.get("holes", [])))


async def _assist(steps: Callable[[], Steps], name: str, given: dict, *rest: object) -> Response:
    photo = uuid_of(given.get("photo_id"))
    way = steps()
    return _fresh(await _run(lambda: getattr(way, name)(way.desk(), photo, *rest)) or {})


def _points(value: object, least: int) -> tuple[tuple[float, float], ...]:
    usable = isinstance(value, list) and len(value) >= least
    if not (usable and all(isinstance(p, list) and len(p) == 2 and all(map(_number, p)) for p in value)):
        raise Turned(422, "canvas.bad_assist")
    return tuple((float(x), float(y)) for x, y in value)


def _number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
