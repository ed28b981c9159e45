"""Who may ask the canvas's routes: the program's own pages on this machine, and nobody else.

Expected outcomes follow the definitions of Host (RFC 9110, 7.2), Origin (RFC 6454, 7) and Sec-Fetch-Site (W3C Fetch
Metadata Request Headers, 2.3).
"""

from __future__ import annotations

import asyncio
import json
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from uuid import uuid4

import pytest
from starlette.applications import Starlette

from condition.errors import Refused
from condition.pages.gate import BODY_LIMIT_BYTES
from condition.pages.routes import Steps, routes

PHOTO = str(uuid4())
OWN = {"host": "localhost:8501", "sec-fetch-site": "same-origin"}
SENDS = {**OWN, "origin": "http://localhost:8501", "content-type": "application/json"}


def ask(app: Starlette, method: str, path: str, headers: dict[str, str], body: bytes = b"") -> tuple[int, dict, bytes]:
    """Send one request straight into the app; returns status, headers, body."""
    got: dict = {"body": b""}

    sent = [False]

    async def receive() -> dict:
        if sent[0]:
            await asyncio.Event().wait()
        sent[0] = True
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: dict) -> None:
        if message["type"] == "http.response.start":
            got["status"] = message["status"]
            got["headers"] = {k.decode(): v.decode() for k, v in message["headers"]}
        else:
            got["body"] += message.get("body", b"")

    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method, "path": path,
        "raw_path": path.encode(), "query_string": b"", "root_path": "", "scheme": "http",
        "headers": [(k.encode(), v.encode()) for k, v in headers.items()], "server": ("127.0.0.1", 8501),
        "client": ("127.0.0.1", 50000),
    }  # fmt: skip
    with ThreadPoolExecutor(1) as thread:  # a browser test before this one may have left a running loop on ours
        thread.submit(lambda: asyncio.run(app(scope, receive, send))).result()
    return got["status"], got["headers"], got["body"]


@pytest.fixture
def asked() -> list:
    return []


@pytest.fixture
def app(tmp_path: Path, asked: list) -> Starlette:
    tiles = tmp_path / PHOTO
    for level in ("0", "1"):
        (tiles / level).mkdir(parents=True)
        (tiles / level / "0_0.jpg").write_bytes(b"\xff\xd8" + level.encode() + b"\xff\xd9")
    (tiles / "thumb.jpg").write_bytes(b"\xff\xd8thumb\xff\xd9")
    (tiles / "meta.json").write_text('{"width": 800, "height": 600, "tile": 512, "levels": 2}')

    def apply(_desk: object, operation: dict) -> dict:
        asked.append(operation)
        if operation["version"] == 7:
            return {"ok": False, "error": "Changed by bench.", "mark": {"id": MARK, "version": 8}}
        if operation["version"] == 9:
            raise Refused("mark.unreadable")
        return {"ok": True, "mark": {"id": operation["mark"]["id"], "version": 1}}

    def assist(*given: object) -> dict:
        asked.append(given[1:])
        return {}

    def ways(*given: object) -> bytes:
        asked.append(given[1:])
        return b""

    def marks_of(_desk: object, photo: str) -> list[dict]:
        return [{"id": MARK, "photo_id": photo, "version": 8}]

    steps = Steps(
        desk=lambda: None,
        tile_file=lambda _desk, photo, level, col, row: tmp_path / photo / str(level) / f"{col}_{row}.jpg",
        marks_of=marks_of, apply=apply, trace=assist, ways=ways, holes=assist, grow=assist, outline=assist,
        ready=assist, sketch=assist,
    )  # fmt: skip
    return Starlette(routes=routes(lambda: steps))


MARK = str(uuid4())


def operation(version: int = 0) -> bytes:
    mark = {"id": MARK, "photo_id": PHOTO, "finding_id": None, "kind": "crack", "shape": {}, "how": "hand"}
    return json.dumps({"op": str(uuid4()), "do": "put", "mark": mark, "version": version}).encode()


@pytest.mark.parametrize("host", ["localhost", "localhost:8501", "127.0.0.1:80", "[::1]:8501", "LOCALHOST:1"])
def test_this_machines_own_names_are_served(app, host):
    assert ask(app, "GET", f"/bench/marks/{PHOTO}", {**OWN, "host": host})[0] == 200


