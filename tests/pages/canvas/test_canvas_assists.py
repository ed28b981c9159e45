"""The assists' front ends: preview, acceptance and correction, and a calm answer when the server says no."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import dijkstra
from shapely.geometry import LineString, Point

from tests.pages.canvas.bench_photo import crack_px, loss_px
from tests.pages.canvas.conftest import HEIGHT, WIDTH

pytestmark = pytest.mark.browser
CRACK = crack_px(WIDTH, HEIGHT)
CRACK_LINE = LineString(CRACK)
HOLES_BOX = ((1180, 400), (1300, 500), (1400, 590))


def test_the_path_previews_under_the_moving_pointer_and_is_kept_by_a_click(hand):
    hand.keys("7")
    hand.click(*CRACK[10])
    hand.move(*CRACK[60])
    hand.move(*CRACK[80])
    hand.page.wait_for_function("() => watchedBench.tool.preview?.line.length > 50")
    preview = hand.page.evaluate("() => watchedBench.tool.preview.line")
    assert max(CRACK_LINE.distance(Point(p)) for p in preview) < 2
    hand.page.locator(".note-tag", has_text="wide").wait_for()
    hand.click(*CRACK[80])
    hand.click(*CRACK[200])
    hand.keys("Enter")
    hand.page.wait_for_function("() => watchedBench.marks.all().length > 0")
    (mark,) = hand.saved()
    assert mark["how"] == "traced"
    points = mark["shape"]["points"]
    assert all(min(math.dist(p, c) for c in CRACK) < 4 for p in points)
    length = sum(math.dist(a, b) for a, b in pairwise(points))
    truth = sum(math.dist(a, b) for a, b in pairwise(CRACK[10:201]))
    assert length == pytest.approx(truth, rel=0.03)


def test_a_piece_is_redone_by_dragging_its_end(hand):
    hand.keys("7")
    for i in (10, 60, 120):
        hand.click(*CRACK[i])
        hand.page.wait_for_timeout(400)
    hand.drag(CRACK[60], CRACK[70], CRACK[80])
    hand.page.wait_for_function("() => watchedBench.tool.draft.pieces.every(p => !p.straight)")
    pieces = hand.page.evaluate("() => watchedBench.tool.draft.pieces.map(p => p.line.length)")
    assert pieces == pytest.approx([71, 41], abs=3)
    hand.keys("Escape")
    assert hand.drawn() == []


def test_the_preview_needs_no_answer_once_the_ways_from_a_click_are_here(hand):
    """With every further question cut off, the path still follows the pointer and keeps to the crack."""
    hand.keys("7")
    hand.click(*CRACK[30])
    hand.page.wait_for_function("() => [...watchedBench.tool.ways.starts.values()].at(-1).fields.size > 1")
    hand.page.route("**/bench/assist/**", lambda route: route.abort())
    for i in (36, 44, 52, 47):
        hand.move(*CRACK[i])
        line = hand.page.evaluate("() => watchedBench.tool.preview.line")
        assert math.dist(line[-1], CRACK[i]) < 2
        assert max(CRACK_LINE.distance(Point(p)) for p in line) < 2
    hand.page.unroute("**/bench/assist/**")
    hand.keys("Escape")


def test_the_first_way_from_a_click_waits_for_no_answer(hand):
    """With no way ever answered, the photo's sketch alone leads along the crack, to within two of its own cells."""
    hand.page.route("**/bench/assist/ways", lambda route: route.abort())
    hand.page.route("**/bench/assist/trace", lambda route: route.abort())
    hand.keys("7")
    hand.page.wait_for_function("() => watchedBench.tool.ways.sketch")
    scale = hand.page.evaluate("() => watchedBench.tool.ways.sketch.scale")
    hand.click(*CRACK[30])
    for i in (44, 100, 170):
        hand.move(*CRACK[i])
        line = hand.page.evaluate("() => watchedBench.tool.preview.line")
        assert math.dist(line[-1], CRACK[i]) < 2
        assert max(CRACK_LINE.distance(Point(p)) for p in line) < 2 * scale
    for route in ("ways", "trace"):
        hand.page.unroute(f"**/bench/assist/{route}")
    hand.keys("Escape")


