"""Drawing with the mouse: what is drawn on the screen is what the store holds, to the hundredth of a pixel."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

pytestmark = pytest.mark.browser
NEAR_PX = 0.51
EIGHT_POINTS = """() => {
  for (let k = 0; k < 8; k++) watchedBench.tool.place({photo: [300 + 60 * k, 400], screen: [0, 0], type: 'keys'});
}"""


def near(a, b, by=NEAR_PX) -> bool:
    return math.dist(a, b) <= by


def test_a_point_lies_where_it_was_clicked(hand):
    hand.look(700, 500, 2.0)
    hand.keys("3")
    hand.click(700.25, 500.75)
    (mark,) = hand.saved()
    assert near((mark["shape"]["x"], mark["shape"]["y"]), (700.25, 500.75))
    assert mark["number"] == 1


def test_a_line_is_finished_by_a_double_click(hand):
    hand.keys("5")
    hand.click(300, 900)
    hand.click(600, 950)
    hand.click(900, 850)
    hand.click(900, 850)
    (mark,) = hand.saved()
    assert len(mark["shape"]["points"]) == 3
    assert mark["kind"] == "crack"


def test_a_ring_is_closed_by_a_click_on_its_first_point(hand):
    hand.keys("6")
    for place in [(300, 300), (600, 300), (600, 600), (300, 600), (300, 300)]:
        hand.click(*place)
    (shape,) = [mark["shape"] for mark in hand.saved()]
    assert shape["shape"] == "ring"
    assert len(shape["points"]) == 4


def test_a_ring_drawn_inside_the_chosen_ring_cuts_a_hole_and_undo_fills_it(hand):
    hand.keys("6")
    for place in [(300, 300), (900, 300), (900, 900), (300, 900), (300, 300)]:
        hand.click(*place)
    for place in [(500, 500), (700, 500), (600, 700)]:
        hand.click(*place)
    hand.keys("Enter")
    (shape,) = [mark["shape"] for mark in hand.saved()]
    assert [len(hole) for hole in shape["holes"]] == [3]
    hand.keys("u")
    assert hand.saved()[0]["shape"]["holes"] == []
    hand.keys("r")
    assert len(hand.saved()[0]["shape"]["holes"]) == 1


def test_a_circle_is_drawn_from_centre_to_rim(hand):
    hand.keys("4")
    hand.drag((1000, 700), (1050, 700), (1100, 700))
    (shape,) = [mark["shape"] for mark in hand.saved()]
    assert near((shape["x"], shape["y"]), (1000, 700), 2)
    assert shape["radius"] == pytest.approx(100, abs=3)
    assert shape["rim"] == []


def test_three_points_on_the_rim_make_the_circle_through_them(hand):
    """Truth: the circle (x - 600)^2 + (y - 600)^2 = 125^2 holds (725, 600), (525, 700), (600, 475): 3-4-5 triangles."""
    hand.look(600, 600, 2.0)
    hand.keys("4", "x")
    for place in [(725, 600), (525, 700), (600, 475)]:
        hand.click(*place)
    (shape,) = [mark["shape"] for mark in hand.saved()]
    assert near((shape["x"], shape["y"]), (600, 600))
    assert shape["radius"] == pytest.approx(125, abs=0.5)
    assert len(shape["rim"]) == 3


def test_three_points_in_one_line_are_told_and_make_no_circle(hand):
    hand.keys("4", "x")
    for x in (400, 600, 800):
        hand.click(x, 600)
    assert "lie in one line" in hand.notice()
    assert hand.drawn() == []


def test_freehand_keeps_within_half_a_pixel_of_the_stroke_with_far_fewer_points(hand):
    hand.look(600, 600, 2.0)
    hand.keys("5", "x")
    path = [(400 + 2 * k, 600 + 60 * math.sin(k / 20)) for k in range(120)]
    hand.drag(*path)
    (shape,) = [mark["shape"] for mark in hand.saved()]
    points = shape["points"]
    assert len(points) < 60
    for place in path[5:-5]:
        away = min(segment_distance(place, a, b) for a, b in pairwise(points))
        assert away < 1.0


def segment_distance(p, a, b) -> float:
    dx, dy = b[0] - a[0], b[1] - a[1]
    t = max(0, min(1, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / (dx * dx + dy * dy)))
    return math.dist(p, (a[0] + t * dx, a[1] + t * dy))


def test_backspace_takes_back_the_last_point_and_escape_the_whole_draft(hand):
    hand.keys("5")
    for place in [(300, 300), (500, 300), (500, 800)]:
        hand.click(*place)
    hand.keys("Backspace")
    hand.click(800, 400)
    hand.keys("Enter")
    assert [p[0] > 700 for p in hand.saved()[0]["shape"]["points"]] == [False, False, True]
    hand.click(300, 1000)
    hand.click(500, 1000)
    hand.keys("Escape")
    assert len(hand.drawn()) == 1


def test_a_finding_keeps_its_number_through_undo_and_redo(hand):
    hand.keys("3")
    hand.click(400, 400)
    hand.saved()
    hand.click(500, 500)
    hand.saved()
    hand.keys("u", "u")
    assert hand.saved() == []
    hand.keys("r", "r")
    assert [mark["number"] for mark in hand.saved()] == [1, 2]


def test_every_shape_moves_by_dragging_it(hand):
    hand.keys("5")
    for place in [(300, 300), (700, 300)]:
        hand.click(*place)
    hand.keys("Enter", "2")
    before = hand.saved()[0]["shape"]["points"]
    hand.drag((400, 300), (450, 350), (500, 400))
    after = hand.saved()[0]["shape"]["points"]
    for a, b in zip(before, after, strict=True):
        assert near((a[0] + 100, a[1] + 100), b, 3)


def test_a_corner_is_dragged_added_and_removed(hand):
    hand.keys("5")
    for place in [(300, 300), (700, 300), (1100, 300)]:
        hand.click(*place)
    hand.keys("Enter", "2")
    hand.drag((700, 300), (700, 400), (700, 500))
    points = hand.saved()[0]["shape"]["points"]
    assert near(points[1], (700, 500), 3)
    hand.drag((500, 400), (500, 300), (500, 250))
    assert len(hand.saved()[0]["shape"]["points"]) == 4
    hand.keys("Delete")
    assert len(hand.saved()[0]["shape"]["points"]) == 3
    hand.keys("u", "u", "u")
    assert near(hand.saved()[0]["shape"]["points"][1], (700, 300), 3)


def test_a_line_is_split_at_a_corner_and_both_parts_stay_one_finding(hand):
    hand.keys("5")
    for place in [(300, 300), (700, 300), (1100, 350)]:
        hand.click(*place)
    hand.keys("Enter", "2", ".", ".", "s")
    parts = hand.saved()
    assert sorted(len(mark["shape"]["points"]) for mark in parts) == [2, 2]
    assert len({mark["finding_id"] for mark in parts}) == 1


def test_two_lines_are_joined_at_their_nearest_ends(hand):
    hand.keys("5")
    for place in [(300, 300), (600, 300)]:
        hand.click(*place)
    hand.keys("Enter")
    for place in [(1000, 350), (650, 310)]:
        hand.click(*place)
    hand.keys("Enter", "2")
    hand.click(450, 300)
    hand.keys("j")
    hand.click(800, 330)
    (mark,) = hand.saved()
    assert [round(p[0], -1) for p in mark["shape"]["points"]] in ([300, 600, 650, 1000], [1000, 650, 600, 300])
    hand.keys("u")
    assert len(hand.saved()) == 2


def test_a_shape_is_copied_to_another_finding(hand):
    hand.keys("3")
    hand.click(400, 400)
    hand.keys("5")
    for place in [(600, 600), (900, 600)]:
        hand.click(*place)
    hand.keys("Enter")
    hand.saved()
    hand.keys("2", "c")
    hand.page.locator(".sheet").get_by_role("button", name="1 Crack").click()
    marks = hand.saved()
    assert len(marks) == 3
    lines = [mark for mark in marks if mark["shape"]["shape"] == "line"]
    assert lines[0]["shape"] == lines[1]["shape"]
    assert {mark["number"] for mark in lines} == {1, 2}


def test_the_kind_chosen_inside_the_canvas_is_the_next_marks_kind(hand):
    hand.keys("k")
    hand.page.get_by_role("option", name="Open seam").click()
    hand.keys("3")
    hand.click(500, 500)
    assert hand.saved()[0]["kind"] == "open seam"


def test_next_marks_can_belong_to_the_chosen_finding(hand):
    hand.keys("3")
    hand.click(400, 400)
    hand.saved()
    hand.keys("b")
    hand.click(500, 500)
    hand.click(600, 600)
    assert {mark["number"] for mark in hand.saved()} == {1}


def test_python_is_told_once_after_a_burst_of_changes(hand):
    runs = hand.page.get_by_text("reruns: ")
    before = int(runs.inner_text().split()[-1])
    hand.keys("3")
    hand.page.evaluate(EIGHT_POINTS)
    hand.saved()
    hand.page.get_by_text(f"event: saved; reruns: {before + 1}").wait_for(timeout=8000)
    hand.page.wait_for_timeout(800)
    assert int(runs.inner_text().split()[-1]) == before + 1
    assert len(hand.drawn()) == 8


def test_the_marks_of_other_findings_are_dimmed_while_one_is_chosen_and_a_key_ends_that(hand):
    hand.keys("3")
    for place in [(300, 400), (600, 400)]:
        hand.click(*place)
    hand.keys("2")
    hand.click(300, 400)
    hand.settle()
    dimmed = hand.page.locator(".mark.faint")
    assert dimmed.count() == 1
    assert dimmed.get_attribute("data-id") != hand.page.evaluate("() => watchedBench.kept.chosen[0]")
    hand.keys("d")
    assert dimmed.count() == 0
    hand.keys("d")


def test_a_pen_draws_freehand_and_rests_without_a_mark(hand):
    """Pen events as the browser makes them: it hovers before it touches, and its stroke is a line."""
    hand.keys("5", "x")
    hand.page.evaluate(PEN_STROKE, [[400, 500], [700, 650], [900, 600]])
    (mark,) = hand.saved()
    points = mark["shape"]["points"]
    assert points[0] == pytest.approx([400, 500], abs=1)
    assert points[-1] == pytest.approx([900, 600], abs=1)
    hand.keys("x")


PEN_STROKE = """(places) => {
  const bench = watchedBench, {stage} = bench.panel, [left, top] = bench.corner();
  const send = (type, place, pressure) => {
    const [x, y] = bench.view.toScreen(place);
    stage.dispatchEvent(new PointerEvent(type, {pointerId: 1, pointerType: 'pen', button: pressure ? 0 : -1, pressure,
      clientX: x + left, clientY: y + top, bubbles: true}));
  };
  stage.setPointerCapture = () => {};
  send('pointermove', places[0], 0);
  send('pointerdown', places[0], 0.5);
  for (const place of places) send('pointermove', place, 0.5);
  send('pointerup', places.at(-1), 0);
  delete stage.setPointerCapture;
}"""