@pytest.mark.parametrize(
    "host",
    ["", "bench.example", "localhost.example", "127.0.0.1.example:80", "10.0.0.4:8501", "localhost@bench.example",
     "localhost:8501/x", "localhost:port", "[::1", "user@localhost"],
)  # fmt: skip
def test_another_host_name_is_refused_so_that_rebinding_a_name_gains_nothing(app, host):
    status, _, body = ask(app, "GET", f"/bench/marks/{PHOTO}", {**OWN, "host": host})
    assert status == 403
    assert "localhost" in json.loads(body)["error"]


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_a_page_of_another_site_is_refused(app, asked, site, method):
    path = "/bench/marks" if method == "POST" else f"/bench/marks/{PHOTO}"
    assert ask(app, method, path, {**SENDS, "sec-fetch-site": site}, operation())[0] == 403
    assert asked == []


@pytest.mark.parametrize("origin", ["http://bench.example", "http://localhost:9999", "null", "https://localhost"])
def test_an_origin_that_is_not_the_host_is_refused(app, asked, origin):
    assert ask(app, "POST", "/bench/marks", {**SENDS, "origin": origin}, operation())[0] == 403
    assert asked == []


def test_a_write_that_tells_neither_origin_nor_site_is_refused(app, asked):
    bare = {"host": "localhost:8501", "content-type": "application/json"}
    assert ask(app, "POST", "/bench/marks", bare, operation())[0] == 403
    assert (
        ask(
            app,
            "POST",
            "/bench/marks",
            {**OWN, "sec-fetch-site": "none", "content-type": "application/json"},
            operation(),
        )[0]
        == 403
    )
    assert asked == []


def test_an_older_browser_is_known_by_its_origin_alone(app):
    bare = {"host": "localhost:8501", "content-type": "application/json", "origin": "http://localhost:8501"}
    assert ask(app, "POST", "/bench/marks", bare, operation())[0] == 200


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", "", "application/json-patch"])
def test_only_json_is_taken_so_that_no_form_can_post(app, asked, kind):
    assert ask(app, "POST", "/bench/marks", {**SENDS, "content-type": kind}, operation())[0] == 415
    assert asked == []


@pytest.mark.parametrize("body", [b"", b"{", b"[]", b"1", b'{"version": NaN}', b"[" * 100_000, b"\xff\xfe"])
def test_what_is_no_json_object_is_refused_in_one_sentence(app, asked, body):
    status, _, answer = ask(app, "POST", "/bench/marks", SENDS, body)
    assert status == 400
    assert json.loads(answer)["error"].endswith(".")
    assert asked == []


def test_a_body_beyond_the_limit_is_refused(app, asked):
    assert ask(app, "POST", "/bench/marks", SENDS, b" " * (BODY_LIMIT_BYTES + 1))[0] == 413
    assert asked == []


@pytest.mark.parametrize("photo", ["1", "..", "%2e%2e", "a" * 36, PHOTO.replace("-", ""), PHOTO + "x", "*" * 36])
def test_an_id_that_is_no_uuid_reaches_no_folder(app, photo):
    assert ask(app, "GET", f"/bench/tiles/{photo}/0/0_0.jpg", OWN)[0] == 404
    assert ask(app, "GET", f"/bench/marks/{photo}", OWN)[0] == 404


@pytest.mark.parametrize("name", ["0_1.jpg", "9_9.jpg", "-1_0.jpg", "0_0.png", "0_0.jpg.exe", "a_b.jpg"])
def test_a_tile_that_is_not_there_is_told_as_such(app, name):
    assert ask(app, "GET", f"/bench/tiles/{PHOTO}/0/{name}", OWN)[0] == 404


def test_a_tile_may_be_kept_by_the_browser_alone_and_for_good(app):
    status, headers, body = ask(app, "GET", f"/bench/tiles/{PHOTO}/0/0_0.jpg", OWN)
    assert (status, body) == (200, b"\xff\xd80\xff\xd9")
    assert headers["content-type"] == "image/jpeg"
    assert headers["cache-control"] == "private, max-age=31536000, immutable"


def test_marks_are_never_kept_by_the_browser(app):
    assert ask(app, "GET", f"/bench/marks/{PHOTO}", OWN)[1]["cache-control"] == "no-store"


def test_the_thumbnail_stands_beside_the_tiles(app):
    assert ask(app, "GET", f"/bench/thumb/{PHOTO}", OWN)[2] == b"\xff\xd8thumb\xff\xd9"


