"""Fingers on a tablet, through the browser's own touch events."""

from __future__ import annotations

import math
from collections.abc import Iterator

import pytest

from tests.pages.canvas.conftest import Hand

pytestmark = pytest.mark.browser


class Fingers(Hand):
    """Touches the canvas; places are in photo pixels, paths in screen pixels."""

    def send(self, kind: str, places: list[tuple[float, float]]) -> None:
        points = [{"x": x, "y": y, "id": i} for i, (x, y) in enumerate(places)]
        self.devtools.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    def swipe(self, *paths: list[tuple[float, float]]) -> None:
        """One path a finger, all of equal length."""
        steps = list(zip(*paths, strict=True))
        self.send("touchStart", list(steps[0]))
        for step in steps[1:]:
            self.send("touchMove", list(step))
        self.send("touchEnd", [])
        self.settle()

    def tap(self, x: float, y: float) -> None:
        self.swipe([self.screen(x, y)])


@pytest.fixture(scope="module")
def tablet(chromium, shared) -> Iterator[object]:
    context = chromium.new_context(viewport={"width": 1024, "height": 768}, has_touch=True)
    yield context.new_page()
    context.close()


@pytest.fixture
def fingers(tablet, shared, fresh_photo) -> Iterator[Fingers]:
    server, _ = shared
    fingers = Fingers(tablet, server.url, fresh_photo)
    fingers.devtools = tablet.context.new_cdp_session(tablet)
    yield fingers.open()
    assert fingers.errors == []


def test_two_fingers_zoom_about_their_middle(fingers):
    left, top = fingers.page.evaluate("() => watchedBench.corner()")
    under = "([x, y]) => watchedBench.view.toPhoto([x, y])"
    before, scale = fingers.page.evaluate(under, [400, 250]), fingers.scale
    spread = [40 + 20 * k for k in range(6)]
    fingers.swipe([(left + 400 - s, top + 250) for s in spread], [(left + 400 + s, top + 250) for s in spread])
    assert fingers.scale == pytest.approx(scale * 140 / 40, rel=0.01)
    assert fingers.page.evaluate(under, [400, 250]) == pytest.approx(before, abs=0.5)
    assert fingers.drawn() == []


def test_whatever_is_tapped_is_a_finger_wide(fingers):
    """44 CSS pixels either way: WCAG 2.2, success criterion 2.5.5."""
    fingers.page.locator(".ways [data-action=ring]").tap()
    for place in [(300, 300), (900, 320), (600, 800), (305, 305)]:
        fingers.tap(*place)
    for mode in ("choose", "follow", "grow"):
        fingers.page.locator(f".ways [data-action={mode}]").tap()
        fingers.settle()
        boxes = [button.bounding_box() for button in fingers.page.locator(".bench button:visible").all()]
        assert len(boxes) > 20
        assert min(min(box["width"], box["height"]) for box in boxes) >= 44


def test_one_finger_moves_the_photo_in_its_mode(fingers):
    fingers.look(1000, 700, 1)
    fingers.page.locator(".ways [data-action=hand]").tap()
    left, top = fingers.page.evaluate("() => watchedBench.corner()")
    before = fingers.page.evaluate("() => [watchedBench.view.x, watchedBench.view.y]")
    fingers.swipe([(left + 300 + 10 * k, top + 200 + 5 * k) for k in range(9)])
    after = fingers.page.evaluate("() => [watchedBench.view.x, watchedBench.view.y]")
    assert after == pytest.approx([before[0] - 80, before[1] - 40])


def test_a_finger_settles_a_point_under_the_loupe_before_letting_go(fingers):
    fingers.look(700, 500, 2)
    fingers.page.locator(".ways [data-action=point]").tap()
    x, y = fingers.screen(690, 500)
    fingers.send("touchStart", [(x, y)])
    fingers.send("touchMove", [(x + 10, y + 8)])
    fingers.send("touchMove", [(x + 20, y + 10)])
    fingers.settle()
    loupe = fingers.page.locator(".loupe")
    assert loupe.is_visible()
    box = loupe.bounding_box()
    assert box["y"] + box["height"] < y, "the loupe must stand clear of the finger"
    fingers.send("touchEnd", [])
    (mark,) = fingers.saved()
    assert math.dist((mark["shape"]["x"], mark["shape"]["y"]), (700, 505)) < 0.6


def test_a_ring_is_closed_by_a_tap_on_its_first_point(fingers):
    fingers.page.locator(".ways [data-action=ring]").tap()
    for place in [(300, 300), (900, 320), (600, 800), (305, 305)]:
        fingers.tap(*place)
    (mark,) = fingers.saved()
    assert len(mark["shape"]["points"]) == 3


def test_a_second_finger_gives_up_the_point_and_moves_the_photo(fingers):
    fingers.page.locator(".ways [data-action=point]").tap()
    x, y = fingers.screen(700, 500)
    fingers.send("touchStart", [(x, y)])
    fingers.send("touchStart", [(x, y), (x + 80, y)])
    fingers.send("touchMove", [(x - 20, y), (x + 120, y)])
    fingers.send("touchEnd", [])
    fingers.settle()
    assert fingers.drawn() == []
    assert not fingers.page.locator(".loupe").is_visible()


def test_a_tapped_mark_is_chosen_and_its_corner_follows_the_finger(fingers):
    fingers.page.locator(".ways [data-action=line]").tap()
    for place in [(400, 400), (1200, 420)]:
        fingers.tap(*place)
    fingers.page.locator(".doing [data-action=finish]").tap()
    fingers.page.locator(".ways [data-action=choose]").tap()
    fingers.tap(600, 405)
    x, y = fingers.screen(1200, 420)
    fingers.swipe([(x, y + 6 * k) for k in range(12)])
    (mark,) = fingers.saved()
    assert mark["shape"]["points"][1][1] == pytest.approx(420 + 66 / fingers.scale, abs=4)


def test_a_hole_is_accepted_by_a_tap(fingers):
    fingers.page.locator(".ways [data-action=holes]").tap()
    a, b = fingers.screen(1180, 400), fingers.screen(1400, 590)
    fingers.swipe([(a[0] + (b[0] - a[0]) * k / 8, a[1] + (b[1] - a[1]) * k / 8) for k in range(9)])
    fingers.page.wait_for_function("() => watchedBench.tool.draft?.found?.length === 5")
    fingers.tap(0.62 * 2000, 0.30 * 1500)
    (mark,) = fingers.saved()
    assert mark["kind"] == "screw hole"
    assert mark["shape"]["radius"] == 14
