"""Nothing drawn is lost: reloads, a lost answer, two tabs on one photo; the page's own test has the killed server."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.pages.canvas.conftest import Hand

pytestmark = pytest.mark.browser


@pytest.fixture
def own(chromium, shared, fresh_photo) -> Iterator[Hand]:
    """A page and browser profile of this test's own."""
    server, _ = shared
    context = chromium.new_context(viewport={"width": 1366, "height": 850})
    hand = Hand(context.new_page(), server.url, fresh_photo)
    yield hand.open()
    context.close()
    assert hand.errors == []


def test_a_reload_right_after_drawing_loses_nothing(own):
    own.keys("3")
    for k in range(5):
        own.click(300 + 100 * k, 400)
    own.page.reload()
    own.ready()
    assert len(own.saved()) == 5
    assert len(own.drawn()) == 5


def test_a_reload_in_mid_draw_keeps_the_points_and_the_view(own):
    own.look(800, 600, 1.5)
    own.keys("5")
    for place in [(700, 500), (900, 600)]:
        own.click(*place)
    own.page.reload()
    own.ready()
    assert own.scale == pytest.approx(1.5)
    assert "still here" in own.notice()
    own.click(800, 700)
    own.keys("Enter")
    (mark,) = own.saved()
    assert len(mark["shape"]["points"]) == 3


def test_undo_goes_on_after_a_reload(own):
    own.keys("3")
    own.click(300, 400)
    own.click(500, 400)
    own.saved()
    own.page.reload()
    own.ready()
    own.keys("u", "u")
    assert own.saved() == []
    own.keys("r")
    assert [mark["number"] for mark in own.saved()] == [1]


def test_an_operation_whose_answer_was_lost_is_sent_again_and_done_once(own):
    lost = []

    def lose_first(route):
        if not lost:
            lost.append(route.fetch().status)
            route.abort()
        else:
            route.continue_()

    own.page.route("**/bench/marks", lose_first)
    own.keys("3")
    own.click(300, 400)
    marks = own.saved()
    assert lost == [200]
    assert [(mark["number"], mark["version"]) for mark in marks] == [(1, 1)]
    own.page.unroute("**/bench/marks")


def test_what_a_closed_tab_left_unsent_is_sent_by_the_next(chromium, shared, fresh_photo):
    server, _ = shared
    context = chromium.new_context(viewport={"width": 1366, "height": 850})
    first = Hand(context.new_page(), server.url, fresh_photo).open()
    first.page.route("**/bench/marks", lambda route: route.abort())
    first.keys("3")
    first.click(300, 400)
    first.page.get_by_text("1 change not saved yet").wait_for(timeout=5000)
    first.page.close()
    second = Hand(context.new_page(), server.url, fresh_photo).open()
    assert len(second.saved()) == 1
    context.close()


def test_two_tabs_merge_their_marks_and_undo_touches_only_its_own(chromium, shared, fresh_photo):
    server, _ = shared
    context = chromium.new_context(viewport={"width": 1366, "height": 850})
    one = Hand(context.new_page(), server.url, fresh_photo).open()
    two = Hand(context.new_page(), server.url, fresh_photo).open()
    for k in range(2):
        one.page.bring_to_front()
        one.keys("3")
        one.click(300 + 100 * k, 400)
        two.page.bring_to_front()
        two.keys("3")
        two.click(300 + 100 * k, 800)
    one.page.bring_to_front()
    assert len(one.saved()) == 4
    one.page.wait_for_function("() => watchedBench.marks.all().length === 4")
    one.keys("u", "u", "u")
    left = one.saved()
    assert [round(mark["shape"]["y"], -1) for mark in left] == [800, 800]
    two.page.bring_to_front()
    two.page.wait_for_function("() => watchedBench.marks.all().length === 2")
    context.close()


