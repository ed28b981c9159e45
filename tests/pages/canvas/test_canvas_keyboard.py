"""A whole mark, from choosing the tool to correcting it, without a pointer."""

from __future__ import annotations

import pytest

pytestmark = pytest.mark.browser


def start_at(hand, x: float, y: float) -> None:
    """Put the crosshair on a known place; from there on only keys are used."""
    hand.page.evaluate(
        "([x, y]) => { watchedBench.cross = [x, y]; watchedBench.under = null; watchedBench.repaint() }", [x, y]
    )


def test_a_line_is_drawn_with_the_crosshair_to_a_tenth_of_a_pixel(hand):
    hand.page.mouse.move(2, 2)
    hand.keys("5")
    start_at(hand, 500.5, 400.5)
    hand.keys(
        "ArrowRight",
        "Enter",
        *["Shift+ArrowRight"] * 5,
        "ArrowDown",
        *["Alt+ArrowDown"] * 3,
        " ",
        *["Shift+ArrowUp"] * 4,
    )
    hand.keys("Enter", "Enter")
    (mark,) = hand.saved()
    assert mark["shape"]["points"] == [[501.5, 400.5], [551.5, 401.8], [551.5, 361.8]]


def test_the_loupe_shows_while_the_crosshair_moves_and_goes_when_the_point_is_placed(hand):
    hand.keys("3", "ArrowRight")
    loupe = hand.page.locator(".loupe")
    assert loupe.is_visible()
    hand.keys("Enter")
    assert not loupe.is_visible()
    assert len(hand.saved()) == 1


def test_a_circle_is_drawn_by_keys(hand):
    hand.page.mouse.move(2, 2)
    hand.keys("4")
    start_at(hand, 700.5, 700.5)
    hand.keys("ArrowRight", "Enter", *["Shift+ArrowRight"] * 3, "Enter")
    (shape,) = [mark["shape"] for mark in hand.saved()]
    assert (shape["x"], shape["y"], shape["radius"]) == (701.5, 700.5, 30)


def test_a_corner_is_reached_and_nudged_by_keys_as_one_step(hand):
    hand.keys("5")
    for place in [(300, 300), (700, 300), (1100, 300)]:
        hand.click(*place)
    hand.keys("Enter")
    before = hand.saved()[0]["shape"]["points"]
    hand.keys("2", ".", ".", *["Shift+ArrowDown"] * 6)
    hand.page.wait_for_timeout(600)
    after = hand.saved()[0]["shape"]["points"]
    assert after[1] == pytest.approx([before[1][0], before[1][1] + 60])
    assert (after[0], after[2]) == (before[0], before[2])
    hand.keys("u")
    assert hand.saved()[0]["shape"]["points"] == before


def test_marks_are_reached_by_tab_and_say_what_they_are(hand):
    hand.keys("3")
    hand.click(400, 400)
    hand.click(800, 600)
    hand.saved()
    hand.keys("2", "Escape")
    hand.keys("Tab")
    focused = "() => watchedBench.host.getRootNode().activeElement.getAttribute('aria-label')"
    assert hand.page.evaluate(focused).startswith("1, Crack, point")
    hand.keys("Tab")
    assert hand.page.evaluate(focused).startswith("2, Crack, point")
    hand.keys("Delete")
    assert [mark["number"] for mark in hand.saved()] == [1]


def test_the_list_of_keys_names_every_action_once(hand):
    hand.keys("?")
    rows = hand.page.locator(".key-row").all_inner_texts()
    actions = hand.page.evaluate("() => [...watchedBench.panel.sheet.querySelectorAll('.key-row')].length")
    assert len(rows) == actions >= 45
    assert len({row.splitlines()[-1] for row in rows}) == len(rows)
    hand.keys("Escape")
    assert not hand.page.locator(".sheet").is_visible()


def test_keys_meant_for_the_canvas_do_not_reach_the_page_around_it(hand):
    """The letters R and C mean something to the page around the canvas; there they must do nothing."""
    before = hand.page.get_by_text("reruns: ").inner_text()
    hand.keys("r", "c", "2", "r")
    hand.page.locator(".ways button").first.focus()
    hand.page.keyboard.press("r")
    hand.page.keyboard.press("c")
    hand.page.wait_for_timeout(500)
    assert hand.page.get_by_text("reruns: ").inner_text() == before
    assert hand.page.get_by_role("dialog").filter(visible=True).count() == 0


def test_what_happens_is_said_for_those_who_do_not_see_it(hand):
    hand.keys("3", "ArrowRight", "Enter")
    live = hand.page.locator("[role=status].hidden-words")
    assert live.get_attribute("aria-live") == "polite"
    assert "point" in live.inner_text().lower()
    assert hand.page.locator(".ways [data-action=point]").get_attribute("aria-pressed") == "true"
    assert hand.page.locator(".ways [data-action=line]").get_attribute("aria-pressed") == "false"
