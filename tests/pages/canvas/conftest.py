"""A server with the canvas alone, and a hand that works on it in photo pixels."""

from __future__ import annotations

import json
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser import Server
from tests.pages.canvas.bench_photo import paint_wood, write_tiles

HARNESS = Path(__file__).with_name("harness.py")
WIDTH, HEIGHT = 2000, 1500


@pytest.fixture(scope="session")
def picture():
    return paint_wood(WIDTH, HEIGHT)


@pytest.fixture(scope="session")
def shared(tmp_path_factory, picture) -> Iterator[tuple[Server, Path]]:
    """One server for the tests that need no server of their own."""
    folder = tmp_path_factory.mktemp("canvas")
    server = Server(HARNESS, {"HARNESS_FOLDER": str(folder)})
    (folder / "tiles" / photo_id(0)).mkdir(parents=True)
    write_tiles(picture, folder / "tiles" / photo_id(0))
    yield server.start(), folder
    server.kill()


def photo_id(n: int) -> str:
    return f"a0000000-0000-4000-8000-{n:012d}"


@pytest.fixture
def fresh_photo(shared, request) -> str:
    """A photo of this test's own, with no marks yet."""
    _, folder = shared
    n = len(list((folder / "tiles").iterdir()))
    (folder / "tiles" / photo_id(n)).symlink_to(folder / "tiles" / photo_id(0))
    return photo_id(n)


PLACE_ON_SCREEN = """([x, y]) => {
  const b = watchedBench, s = b.view.toScreen([x, y]), c = b.corner();
  return [s[0] + c[0], s[1] + c[1]];
}"""
DRAWN = """() => watchedBench.marks.all().map(
  ({id, number, kind, shape, text, finding_id}) => ({id, number, kind, shape, text, finding_id}))"""
NOTHING_WAITS = "() => Object.keys(localStorage).every(key => !key.startsWith('bench.change|'))"
TWO_FRAMES = "() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => done(1))))"


class Hand:
    """Works on an open canvas as a person does; places are in photo pixels."""

    def __init__(self, page, url: str, photo: str) -> None:
        self.page, self.url, self.photo = page, url, photo
        self.errors: list[str] = []
        page.on("pageerror", lambda error: self.errors.append(str(error)))

    def open(self, **ask: str) -> Hand:
        query = "&".join(f"{k}={v}" for k, v in {"photo": self.photo, **ask}.items())
        self.page.goto(f"{self.url}/?{query}")
        return self.ready()

    def turn_to(self, photo: str) -> Hand:
        """Have the page show another photo, as choosing one from a list does."""
        self.photo = photo
        self.page.get_by_role("textbox", name="photo").fill(photo)
        self.page.keyboard.press("Enter")
        self.page.wait_for_function("id => watchedBench.photo.id === id && !watchedBench.closed", arg=photo)
        return self.ready()

    def ready(self) -> Hand:
        self.page.wait_for_selector(".bench[data-sharp=true]", timeout=20_000)
        expect(self.page.locator(".stage")).to_have_count(1)
        self.page.locator(".stage").focus()
        self.settle()
        return self

    def settle(self) -> None:
        """Wait until a frame has been painted after all that was done."""
        self.page.evaluate(TWO_FRAMES)

    def screen(self, x: float, y: float) -> tuple[float, float]:
        sx, sy = self.page.evaluate(PLACE_ON_SCREEN, [x, y])
        return sx, sy

    def move(self, x: float, y: float) -> None:
        self.page.mouse.move(*self.screen(x, y))

    def click(self, x: float, y: float) -> None:
        self.move(x, y)
        self.page.mouse.down()
        self.page.mouse.up()

    def drag(self, *places: tuple[float, float]) -> None:
        self.move(*places[0])
        self.page.mouse.down()
        for place in places[1:]:
            self.move(*place)
        self.page.mouse.up()

    def keys(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)
        self.settle()

    def look(self, x: float, y: float, scale: float) -> None:
        """Put a place of the photo in the middle of the stage at a zoom."""
        self.page.evaluate(
            "([x, y, s]) => { const b = watchedBench; b.changeView(v => { v.scale = s; v.centreOn([x, y]) }) }",
            [x, y, scale],
        )
        self.settle()

    @property
    def scale(self) -> float:
        return self.page.evaluate("() => watchedBench.view.scale")

    def drawn(self) -> list[dict]:
        """The marks on the canvas, in order of their numbers."""
        marks = self.page.evaluate(DRAWN)
        return sorted(marks, key=lambda mark: (mark["number"] or 1e9, mark["id"]))

    def shapes(self) -> list[dict]:
        return [mark["shape"] for mark in self.drawn()]

    def saved(self) -> list[dict]:
        """The marks the server holds, once nothing waits any more."""
        self.page.wait_for_function(NOTHING_WAITS, timeout=20_000)
        return self.stored()

    def stored(self) -> list[dict]:
        with urllib.request.urlopen(f"{self.url}/bench/marks/{self.photo}") as answer:
            return sorted(json.load(answer)["marks"], key=lambda mark: mark["number"])

    def hint(self) -> str:
        return self.page.locator(".hint").inner_text()

    def notice(self) -> str:
        notice = self.page.locator(".notice > span")
        notice.wait_for(timeout=20_000)
        return notice.inner_text()


@pytest.fixture(scope="module")
def desktop(chromium) -> Iterator[object]:
    context = chromium.new_context(viewport={"width": 1366, "height": 850})
    yield context
    context.close()


@pytest.fixture(scope="module")
def open_page(desktop, shared):
    server, _ = shared
    page = desktop.new_page()
    Hand(page, server.url, photo_id(0)).open()
    return page


@pytest.fixture
def hand(open_page, shared, fresh_photo) -> Iterator[Hand]:
    """The canvas with a photo that has no marks yet, on a page that stays open from test to test."""
    server, _ = shared
    hand = Hand(open_page, server.url, fresh_photo)
    yield hand.turn_to(fresh_photo)
    assert hand.errors == []
