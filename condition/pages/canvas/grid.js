// Millimetres over the photo: the grid on the measured plane, and a steel rule that is always true at the stage's middle.

const GRID_LEAST_PX = 14;
const GRID_MOST_LINES = 160;
const RULE_LEAST_PX = 90;

class Plane {
  // `toPx` maps millimetres of the plane to pixels of the photo.
  constructor(summary) {
    this.toPx = summary.homography;
    this.toMm = inverse3(summary.homography);
  }

  pxPerMmAt(p) {
    const [x, y] = mapped(this.toMm, p);
    const right = mapped(this.toPx, [x + 0.5, y]), left = mapped(this.toPx, [x - 0.5, y]);
    const down = mapped(this.toPx, [x, y + 0.5]), up = mapped(this.toPx, [x, y - 0.5]);
    return Math.sqrt(Math.abs((right[0] - left[0]) * (down[1] - up[1]) - (right[1] - left[1]) * (down[0] - up[0])));
  }

  lengthMm(points) { return pathLength(points.map((p) => mapped(this.toMm, p))); }
}

function gridPaths(plane, view) {
  const corners = [[0, 0], [view.width, 0], [view.width, view.height], [0, view.height]].map((c) =>
    mapped(plane.toMm, view.toPhoto(c)));
  const xs = corners.map((c) => c[0]), ys = corners.map((c) => c[1]);
  if (![...xs, ...ys].every(Number.isFinite)) return { fine: "", bold: "", step: 0 };
  const pxPerMm = plane.pxPerMmAt(view.toPhoto(view.middle)) * view.scale;
  const span = Math.max(Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys));
  const step = roundStep(Math.max(GRID_LEAST_PX / pxPerMm, span / GRID_MOST_LINES));
  let fine = "", bold = "";
  const lines = (low, high, from, to, at) => {
    for (let k = Math.ceil(low / step); k * step <= high; k++) {
      const a = view.toScreen(mapped(plane.toPx, at(k * step, from))), b = view.toScreen(mapped(plane.toPx, at(k * step, to)));
      const path = `M${a[0].toFixed(1)} ${a[1].toFixed(1)}L${b[0].toFixed(1)} ${b[1].toFixed(1)}`;
      if (k % 5 === 0) bold += path;
      else fine += path;
    }
  };
  const x0 = Math.min(...xs), x1 = Math.max(...xs), y0 = Math.min(...ys), y1 = Math.max(...ys);
  lines(x0, x1, y0, y1, (v, s) => [v, s]);
  lines(y0, y1, x0, x1, (v, s) => [s, v]);
  return { fine, bold, step };
}

// Draw the rule: its length is a round number of millimetres, its divisions are tenths or fifths of that.
function drawRule(host, plane, view, words) {
  const pxPerMm = plane.pxPerMmAt(view.toPhoto(view.middle)) * view.scale;
  const length = roundStep(RULE_LEAST_PX / pxPerMm), px = length * pxPerMm;
  if (host.dataset.drawn === `${length}|${px.toFixed(2)}`) return;
  host.dataset.drawn = `${length}|${px.toFixed(2)}`;
  host.dataset.mm = String(length);
  host.dataset.px = px.toFixed(3);
  const parts = String(length).replace(/[0.]/g, "") === "2" ? 4 : 10;
  host.replaceChildren();
  const rule = svg("svg", { width: px + 26, height: 34, "aria-hidden": "true" }, host);
  svg("rect", { x: 0.5, y: 0.5, width: px + 25, height: 33, rx: 3, class: "steel" }, rule);
  let ticks = "";
  for (let k = 0; k <= parts; k++) {
    const x = 13 + (px * k) / parts;
    ticks += `M${x.toFixed(2)} 1V${k % parts === 0 ? 14 : k * 2 === parts ? 11 : 7}`;
  }
  svg("path", { d: ticks, class: "tick" }, rule);
  const said = length >= 1 ? String(length) : length.toPrecision(1);
  svg("text", { x: 13 + px / 2, y: 28, "text-anchor": "middle" }, rule).textContent = words("mm", { n: said });
  host.setAttribute("aria-label", words("rule_says", { n: said }));
}
