"""Latency of the marking canvas in Chromium: first sight beside a bare <img>, click to saved, pointer to preview.

Run: ``nice -n 5 python tests/benchmarks/canvas_latency.py [--runs 50] [--sizes 12 50]``. The pages, the store and the
assists are the program's own; the photos are painted and taken in as a user's would be. Every figure is the median
and the 95th percentile. Software rendering and a shared machine make the figures upper limits.
"""

from __future__ import annotations

import argparse
import os
import statistics
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

import cv2  # noqa: E402
from playwright.sync_api import Page, sync_playwright  # noqa: E402

from tests.browser import CHROMIUM_FLAGS, Server, find_chromium  # noqa: E402
from tests.pages.canvas.bench_photo import crack_px, paint_wood  # noqa: E402

SIZES = {12: (4000, 3000), 50: (8160, 6120)}
FIRST_SIGHTS = 9

CANVAS_SIGHT = """(photo) => new Promise((done) => {
  const watch = () => {
    const bench = globalThis.watchedBench;
    if (bench?.photo.id === photo && bench.tiles.firstCovered) return done(bench.tiles.firstCovered - bench.mounted);
    requestAnimationFrame(watch);
  };
  watch();
})"""

IMAGE_SIGHT = """(url) => new Promise((done) => {
  const start = performance.now();
  const image = document.createElement('img');
  image.style.cssText = 'position:fixed;left:0;top:0;width:900px;z-index:9999';
  image.onload = async () => {
    await image.decode();
    requestAnimationFrame(() => requestAnimationFrame(() => {
      done(performance.now() - start);
      image.remove();
    }));
  };
  image.src = url;
  document.body.append(image);
})"""

SAVED = """(place) => new Promise((done) => {
  const bench = watchedBench, stage = bench.panel.stage, [left, top] = bench.corner();
  const [x, y] = bench.view.toScreen(place);
  const event = (type) => new PointerEvent(type, {pointerId: 1, button: 0, clientX: x + left, clientY: y + top,
    bubbles: true, pointerType: 'mouse'});
  const before = new Set(bench.marks.map.keys());
  const start = performance.now();
  stage.dispatchEvent(event('pointerdown'));
  stage.dispatchEvent(event('pointerup'));
  const watch = () => {
    const made = [...bench.marks.map.values()].find((mark) => !before.has(mark.id));
    if (made && made.number != null && !made.waiting) return done(performance.now() - start);
    setTimeout(watch, 0);
  };
  watch();
})"""

PREVIEW = """([from, to, fresh]) => new Promise((done) => {
  const bench = watchedBench, tool = bench.tool;
  const stage = bench.panel.stage, [left, top] = bench.corner();
  const send = (type, [x, y]) => stage.dispatchEvent(new PointerEvent(type, {pointerId: 1, button: 0, clientX: x + left,
    clientY: y + top, bubbles: true, pointerType: 'mouse'}));
  const [x, y] = bench.view.toScreen(to);
  if (fresh) {
    tool.cancel();
    send('pointerdown', bench.view.toScreen(from));
    send('pointerup', bench.view.toScreen(from));
  }
  const start = performance.now();
  send('pointermove', [x, y]);
  const target = bench.view.toPhoto([x, y]);
  const watch = () => {
    const shown = tool.preview;
    if (shown && Math.hypot(shown.to[0] - target[0], shown.to[1] - target[1]) < 1)
      return requestAnimationFrame(() => done(performance.now() - start));
    if (performance.now() - start > 8000) return done(null);
    setTimeout(watch, 0);
  };
  watch();
})"""

LOOK_BETWEEN = """([a, b]) => watchedBench.changeView((v) => {
  v.scale = 0.6;
  v.centreOn([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]);
})"""

FRAMES = """() => new Promise((done) => {
  const bench = watchedBench, times = [];
  let last = performance.now(), k = 0;
  bench.view.whole();
  const step = (now) => {
    times.push(now - last);
    last = now;
    bench.changeView((v) => v.zoomBy(k % 120 < 60 ? 1.06 : 1 / 1.06, [v.width * 0.4, v.height * 0.6]));
    if (++k < 240) requestAnimationFrame(step);
    else done(times.slice(2));
  };
  requestAnimationFrame(step);
})"""