def nudge(hand: Hand, *keys: str) -> None:
    """Choose and nudge by keys on a page that has its mark, and wait until the nudge has been put down.

    Not for a nudge that the store turns away: that is nothing to undo, and may be over before it was seen.
    """
    hand.page.wait_for_function("() => watchedBench.marks.all().length === 1 && watchedBench.marks.listed")
    before = hand.page.evaluate("() => watchedBench.marks.kept.undo.length")
    hand.keys(*keys)
    hand.page.wait_for_function("n => watchedBench.marks.kept.undo.length > n", arg=before)


def test_a_reload_in_the_middle_of_a_nudge_keeps_the_nudge(own):
    own.keys("3")
    own.click(300, 400)
    own.saved()
    own.keys("2", "n")
    own.page.keyboard.press("Shift+ArrowRight")
    own.page.reload()
    own.ready()
    assert own.saved()[0]["shape"]["x"] == pytest.approx(310, abs=2)


def test_a_conflict_shows_the_other_version_and_mine_can_be_put_back(chromium, shared, fresh_photo):
    """Two browsers, so that neither hears of the other's change before it sends its own."""
    server, _ = shared
    contexts = [chromium.new_context(viewport={"width": 1366, "height": 850}) for _ in range(2)]
    one, two = (Hand(context.new_page(), server.url, fresh_photo) for context in contexts)
    one.open()
    one.keys("5")
    for place in [(300, 300), (700, 300)]:
        one.click(*place)
    one.keys("Enter")
    one.saved()
    two.open()
    nudge(two, "2", "n", ".", "Shift+ArrowDown")
    theirs = two.saved()[0]["shape"]["points"]
    one.keys("2", "n", ".", "Shift+ArrowUp")
    assert "was changed by" in one.notice()
    assert one.shapes()[0]["points"] == theirs
    one.page.get_by_role("button", name="Put mine back").click()
    mine = one.saved()[0]["shape"]["points"]
    assert mine[0][1] == pytest.approx(theirs[0][1] - 20)
    for context in contexts:
        context.close()


def test_a_change_undone_elsewhere_meanwhile_is_left_alone(chromium, shared, fresh_photo):
    server, _ = shared
    context = chromium.new_context(viewport={"width": 1366, "height": 850})
    one = Hand(context.new_page(), server.url, fresh_photo).open()
    one.keys("3")
    one.click(300, 400)
    one.saved()
    two = Hand(context.new_page(), server.url, fresh_photo).open()
    nudge(two, "2", "n", "Shift+ArrowRight")
    moved = two.saved()[0]["shape"]
    assert moved["x"] == pytest.approx(310, abs=2)
    one.page.bring_to_front()
    one.page.wait_for_function("x => watchedBench.marks.all()[0].shape.x === x", arg=moved["x"])
    one.keys("u")
    assert "changed elsewhere" in one.notice()
    assert one.saved()[0]["shape"] == moved
    context.close()


def test_a_change_the_server_fails_on_holds_up_no_other_mark(own):
    def fail_on_the_first(route):
        failing.append(route.request.post_data_json["mark"]["id"])
        if failing[0] == failing[-1]:
            route.fulfill(status=500, body="Internal Server Error")
        else:
            route.continue_()

    failing: list[str] = []
    own.page.route("**/bench/marks", fail_on_the_first)
    own.keys("3")
    own.click(300, 400)
    own.click(500, 400)
    own.page.locator(".notice", has_text="could not be saved just now").wait_for(timeout=5000)
    own.page.get_by_text("1 change not saved yet").wait_for(timeout=15_000)
    assert len(own.stored()) == 1
    own.page.unroute("**/bench/marks")
    assert len(own.saved()) == 2


def test_a_refused_change_is_told_and_leaves_nothing_to_undo(own):
    own.page.route(
        "**/bench/marks",
        lambda route: route.fulfill(status=422, json={"ok": False, "error": "This is refused.", "mark": None}),
    )
    own.keys("3")
    own.click(300, 400)
    assert own.notice() == "This is refused."
    assert own.drawn() == []
    assert own.page.evaluate("() => watchedBench.kept.undo.length") == 0
    own.page.unroute("**/bench/marks")
    assert own.saved() == []
