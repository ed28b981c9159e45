"""Hundreds of marks: their layer is carried along with the photo, and stands where it belongs at rest."""

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
WHERE = """
const bench = watchedBench, path = bench.overlay.drawn.get('m30').paths[0], [left, top] = bench.corner();
const at = path.getPointAtLength(0).matrixTransform(path.getScreenCTM());
return {transform: bench.overlay.layer.style.transform, seen: [at.x - left, at.y - top],
  truth: bench.view.toScreen([100 + 150 * 6, 100 + 120 * 2])};
"""
MOVE_AND_LOOK = (
    "() => new Promise((done) => {"
    "  watchedBench.changeView((v) => { v.zoomBy(1.7, [300, 200]); v.panBy(40, -25) });"
    f"  requestAnimationFrame(() => done((() => {{ {WHERE} }})()));"
    "})"
)


def test_a_carried_layer_shows_each_mark_in_its_place_during_and_after_the_movement(hand):
    hand.page.evaluate(FILL)
    hand.settle()
    hand.look(1000, 700, 0.8)
    hand.page.wait_for_timeout(600)
    during = hand.page.evaluate(MOVE_AND_LOOK)
    assert "scale(1.7" in during["transform"]
    assert during["seen"] == pytest.approx(during["truth"], abs=0.05)
    hand.page.wait_for_function("() => watchedBench.overlay.layer.style.transform === ''", timeout=5000)
    after = hand.page.evaluate(f"() => {{ {WHERE} }}")
    assert after["seen"] == pytest.approx(after["truth"], abs=0.05)
    hand.page.evaluate("() => watchedBench.marks.refresh()")