MANY_MARKS = """() => {
  const bench = watchedBench, {width, height} = bench.photo, kinds = [...bench.signs.byKind.keys()];
  let seed = 7;
  const random = () => (seed = (seed * 16807) % 2147483647) / 2147483647;
  for (let n = 0; n < 300; n++) {
    const x = width * (0.05 + 0.9 * random()), y = height * (0.05 + 0.9 * random()), r = 20 + 120 * random();
    const points = Array.from({length: 60}, (_, k) => {
      const a = k * Math.PI / 30;
      return [x + r * (1 + 0.3 * Math.sin(5 * a)) * Math.cos(a), y + r * Math.sin(a)];
    });
    bench.marks.map.set('m' + n, {id: 'm' + n, number: n + 1, kind: kinds[n % 22], text: '12.3 ± 0.4 mm',
      shape: n % 2 ? {shape: 'ring', points, holes: []} : {shape: 'line', points: points.slice(0, 40)}});
  }
  bench.repaint();
}"""


def told(name: str, values: list[float]) -> None:
    values = sorted(values)
    p95 = values[min(len(values) - 1, round(0.95 * (len(values) - 1)))]
    print(f"  {name:44s} median {statistics.median(values):7.1f} ms   95 % {p95:7.1f} ms   n {len(values)}", flush=True)


def take_in(store: Path, folder: Path, megapixels: int) -> tuple[str, Path]:
    """Paint a photo, store it as the command line does, and return its id and the original file."""
    import json
    import subprocess

    width, height = SIZES[megapixels]
    picture = folder / f"{megapixels}.jpg"
    cv2.imwrite(str(picture), paint_wood(width, height), [cv2.IMWRITE_JPEG_QUALITY, 90])
    ran = subprocess.run(
        [sys.executable, "-m", "condition", "intake", "--store", str(store), "--job", "bench", "--json", str(picture)],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    return json.loads(ran.stdout.splitlines()[-1])["photo"], picture


def measure(page: Page, url: str, photo: str, megapixels: int, runs: int) -> None:
    width, height = SIZES[megapixels]
    print(f"{megapixels} MP ({width} x {height})", flush=True)
    canvas, image = [], []
    for k in range(FIRST_SIGHTS):
        page.goto(f"{url}/?photo={photo}&n={k}")
        canvas.append(page.evaluate(CANVAS_SIGHT, photo))
        image.append(page.evaluate(IMAGE_SIGHT, f"/original/{megapixels}.jpg?n={k}"))
    told("mounted to whole photo seen, canvas", canvas)
    told("the same file in a bare <img>", image)
    page.wait_for_timeout(500)
    told("frame while zooming", page.evaluate(FRAMES))
    page.evaluate(MANY_MARKS)
    page.wait_for_timeout(800)
    told("the same with 300 marks of 60 points", page.evaluate(FRAMES))
    page.evaluate("() => watchedBench.marks.refresh()")
    page.evaluate("() => { watchedBench.view.whole(); watchedBench.setMode('point') }")
    told(
        "click to saved and acknowledged",
        [page.evaluate(SAVED, [width * (0.1 + 0.015 * k), height * 0.8]) for k in range(runs)],
    )
    page.evaluate("() => watchedBench.setMode('follow')")
    page.wait_for_timeout(3000)  # the photo's pixels are fetched while the hand is still on its way
    crack = crack_px(width, height)
    first, previews, refused = [], [], 0
    for k in range(runs):
        start, end = crack[(k // 10) * 20], crack[(k // 10) * 20 + 25 + 5 * (k % 10)]
        page.evaluate(LOOK_BETWEEN, [start, end])
        ms = page.evaluate(PREVIEW, [list(start), list(end), k % 10 == 0])
        if ms is None:
            refused += 1
        else:
            (first if k % 10 == 0 else previews).append(ms)
    told("pointer to preview, moved at once with a click", first)
    told("pointer to preview, pointer moving on", previews)
    if refused:
        print(f"  previews that did not come: {refused}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--runs", type=int, default=50)
    parser.add_argument("--sizes", type=int, nargs="+", default=[12, 50], choices=SIZES)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        store = folder / "store"
        photos = {size: take_in(store, folder, size)[0] for size in asked.sizes}
        environment = {"CONDITION_STORE": str(store), "CANVAS_ORIGINALS": str(folder)}
        server = Server(Path(__file__).with_name("canvas_latency_app.py"), environment).start()
        try:
            with sync_playwright() as playwright:
                browser = playwright.chromium.launch(executable_path=find_chromium(), args=CHROMIUM_FLAGS)
                for size in asked.sizes:
                    page = browser.new_page(viewport={"width": 1366, "height": 850})
                    measure(page, server.url, photos[size], size, asked.runs)
                    page.close()
                browser.close()
        finally:
            server.kill()
    print(f"load average at the end: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")


if __name__ == "__main__":
    main()
