"""Hundreds of marks: sketched where they belong while the photo moves, and drawn in full when it rests."""

from __future__ import annotations

import pytest

pytestmark = pytest.mark.browser

FILL = """() => {
  for (let n = 0; n < 120; n++) {
    const x = 100 + 150 * (n % 12), y = 100 + 120 * Math.floor(n / 12);
    watchedBench.marks.map.set('m' + n, {id: 'm' + n, number: n + 1, kind: 'crack', text: '1 mm',
      shape: {shape: 'line', points: [[x, y], [x + 60, y + 20]]}});
  }
  watchedBench.repaint();
}"""
LOOK = """
const bench = watchedBench, [left, top] = bench.corner(), {density} = bench;
const at = (p) => bench.view.toScreen(p).map((v) => Math.round(v * density));
const [a, b] = bench.overlay.drawn.get('m66').shape.points;
const [x, y] = at([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]);
const seen = bench.context.getImageData(x, y, 1, 1).data;
const path = bench.overlay.drawn.get('m66').paths[0];
const drawn = path.getPointAtLength(0).matrixTransform(path.getScreenCTM());
return {layer: bench.overlay.layer.style.opacity, seen: [...seen].slice(0, 3), colour: bench.signs.of('crack').colour,
  drawn: [drawn.x - left, drawn.y - top], truth: bench.view.toScreen(a)};
"""
MOVE_AND_LOOK = (
    "() => new Promise((done) => {"
    "  watchedBench.changeView((v) => { v.zoomBy(1.7, [300, 200]); v.panBy(40, -25) });"
    f"  requestAnimationFrame(() => done((() => {{ {LOOK} }})()));"
    "})"
)


def test_many_marks_stand_in_their_place_during_and_after_a_movement(hand):
    hand.page.evaluate(FILL)
    hand.settle()
    hand.look(1000, 700, 0.8)
    hand.page.wait_for_timeout(600)
    during = hand.page.evaluate(MOVE_AND_LOOK)
    assert during["layer"] == "0"
    colour = [int(during["colour"][i : i + 2], 16) for i in (1, 3, 5)]
    assert during["seen"] == pytest.approx(colour, abs=12)
    hand.page.wait_for_function("() => watchedBench.overlay.layer.style.opacity === ''", timeout=5000)
    after = hand.page.evaluate(f"() => {{ {LOOK} }}")
    assert after["drawn"] == pytest.approx(after["truth"], abs=0.05)
    assert after["seen"] != pytest.approx(colour, abs=12)
    hand.page.evaluate("() => watchedBench.marks.refresh()")