def test_ways_worked_out_in_the_page_cost_what_scipy_finds(hand):
    """scipy.sparse.csgraph.dijkstra on the same graph: straight steps 5, diagonal 7 times the sum of two cells."""
    hand.keys("7")
    hand.page.wait_for_function("() => watchedBench.tool.ways.sketch")
    hand.click(*CRACK[30])
    hand.move(*CRACK[44])
    costs = np.random.default_rng(3).integers(20, 221, (23, 31))
    ours = hand.page.evaluate(
        """costs => {
          const { ways } = watchedBench.tool, start = [...ways.starts.values()].at(-1);
          const Tree = ways.roughFor(start).trees[0].constructor;
          const tree = new Tree(Uint8Array.from(costs), 31, 2, 1, 27, 21, 5, 9);
          return Array.from({ length: 21 }, (_, r) => Array.from({ length: 27 }, (_, c) => tree.to(r, c)));
        }""",
        costs.ravel().tolist(),
    )
    hand.keys("Escape")
    part = costs[1:22, 2:29]
    number = np.arange(part.size).reshape(part.shape)
    edges = []
    for down, across in ((0, 1), (1, 0), (1, 1), (1, -1)):
        at = (slice(0, 21 - down), slice(max(0, -across), 27 - max(0, across)))
        to = (slice(down, 21), slice(max(0, across), 27 + min(0, across)))
        length = (7 if down and across else 5) * (part[at] + part[to])
        edges.append((number[at].ravel(), number[to].ravel(), length.ravel()))
    rows, columns, lengths = (np.concatenate(each) for each in zip(*edges, strict=True))
    theirs = dijkstra(coo_matrix((lengths, (rows, columns)), (part.size,) * 2), False, indices=number[9, 5])
    assert np.array_equal(np.array(ours).ravel(), theirs)


def test_the_tone_is_switched_by_key_in_the_middle_of_a_crack_and_its_pieces_are_followed_anew(hand):
    hand.keys("7")
    hand.click(*CRACK[10])
    hand.click(*CRACK[40])
    hand.page.wait_for_function("() => watchedBench.tool.draft.pieces.every(p => !p.straight)")
    hand.keys("x", "x")
    assert hand.page.locator(".doing").get_by_text("Light cracks").is_visible()
    assert "nothing stands out" in hand.notice()
    assert hand.page.evaluate("() => watchedBench.tool.draft.pieces[0].line.length") == 2
    hand.keys("x")
    hand.page.wait_for_function("() => watchedBench.tool.draft.pieces[0].line.length > 20")
    hand.keys("Escape")


def test_a_refused_piece_stays_straight_and_the_reason_is_told(hand):
    hand.keys("7")
    hand.click(*CRACK[10])
    hand.click(600, 1400)
    assert "Click inside the photo" in hand.notice()
    hand.keys("Backspace", "Escape")
    assert hand.drawn() == []


def test_holes_are_accepted_and_refused_by_key_and_become_numbered_findings(hand):
    hand.keys("8")
    hand.drag(*HOLES_BOX)
    hand.page.wait_for_function("() => watchedBench.tool.draft?.found")
    assert hand.hint().startswith("4 sure, 1 doubtful, 0 accepted")
    hand.keys("a", "f", "Shift+A")
    marks = hand.saved()
    assert [mark["number"] for mark in marks] == [1, 2, 3]
    assert {mark["shape"]["radius"] for mark in marks} == {14, 9}
    assert hand.hint().startswith("0 sure, 1 doubtful, 3 accepted")
    hand.keys("u")
    assert len(hand.saved()) == 1


def test_a_box_with_no_hole_says_so(hand):
    hand.keys("8")
    hand.drag((100, 1200), (200, 1300), (300, 1400))
    assert "No round hole" in hand.notice()


def test_a_loss_grows_from_a_click_and_farther_with_the_slider(hand):
    hand.keys("9")
    hand.click(700, 375)
    hand.page.wait_for_function("() => watchedBench.tool.draft?.rings")
    small = ring_area(hand.page.evaluate("() => watchedBench.tool.draft.rings[0].points"))
    hand.page.locator(".slide input").first.fill("1")
    hand.page.wait_for_function(
        "a => !watchedBench.tool.draft.asking && watchedBench.tool.draft.rings[0].points[0][0] > a",
        arg=loss_px(WIDTH, HEIGHT, 1.2)[0][0],
    )
    hand.page.locator(".stage").focus()
    hand.keys("Enter")
    (mark,) = hand.saved()
    assert (mark["kind"], mark["how"]) == ("finish loss", "grown")
    assert ring_area(mark["shape"]["points"]) == pytest.approx(small * 1.25**2, rel=0.01)