def test_the_meta_file_is_served_beside_the_tiles(app):
    assert json.loads(ask(app, "GET", f"/bench/tiles/{PHOTO}/meta", OWN)[2])["levels"] == 2


def test_a_stale_operation_is_answered_with_the_sentence_and_the_mark_as_it_stands(app):
    status, _, body = ask(app, "POST", "/bench/marks", SENDS, operation(version=7))
    answer = json.loads(body)
    assert status == 409
    assert (answer["ok"], answer["stale"]) == (False, True)
    assert answer["mark"]["version"] == 8
    assert answer["error"] == "Changed by bench."


def test_a_refused_operation_is_answered_with_the_sentence_and_the_mark_as_it_stands(app):
    status, _, body = ask(app, "POST", "/bench/marks", SENDS, operation(version=9))
    answer = json.loads(body)
    assert status == 422
    assert answer["mark"]["version"] == 8
    assert "stale" not in answer
    assert answer["error"].endswith(".")


@pytest.mark.parametrize(
    ("name", "given"),
    [
        ("trace", {"points": [[1, 2]]}),
        ("trace", {"points": [[1, 2], [3, "4"]]}),
        ("trace", {}),
        ("trace", {"points": [[1, 2], [3, 4]], "tone": "blue"}),
        ("ways", {}),
        ("ways", {"start": [1]}),
        ("ways", {"start": [1, 2], "turn": -1}),
        ("ways", {"start": [1, 2], "turn": 0.5}),
        ("holes", {"box": [0, 0, 10]}),
        ("holes", {"box": [0, 0, -10, 10]}),
        ("holes", {"box": [0, 0, True, 10]}),
        ("grow", {"amount": 0.5}),
        ("grow", {"point": [1, 2], "amount": 2}),
        ("grow", {"ring": [[1, 2], [3, 4]], "amount": 0.5}),
    ],
)
def test_an_assist_asked_without_a_usable_place_is_told_so(app, asked, name, given):
    status, _, body = ask(
        app, "POST", f"/bench/assist/{name}", SENDS, json.dumps({"photo_id": PHOTO, **given}).encode()
    )
    assert status == 422
    assert json.loads(body)["error"].endswith(".")
    assert asked == []


def test_assists_are_handed_plain_numbers(app, asked):
    for name, given in (
        ("trace", {"points": [[1, 2], [3, 4.5]], "tone": "light"}),
        ("ways", {"start": [1, 2], "turn": 2, "rough": True}),
        ("holes", {"box": [1, 2, 30, 40], "bright": True}),
        ("grow", {"point": [5, 6], "amount": 0.25, "away": [[7, 8]]}),
        ("grow", {"ring": [[0, 0], [9, 0], [9, 9]], "amount": 1}),
        ("outline", {}),
        ("ready", {}),
    ):
        body = json.dumps({"photo_id": PHOTO, **given}).encode()
        assert ask(app, "POST", f"/bench/assist/{name}", SENDS, body)[0] == 200
    assert asked == [
        (PHOTO, ((1.0, 2.0), (3.0, 4.5)), "light"),
        (PHOTO, (1.0, 2.0), 2, True, None),
        (PHOTO, (1.0, 2.0, 30.0, 40.0), True),
        (PHOTO, (5.0, 6.0), 0.25, (), ((7.0, 8.0),)),
        (PHOTO, ((0.0, 0.0), (9.0, 0.0), (9.0, 9.0)), 1.0, (), ()),
        (PHOTO, None),
        (PHOTO,),
    ]


SQUARE = {"shape": "ring", "points": [[0, 0], [10, 0], [10, 10], [0, 10]]}
BESIDE = {"shape": "ring", "points": [[10, 0], [20, 0], [20, 10], [10, 10]]}
RINGS = {
    "split": {"ring": SQUARE, "line": [[4, -1], [4, 11]]},
    "join": {"rings": [SQUARE, BESIDE]},
}
"""What each route under ``/bench/rings`` takes."""


def ring_answer(app, name, given, headers=SENDS):
    body = given if isinstance(given, bytes) else json.dumps(given).encode()
    status, got, answer = ask(app, "POST", f"/bench/rings/{name}", headers, body)
    return status, got, json.loads(answer)


