"""Pictures the pages show with a text beside them for whoever cannot see them: maps, report pages, the card sheet."""

from __future__ import annotations

from collections.abc import Callable

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from condition.errors import ConditionError
from condition.flow.bench_picture import fretboard_picture
from condition.flow.desk import current
from condition.flow.finding_pictures import finding_picture
from condition.flow.jobs import job_named
from condition.flow.papers import page_picture
from condition.flow.printing import card_sheet_svg
from condition.flow.readers import paper_path
from condition.flow.readings import OCCASIONS
from condition.flow.scale_check import scale_shown
from condition.flow.sheets import condition_sheet, face_map, mapped_faces
from condition.pages.gate import Turned, admit, uuid_of
from condition.records.finding import Finding
from condition.records.photo import Photo
from condition.records.reader import READERS
from condition.records.shop import PAPERS
from condition.words import say_error

MAP_WIDTH_PX = 480
FRETBOARD_WIDTH_PX = 900
_PRIVATE = {"Cache-Control": "private, max-age=60"}


def picture_routes() -> list[Route]:
    """Return the routes; each passes the gate."""
    return [
        Route("/bench/map/{job}/{number:int}.svg", _gated(_map), methods=["GET"]),
        Route("/bench/paper/{job}/{reader}/{number:int}.png", _gated(_page), methods=["GET"]),
        Route("/bench/finding/{finding}.jpg", _gated(_finding), methods=["GET"]),
        Route("/bench/cards/{paper}.svg", _gated(_cards), methods=["GET"]),
        Route("/bench/scale/{photo}.jpg", _gated(_scale), methods=["GET"]),
        Route("/bench/fretboard/{job}/{occasion}.svg", _gated(_fretboard), methods=["GET"]),
    ]


def _gated(draw: Callable[[Request], Response]) -> Callable:
    async def handle(request: Request) -> Response:
        try:
            admit(request)
            return await to_thread.run_sync(draw, request)
        except Turned as turned:
            return Response(say_error(turned), turned.status, media_type="text/plain")
        except ConditionError as refusal:
            return Response(say_error(refusal), 404, media_type="text/plain")

    return handle


def _map(request: Request) -> Response:
    desk = current()
    sheet = condition_sheet(desk, job_named(desk, uuid_of(request.path_params["job"])))
    faces = mapped_faces(sheet)
    number = request.path_params["number"]
    if number >= len(faces):
        raise Turned(404, "canvas.unknown_id")
    return Response(
        face_map(sheet, faces[number], MAP_WIDTH_PX), media_type="image/svg+xml", headers={"Cache-Control": "no-store"}
    )


def _page(request: Request) -> Response:
    desk = current()
    reader = request.path_params["reader"]
    if reader not in READERS:
        raise Turned(404, "canvas.unknown_id")
    made = paper_path(desk, job_named(desk, uuid_of(request.path_params["job"])), reader)
    picture = page_picture(made, request.path_params["number"]) if made.exists() else None
    if picture is None:
        raise Turned(404, "canvas.unknown_id")
    return Response(picture, media_type="image/png", headers=_PRIVATE)


def _fretboard(request: Request) -> Response:
    desk, occasion = current(), request.path_params["occasion"]
    if occasion not in OCCASIONS:
        raise Turned(404, "canvas.unknown_id")
    picture = fretboard_picture(
        desk, job_named(desk, uuid_of(request.path_params["job"])), occasion, FRETBOARD_WIDTH_PX
    )
    return Response(picture, media_type="image/svg+xml", headers={"Cache-Control": "no-store"})


def _scale(request: Request) -> Response:
    desk = current()
    photo = desk.store.get(Photo, uuid_of(request.path_params["photo"]))
    return Response(scale_shown(desk, photo).jpeg, media_type="image/jpeg", headers={"Cache-Control": "no-store"})


def _cards(request: Request) -> Response:
    paper = request.path_params["paper"]
    if paper not in PAPERS:
        raise Turned(404, "canvas.unknown_id")
    return Response(card_sheet_svg(paper), media_type="image/svg+xml", headers=_PRIVATE)


def _finding(request: Request) -> Response:
    desk = current()
    finding = desk.store.one(Finding, id=uuid_of(request.path_params["finding"]))
    path = finding_picture(desk, finding) if finding else None
    if path is None:
        raise Turned(404, "canvas.unknown_id")
    return Response(path.read_bytes(), media_type="image/jpeg", headers=_PRIVATE)
