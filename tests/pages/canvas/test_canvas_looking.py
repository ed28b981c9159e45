"""Zoom, pan, loupe, grid and rule."""

from __future__ import annotations

import math

import pytest

from tests.pages.canvas.fake_steps import MM_PER_PX

pytestmark = pytest.mark.browser
UNDER = "([x, y]) => watchedBench.view.toPhoto([x, y])"


def test_the_wheel_zooms_about_the_pointer(hand):
    box = hand.page.locator(".stage").bounding_box()
    pointer = (round(box["x"]) + 400, round(box["y"]) + 300)  # wheel events carry whole pixels
    at = (pointer[0] - box["x"], pointer[1] - box["y"])
    hand.page.mouse.move(*pointer)
    before, scale = hand.page.evaluate(UNDER, at), hand.scale
    for _ in range(6):
        hand.page.mouse.wheel(0, -240)
    hand.settle()
    hand.page.wait_for_timeout(150)
    assert hand.scale > 3 * scale
    assert hand.page.evaluate(UNDER, at) == pytest.approx(before, abs=1e-6)


def test_keys_zoom_down_to_single_pixels_and_back_to_the_whole(hand):
    whole = hand.scale
    hand.keys(*["+"] * 25)
    assert hand.scale == 64
    assert hand.page.evaluate("() => watchedBench.context.imageSmoothingEnabled") is False
    hand.keys("e")
    assert hand.scale == 1
    hand.keys("w")
    assert hand.scale == pytest.approx(whole)


def test_a_single_photo_pixel_is_one_flat_square_at_the_closest_zoom(hand):
    hand.look(1240, 450, 64)
    hand.page.wait_for_selector(".bench[data-sharp=true]")
    hand.page.wait_for_timeout(400)
    flat = hand.page.evaluate(
        """() => {
          const b = watchedBench, [x, y] = b.view.toScreen([1240, 450]).map(v => Math.round(v * b.density));
          const n = Math.round(64 * b.density);
          const data = b.context.getImageData(x + 3, y + 3, n - 6, n - 6).data;
          return data.every((v, i) => v === data[i % 4]);
        }"""
    )
    assert flat


def test_space_and_drag_moves_the_photo_in_any_mode_and_places_nothing(hand):
    hand.look(1000, 700, 1)
    hand.keys("5")
    box = hand.page.locator(".stage").bounding_box()
    hand.page.mouse.move(box["x"] + 500, box["y"] + 300)
    before = hand.page.evaluate(UNDER, [0, 0])
    hand.page.keyboard.down(" ")
    hand.page.mouse.down()
    hand.page.mouse.move(box["x"] + 560, box["y"] + 340, steps=3)
    hand.page.mouse.up()
    hand.page.keyboard.up(" ")
    hand.settle()
    assert hand.page.evaluate(UNDER, [0, 0]) == pytest.approx([before[0] - 60, before[1] - 40])
    assert hand.page.evaluate("() => watchedBench.tool.draft") is None


def test_the_loupe_magnifies_at_least_six_times_while_a_point_is_placed(hand):
    hand.keys("3")
    hand.move(700, 500)
    hand.page.mouse.down()
    hand.move(705, 505)
    hand.settle()
    loupe = hand.page.locator(".loupe")
    assert loupe.is_visible()
    view = hand.page.evaluate("() => watchedBench.loupeView()")
    assert view["scale"] >= 6
    hand.page.mouse.up()
    hand.settle()
    assert not loupe.is_visible()


def test_the_rule_has_its_length_on_the_measured_plane(hand):
    """Truth: the harness's plane has 0.1 mm a pixel at its origin, 1 % more down the photo and some tilt."""
    hand.look(60, 60, 2)
    rule = hand.page.locator(".rule")
    mm, px = float(rule.get_attribute("data-mm")), float(rule.get_attribute("data-px"))
    assert px / hand.scale * MM_PER_PX == pytest.approx(mm, rel=0.02)
    assert mm in {1, 2, 5, 10, 20, 50}
    hand.look(60, 60, 20)
    closer = float(rule.get_attribute("data-mm"))
    assert closer < mm


def test_the_grid_lies_on_whole_millimetres(hand):
    """Truth: the grid's line x = 0 mm runs through the plane's origin, which the harness puts at (40, 30) px."""
    hand.look(100, 100, 4)
    hand.keys("g")
    bold = hand.page.locator(".grid path.bold").get_attribute("d")
    x, y = hand.page.evaluate("() => watchedBench.view.toScreen([40, 30])")
    lines = [[tuple(map(float, p.split())) for p in line.split("L")] for line in bold.split("M")[1:]]

    def away(line):
        (x0, y0), (x1, y1) = line
        return abs((x1 - x0) * (y0 - y) - (x0 - x) * (y1 - y0)) / math.dist(*line)

    assert sorted(map(away, lines))[:2] == pytest.approx([0, 0], abs=0.2)


def test_strokes_keep_their_width_on_the_screen_at_any_zoom(hand):
    hand.keys("5")
    for place in [(600, 600), (900, 600)]:
        hand.click(*place)
    hand.keys("Enter", "2", "Escape")
    hand.page.mouse.move(5, 5)
    for scale in (0.5, 8, 40):
        hand.look(750, 600, scale)
        hand.page.wait_for_timeout(250)
        assert red_rows(hand) in (2, 3, 4), scale


def red_rows(hand) -> int:
    """How many screen pixels thick the mark's red is, on a column of a screenshot through the middle of the stage."""
    import cv2
    import numpy as np

    box = hand.page.locator(".stage").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    shot = hand.page.screenshot(clip={"x": x, "y": y - 20, "width": 4, "height": 40})
    b, g, r = cv2.imdecode(np.frombuffer(shot, np.uint8), cv2.IMREAD_COLOR)[:, 1].astype(int).T
    return int(((r - g > 60) & (r - b > 60) & (r < 200)).sum())


def test_the_view_and_the_mode_come_back_when_the_page_turns_to_another_photo_and_back(hand, shared):
    from tests.pages.canvas.conftest import photo_id

    hand.look(321, 456, 3)
    hand.keys("6")
    own = hand.photo
    hand.turn_to(photo_id(0))
    hand.turn_to(own)
    assert hand.scale == pytest.approx(3)
    assert hand.page.evaluate("() => watchedBench.kept.mode") == "ring"


def test_everything_that_can_be_touched_is_at_least_forty_pixels(hand):
    hand.keys("5")
    hand.click(300, 300)
    small = hand.page.evaluate(
        """() => [...watchedBench.host.querySelectorAll('button')].filter(b => b.offsetParent)
          .map(b => [b.dataset.action ?? b.className, b.offsetWidth, b.offsetHeight])
          .filter(([, w, h]) => w < 40 || h < 40)"""
    )
    assert small == []
    hand.keys("Escape")