def areas(answer):
    """By the surveyor's formula (Gauss), for rings without holes."""
    return [
        abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(p, p[1:] + p[:1], strict=True))) / 2
        for p in (ring["points"] for ring in answer["rings"])
    ]


def test_rings_are_split_and_joined_and_never_kept_by_the_browser(app):
    status, headers, answer = ring_answer(app, "split", RINGS["split"])
    assert (status, headers["cache-control"]) == (200, "no-store")
    assert areas(answer) == [60.0, 40.0]
    status, headers, answer = ring_answer(app, "join", RINGS["join"])
    assert (status, headers["cache-control"]) == (200, "no-store")
    assert areas(answer) == [200.0]


@pytest.mark.parametrize("name", RINGS)
@pytest.mark.parametrize(
    ("status", "headers"),
    [
        (403, {**SENDS, "host": "bench.example:8501"}),
        (403, {**SENDS, "sec-fetch-site": "cross-site"}),
        (403, {**SENDS, "sec-fetch-site": "same-site"}),
        (403, {**SENDS, "origin": "http://bench.example"}),
        (403, {**SENDS, "origin": "null"}),
        (403, {"host": "localhost:8501", "content-type": "application/json"}),
        (415, {**SENDS, "content-type": "text/plain"}),
        (415, {**SENDS, "content-type": "application/x-www-form-urlencoded"}),
    ],
)
def test_rings_are_refused_to_whoever_is_not_this_program_s_page(app, name, status, headers):
    got, _, answer = ring_answer(app, name, RINGS[name], headers)
    assert got == status
    assert "rings" not in answer
    assert answer["error"].endswith(".")


@pytest.mark.parametrize("name", RINGS)
def test_rings_are_not_to_be_had_by_reading(app, name):
    assert ask(app, "GET", f"/bench/rings/{name}", OWN)[0] == 405


@pytest.mark.parametrize("name", RINGS)
@pytest.mark.parametrize("body", [b"", b"{", b"[]", b'{"line": NaN}', b"[" * 100_000, b"\xff\xfe"])
def test_rings_that_are_no_json_object_are_refused(app, name, body):
    status, _, answer = ring_answer(app, name, body)
    assert status == 400
    assert answer["error"].endswith(".")


@pytest.mark.parametrize("name", RINGS)
def test_rings_beyond_the_limit_are_refused(app, name):
    assert ring_answer(app, name, b" " * (BODY_LIMIT_BYTES + 1))[0] == 413


@pytest.mark.parametrize(
    ("name", "given"),
    [
        ("split", {}),
        ("split", {"ring": SQUARE}),
        ("split", {"ring": SQUARE, "line": [[4, -1]]}),
        ("split", {"ring": SQUARE, "line": [[4, -1], [4, "11"]]}),
        ("split", {"ring": SQUARE, "line": [[4, -1], [4, True]]}),
        ("split", {"ring": [[0, 0], [10, 0], [10, 10]], "line": [[4, -1], [4, 11]]}),
        ("split", {"ring": {"points": [[0, 0], [10, 0]]}, "line": [[4, -1], [4, 11]]}),
        ("split", {"ring": {**SQUARE, "holes": 3}, "line": [[4, -1], [4, 11]]}),
        ("split", {"ring": {**SQUARE, "holes": [[[1, 1], [2, 2]]]}, "line": [[4, -1], [4, 11]]}),
        ("join", {}),
        ("join", {"rings": [SQUARE]}),
        ("join", {"rings": [SQUARE, BESIDE, SQUARE]}),
        ("join", {"rings": SQUARE}),
        ("join", {"rings": [SQUARE, None]}),
        ("join", {"rings": [SQUARE, {"points": [[1, 1], [2, 2]]}]}),
        ("split", {"ring": SQUARE, "line": [[12, -1], [12, 11]]}),
        ("split", {"ring": SQUARE, "line": [[4, -1], [4, 5]]}),
        ("join", {"rings": [SQUARE, {"points": [[30, 0], [40, 0], [40, 10]]}]}),
        ("join", {"rings": [SQUARE, {"points": [[10, 10], [20, 10], [20, 20]]}]}),
    ],
)
def test_rings_that_cannot_be_split_or_joined_are_told_so(app, name, given):
    status, _, answer = ring_answer(app, name, given)
    assert status == 422
    assert answer["ok"] is False
    assert answer["error"].endswith(".")
    assert "{" not in answer["error"]