def ring_area(points) -> float:
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True))) / 2


def test_the_brush_adds_exactly_what_it_paints(hand):
    """Truth: a straight stroke of a round brush paints a rectangle and two half discs: 2 r L + pi r^2."""
    hand.look(1500, 1100, 1)
    hand.keys("9", "x", "x")
    hand.page.evaluate("() => { watchedBench.kept.brush = 20 }")
    hand.drag((1400, 1100), (1450, 1100), (1500, 1100), (1600, 1100))
    hand.keys("Enter")
    (mark,) = hand.saved()
    assert ring_area(mark["shape"]["points"]) == pytest.approx(2 * 20 * 200 + math.pi * 20**2, rel=0.01)


def test_the_brush_takes_a_hole_out_of_the_chosen_ring(hand):
    """Truth: a dab of a round brush takes a disc of pi r^2."""
    hand.look(700, 700, 1)
    hand.keys("6")
    for place in [(500, 500), (900, 500), (900, 900), (500, 900), (500, 500)]:
        hand.click(*place)
    hand.keys("9", "x", "x", "q")
    hand.page.evaluate("() => { watchedBench.kept.brush = 40 }")
    hand.click(700, 700)
    hand.keys("Enter")
    (mark,) = hand.saved()
    (hole,) = mark["shape"]["holes"]
    assert ring_area(hole) == pytest.approx(math.pi * 40**2, rel=0.01)
    assert ring_area(mark["shape"]["points"]) == pytest.approx(400 * 400, rel=0.002)
    hand.keys("u")
    assert hand.saved()[0]["shape"]["holes"] == []


def test_further_clicks_and_the_brush_keep_the_vagueness_of_the_grown_edge(hand):
    """The grown edge is said to be vague by 0.8 px; a brush of a hand's quarter pixel cannot make it surer."""
    sent = []

    def hear(request):
        if request.url.endswith("/bench/marks"):
            sent.append(request.post_data_json)

    hand.page.on("request", hear)
    hand.look(700, 375, 1)
    hand.keys("9")
    for place in [(700, 375), (720, 385)]:
        hand.click(*place)
        hand.page.wait_for_function("() => watchedBench.tool.draft?.rings && !watchedBench.tool.draft.asking")
    hand.keys("x", "x")
    hand.drag((700, 375), (705, 380), (712, 384))
    hand.keys("Enter")
    hand.saved()
    hand.page.remove_listener("request", hear)
    assert [operation["mark"]["pick_sd_px"] for operation in sent] == [0.8]


def test_a_reload_while_a_finished_crack_waits_for_its_last_path_loses_nothing(hand):
    hand.page.route("**/bench/assist/trace", lambda route: None)
    hand.keys("7")
    hand.click(*CRACK[10])
    hand.click(*CRACK[40])
    hand.keys("Enter")
    assert hand.drawn() == []
    hand.page.unroute("**/bench/assist/trace")
    hand.open()
    hand.page.wait_for_function("() => watchedBench.marks.all().length > 0")
    (mark,) = hand.saved()
    assert mark["how"] == "traced"
    assert len(mark["shape"]["points"]) > 10


@pytest.mark.parametrize(
    ("advice", "seen"),
    [("About 30 % of this outline has no edge under it: check it.", "About 30 %"), ("", "Drag its corners")],
)
def test_an_outline_is_put_down_with_what_there_is_to_check_about_it(hand, advice, seen):
    ring = [[200, 200], [1500, 220], [1480, 1200], [220, 1180]]
    answer = {"ring": ring, "edge_share": 0.7, "advice": advice}
    hand.page.route("**/bench/assist/outline", lambda route: route.fulfill(json=answer))
    hand.page.evaluate("() => { watchedBench.setKind('outline') }")
    hand.keys("o")
    hand.page.locator(".notice", has_text=seen).wait_for(timeout=5000)
    assert [shape["points"] for shape in hand.shapes()] == [ring]
    hand.page.unroute("**/bench/assist/outline")
