"""Rings split and joined on the canvas, by keys and by finger-wide buttons, and taken back."""

from __future__ import annotations

import pytest
from shapely.geometry import Polygon

pytestmark = pytest.mark.browser


def ring(hand, *places: tuple[float, float]) -> None:
    hand.keys("6")
    for place in places:
        hand.click(*place)
    hand.keys("Enter")


def areas(marks: list[dict]) -> list[float]:
    return sorted(Polygon(mark["shape"]["points"], mark["shape"]["holes"]).area for mark in marks)


def test_a_ring_with_a_hole_is_split_by_a_line_across_and_put_back_by_undo(hand):
    ring(hand, (400, 400), (1000, 400), (1000, 900), (400, 900))
    ring(hand, (500, 500), (600, 500), (600, 600), (500, 600))
    (whole,) = hand.saved()
    assert len(whole["shape"]["holes"]) == 1
    hand.keys("2", "s")
    assert "from outside to outside" in hand.hint()
    hand.click(700, 600)
    hand.click(700, 950)
    hand.keys("Enter")
    hand.page.locator(".notice", has_text="in one piece").wait_for(timeout=5000)
    hand.click(700, 350)
    hand.click(700, 950)
    hand.keys("Enter")
    hand.page.wait_for_function("() => watchedBench.marks.all().length === 2 && watchedBench.kept.mode === 'choose'")
    parts = hand.saved()
    assert sum(areas(parts)) == pytest.approx(sum(areas([whole])), abs=5)
    assert sorted(len(mark["shape"]["holes"]) for mark in parts) == [0, 1]
    assert len({mark["finding_id"] for mark in parts}) == 1
    hand.keys("u")
    (back,) = hand.saved()
    assert back["shape"] == whole["shape"]
    hand.keys("r")
    assert areas(hand.saved()) == areas(parts)


def test_two_rings_that_overlap_are_joined_by_the_button_and_two_apart_are_not(hand):
    ring(hand, (400, 400), (800, 400), (800, 800), (400, 800))
    hand.keys("2", "Escape")
    ring(hand, (700, 500), (1100, 500), (1100, 700), (700, 700))
    hand.keys("2", "Escape")
    ring(hand, (1300, 500), (1500, 500), (1400, 700))
    apart = areas(hand.saved())
    hand.keys("2", "Escape")
    hand.click(600, 410)
    hand.page.locator(".doing [data-action=join]").click()
    hand.click(1400, 520)
    hand.page.locator(".notice", has_text="neither touch nor overlap").wait_for(timeout=5000)
    hand.keys("Escape", "Escape")
    hand.click(600, 410)
    hand.page.locator(".doing [data-action=join]").click()
    hand.click(1000, 510)
    hand.page.wait_for_function("() => watchedBench.marks.all().length === 2")
    joined = areas(hand.saved())
    assert max(joined) == pytest.approx(400 * 400 + 400 * 200 - 100 * 200, rel=0.02)
    hand.keys("u")
    assert areas(hand.saved()) == apart
    hand.keys("?")
    assert hand.page.locator(".keys").get_by_text("Split the ring along a line").is_visible()
    hand.keys("Escape")


def test_a_finding_whose_only_ring_is_joined_into_anothers_is_named_and_gets_it_back_by_undo(hand):
    ring(hand, (400, 400), (800, 400), (800, 800), (400, 800))
    hand.keys("2", "Escape")
    ring(hand, (700, 500), (1100, 500), (1100, 700), (700, 700))
    one, other = hand.saved()
    assert one["finding_id"] != other["finding_id"]
    hand.keys("2", "Escape")
    hand.click(600, 410)
    hand.page.locator(".doing [data-action=join]").click()
    hand.click(1000, 510)
    hand.page.locator(".notice", has_text=f"Finding {other['number']} has no mark left").wait_for(timeout=5000)
    assert [mark["finding_id"] for mark in hand.saved()] == [one["finding_id"]]
    hand.keys("u")
    assert [mark["finding_id"] for mark in hand.saved()] == [one["finding_id"], other["finding_id"]]
    hand.page.locator(".notice .close").click()
    hand.keys("r")
    hand.page.locator(".notice", has_text=f"Finding {other['number']} has no mark left").wait_for(timeout=5000)


def test_a_finding_that_keeps_another_ring_is_not_called_without_one(hand):
    ring(hand, (400, 400), (800, 400), (800, 800), (400, 800))
    hand.keys("2", "s")
    hand.click(600, 350)
    hand.click(600, 850)
    hand.keys("Enter")
    hand.page.wait_for_function("() => watchedBench.marks.all().length === 2 && watchedBench.kept.mode === 'choose'")
    hand.keys("Escape", "Escape")
    hand.click(500, 410)
    hand.page.locator(".doing [data-action=join]").click()
    hand.click(700, 410)
    hand.page.wait_for_function("() => watchedBench.marks.all().length === 1")
    assert len(hand.saved()) == 1
    assert hand.notice() == "The two rings are one now."
