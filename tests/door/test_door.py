"""The phone's door: a pass opens one job for photos and short notes, and nothing opens without it."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from starlette.testclient import TestClient

from condition.door import app as door
from condition.errors import Refused
from condition.flow import phone
from condition.flow.buying import SLOTS, begin_look
from condition.flow.jobs import open_job, view_named
from condition.flow.phone import let_in, notes_of, pass_for, passes_of, withdraw
from condition.records.arrivals import PhonePass
from condition.records.photo import Photo
from tests.browser import ROOT
from tests.report.pdf_contents import shown_text

HOST = "192.168.7.4:8690"
PHOTO = (ROOT / "demo_images" / "closeup_endpin.jpg").read_bytes()


@pytest.fixture
def client(desk, monkeypatch):
    monkeypatch.setattr(door, "WRONG_PASS_WAIT_S", 0.0)
    with TestClient(door.door_app(desk, HOST), base_url=f"http://{HOST}") as client:
        yield client


@pytest.fixture
def token(desk, job):
    return let_in(desk, job, hours=1)[1]


def bearer(token: str, **more: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {token}", **more}


def send(client, token: str, data: bytes = PHOTO, **headers: str):
    return client.post("/photos", content=data, headers=bearer(token, **headers))


def test_a_photo_comes_in_byte_for_byte_with_its_advice(client, desk, job, token):
    face = view_named(desk, job, "tail end")
    answer = send(client, token, **{"X-File-Name": "IMG%200001.jpg", "X-Face": face.id})
    assert answer.status_code == 200
    (photo,) = desk.store.find(Photo, job_id=job.id)
    assert answer.json()["photo"] == photo.id
    assert answer.json()["cards"] == len(photo.cards) == 2
    assert photo.file_name == "IMG 0001.jpg"
    assert photo.view_id == face.id
    assert desk.store.vault.path(photo.sha256).read_bytes() == PHOTO


def test_the_same_photo_twice_is_kept_once_and_told(client, desk, job, token):
    first, second = send(client, token), send(client, token)
    assert second.json()["already_here"]
    assert first.json()["photo"] == second.json()["photo"]
    assert len(desk.store.find(Photo, job_id=job.id)) == 1


@pytest.mark.parametrize("path", ["/state", "/pictures/" + str(uuid4())])
def test_without_a_pass_nothing_is_told(client, path, token):
    for headers in ({}, bearer(""), bearer("guess"), {"Authorization": f"Basic {token}"}):
        answer = client.get(path, headers=headers)
        assert answer.status_code == 401
        assert "code" in answer.json()["error"]


def test_a_withdrawn_and_an_old_pass_open_nothing(client, desk, job):
    made, token = let_in(desk, job, hours=1)
    withdraw(desk, made)
    assert client.get("/state", headers=bearer(token)).json()["code"] == "phone.withdrawn"
    _, old = let_in(desk, job, hours=1, now=datetime.now(UTC) - timedelta(hours=2))
    assert send(client, old).json()["code"] == "phone.expired"
    assert not desk.store.find(Photo, job_id=job.id)


def test_a_pass_withdrawn_while_the_photo_is_on_its_way_keeps_it_out(client, desk, job):
    made, token = let_in(desk, job, hours=1)

    def body():
        yield PHOTO[:1000]
        withdraw(desk, made)
        yield PHOTO[1000:]

    assert client.post("/photos", content=body(), headers=bearer(token)).json()["code"] == "phone.withdrawn"
    assert not desk.store.find(Photo, job_id=job.id)


def test_the_token_is_kept_nowhere(desk, job):
    made, token = let_in(desk, job, hours=1)
    assert token not in repr(desk.store.get(PhonePass, made.id))
    for file in desk.store.folder.rglob("*"):
        if file.is_file():
            assert token.encode() not in file.read_bytes()


def test_a_pass_reaches_its_own_job_only(client, desk, job, token):
    other = open_job(desk, "2026-002")
    theirs = send(client, let_in(desk, other, hours=1)[1]).json()["photo"]
    assert client.get(f"/pictures/{theirs}", headers=bearer(token)).status_code == 422
    face = view_named(desk, other, "front")
    assert send(client, token, **{"X-Face": face.id}).status_code == 422
    assert not desk.store.find(Photo, job_id=job.id)


def test_the_picture_held_beside_the_shutter_is_the_earlier_one_without_its_place(client, desk, job, token):
    face = view_named(desk, job, "front")
    located = (ROOT / "demo_images" / "closeup_bridge.jpg").read_bytes()
    assert b"GPS" in located[:4000] or b"\x88\x25" in located[:4000]
    photo = send(client, token, located, **{"X-Face": face.id}).json()["photo"]
    _, later = let_in(desk, job, hours=1, occasion="returned")
    state = client.get("/state", headers=bearer(later)).json()
    assert [one["earlier"] for one in state["faces"]] == [photo]
    small = client.get(f"/pictures/{photo}", headers=bearer(later)).content
    assert small.startswith(b"\xff\xd8")
    assert b"Exif" not in small


def test_what_is_no_photo_is_refused_in_one_sentence(client, desk, job, token):
    for data in (b"", b"not a picture", PHOTO[:5000]):
        answer = send(client, token, data, **{"X-File-Name": "x.jpg"})
        assert answer.status_code == 422
        assert answer.json()["error"].endswith(".")
    assert not desk.store.find(Photo, job_id=job.id)
    assert not list((desk.store.folder / "arriving").iterdir())


def test_more_bytes_than_a_photo_has_are_not_kept(client, desk, job, token, monkeypatch):
    monkeypatch.setattr(door, "MOST_PHOTO_BYTES", 100_000)
    assert send(client, token).json()["code"] == "phone.photo_too_large"
    assert not list((desk.store.folder / "arriving").iterdir())


def test_a_note_sent_again_is_one_note(client, desk, job, token):
    told = {"op": str(uuid4()), "words": " Jack nut was loose "}
    for _ in range(2):
        assert client.post("/notes", json=told, headers=bearer(token)).status_code == 200
    assert [note.words for note in notes_of(desk, job)] == ["Jack nut was loose"]


@pytest.mark.parametrize("body", [b"", b"[]", b"{}", b'{"op": "x", "words": "y"}', b"[" * 9000, b"x" * 30_000])
def test_a_note_that_is_none_is_refused(client, desk, job, token, body):
    assert client.post("/notes", content=body, headers=bearer(token)).status_code == 422
    assert not notes_of(desk, job)


@pytest.mark.parametrize(
    "headers", [{"Host": "evil.example"}, {"Origin": "http://evil.example"}, {"Host": "localhost"}]
)
def test_another_name_or_another_page_is_turned_away(client, token, headers):
    """RFC 9110, 7.2 (Host) and RFC 6454 (Origin): a name that was bound anew, or a page of another site."""
    assert client.get("/state", headers=bearer(token, **headers)).status_code == 403


def test_only_what_the_phone_needs_can_be_asked(client, desk, token):
    for method, path in [("PUT", "/photos"), ("DELETE", "/photos"), ("GET", "/photos"), ("GET", "/bench/thumb/1"),
                         ("GET", "/../app.py"), ("GET", "/phone_page.py"), ("POST", "/state")]:  # fmt: skip
        assert client.request(method, path, headers=bearer(token)).status_code in (404, 405)


def test_the_page_says_only_catalogue_words_and_runs_only_its_own_script(client):
    page = client.get("/")
    assert "{{" not in page.text
    assert "@WORDS@" not in page.text
    assert not re.search(r"\bphone\.(?!css|js\b)[a-z_]+", page.text)
    assert "unsafe" not in page.headers["content-security-policy"]
    assert page.headers["referrer-policy"] == "no-referrer"


def test_hours_out_of_reason_are_refused(desk, job):
    for hours in (0, -1, 25, float("nan")):
        with pytest.raises(Refused, match=r"phone\.hours"):
            let_in(desk, job, hours=hours)


def test_passes_that_have_ended_are_not_listed(desk, job):
    now = datetime.now(UTC)
    made, token = let_in(desk, job, hours=1, now=now)
    assert passes_of(desk, job, now) == (made,)
    assert pass_for(desk, token, now).id == made.id
    assert passes_of(desk, job, now + timedelta(minutes=61)) == ()
    assert phone.seen_by(desk, made).job.id == job.id


def test_a_look_before_buying_is_made_from_the_phone_alone(client, desk):
    job = begin_look(desk, "Tired banjo")
    _, token = let_in(desk, job, hours=1)
    state = client.get("/state", headers=bearer(token)).json()
    assert [face["name"] for face in state["faces"]] == list(SLOTS)
    told = {"claims": "All original\nNever repaired", "asking_typed": "1850", "serial": "4417", "seller": "A. Seller"}
    assert client.post("/look", json=told, headers=bearer(token)).status_code == 200
    assert client.post("/receipt", content=PHOTO, headers=bearer(token)).status_code == 200
    send(client, token, **{"X-Face": state["faces"][0]["id"]})
    sheet = client.get("/sheet", headers=bearer(token))
    text = shown_text(sheet.content)
    for words in ("All original", "Never repaired", "4417", "A. Seller", "850.00 EUR"):
        assert words in text
    assert client.get("/state", headers=bearer(token)).json()["look"]["claims"] == told["claims"]


def test_a_look_is_no_other_job_and_no_nonsense(client, desk, job, token):
    assert client.get("/state", headers=bearer(token)).json()["look"] is None
    assert client.post("/look", json={"seller": "x"}, headers=bearer(token)).status_code == 422
    assert client.get("/sheet", headers=bearer(token)).status_code == 422
    _, of_look = let_in(desk, begin_look(desk, "Tired banjo"), hours=1)
    for told in ({"asking_typed": "cheap"}, {"seller": 3}, {"seller": "x" * 2000}):
        assert client.post("/look", json=told, headers=bearer(of_look)).status_code == 422
