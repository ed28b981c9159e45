// Number and measurement beside each mark, where they cover neither the mark nor each other.

const TAG_H = 22;
const TAG_GAP = 9;
const FAR_GAP = 30;
const FARTHEST_GAP = 56;
const GOOD_ENOUGH = 3;
const SAMPLES = 90;
const QUARTERS = [[1, -1], [1, 1], [-1, -1], [-1, 1]];

const measuring = document.createElement("canvas").getContext("2d");
const widths = new Map();

function textWidth(text, font) {
  const key = font + text;
  if (!widths.has(key)) {
    measuring.font = font;
    widths.set(key, measuring.measureText(text).width);
  }
  return widths.get(key);
}

// The page's own typeface, told once the canvas stands on the page.
let tagFamily = "system-ui, sans-serif";
const numberFont = () => `700 12.5px ${tagFamily}`;
const textFont = () => `500 12.5px ${tagFamily}`;

const CELL_PX = 8;

// Which cells of the stage the marks' strokes run through.
class Ground {
  constructor() { this.cells = new Map(); }

  add(points) {
    for (const [x, y] of points) {
      const key = Math.floor(x / CELL_PX) * 100003 + Math.floor(y / CELL_PX);
      this.cells.set(key, (this.cells.get(key) ?? 0) + 1);
    }
  }

  under(x, y, w, h) {
    let cells = 0;
    for (let i = Math.floor((x - 3) / CELL_PX); i <= (x + w + 3) / CELL_PX; i++)
      for (let j = Math.floor((y - 3) / CELL_PX); j <= (y + h + 3) / CELL_PX; j++)
        if (this.cells.has(i * 100003 + j)) cells++;
    return cells;
  }
}

// Places on the mark, in photo pixels, that a tag may stand beside; and samples of its stroke to keep clear of.
function strokeSamples(shape) {
  if (shape.shape === "point") return [[shape.x, shape.y]];
  if (shape.shape === "circle")
    return Array.from({ length: 24 }, (_, i) => [
      shape.x + shape.radius * Math.cos((i * Math.PI) / 12), shape.y + shape.radius * Math.sin((i * Math.PI) / 12)]);
  const closed = shape.shape === "ring";
  const points = closed ? [...shape.points, shape.points[0]] : shape.points;
  const step = pathLength(points) / SAMPLES || 1;
  const samples = [points[0]];
  let carried = 0;
  for (let i = 1; i < points.length; i++) {
    const length = distance(points[i - 1], points[i]);
    for (let at = step - carried; at < length; at += step) samples.push(between(points[i - 1], points[i], at / length));
    carried = (carried + length) % step;
  }
  samples.push(points.at(-1));
  return samples;
}

function placeTag(shape, samples, seen, size, view, taken, before, ground) {
  const inView = seen.map((p, i) => [p, i]).filter(([[x, y]]) => x > 0 && y > 0 && x < view.width && y < view.height);
  if (!inView.length) return null;
  const extreme = (f) => inView.reduce((a, b) => (f(b[0]) > f(a[0]) ? b : a));
  const anchors = [extreme((p) => p[0] - p[1]), extreme((p) => p[0] + p[1]), extreme((p) => -p[1] - p[0]),
    extreme((p) => p[1] - p[0]), inView[0], inView.at(-1)];
  const area = shape.shape === "ring" || shape.shape === "circle";
  let best = null;
  const tryAt = ([anchor, index], k, [qx, qy], q, gap) => {
    const x = qx > 0 ? anchor[0] + gap : anchor[0] - gap - size[0];
    const y = qy > 0 ? anchor[1] + gap : anchor[1] - gap - size[1];
    let cost = k * 0.3 + q * 0.2 + (gap > TAG_GAP ? 3 : 0);
    if (before && before.index === index && before.q === q && before.gap === gap) cost -= 1.5;
    if (x < 2 || y < 2 || x + size[0] > view.width - 2 || y + size[1] > view.height - 2) cost += 25;
    cost += 1.5 * ground.under(x, y, size[0], size[1]);
    if (area && reach(shape, view.toPhoto([x + size[0] / 2, y + size[1] / 2])).within) cost += 6;
    for (const other of taken) {
      const w = Math.min(x + size[0], other[2]) - Math.max(x, other[0]);
      const h = Math.min(y + size[1], other[3]) - Math.max(y, other[1]);
      if (w > -2 && h > -2) cost += 8 + (Math.max(w, 0) * Math.max(h, 0)) / 40;
    }
    if (!best || cost < best.cost) best = { cost, index, q, gap, anchor: samples[index], x, y };
  };
  for (const gap of [TAG_GAP, FAR_GAP, FARTHEST_GAP]) {
    anchors.forEach((anchor, k) => QUARTERS.forEach((quarter, q) => tryAt(anchor, k, quarter, q, gap)));
    if (best.cost < GOOD_ENOUGH) break;
  }
  taken.push([best.x, best.y, best.x + size[0], best.y + size[1]]);
  return best;
}

// The tag's top-left corner for a place chosen before, at the present view.
function tagAt(place, size, view) {
  const [qx, qy] = QUARTERS[place.q];
  const [x, y] = view.toScreen(place.anchor);
  return [qx > 0 ? x + place.gap : x - place.gap - size[0], qy > 0 ? y + place.gap : y - place.gap - size[1]];
}

function buildTag(parent, mark, sign, text) {
  const group = svg("g", { class: "tag", "data-id": mark.id }, parent);
  const number = mark.number == null ? "" : String(mark.number);
  const numberWidth = Math.ceil(textWidth(number, numberFont()));
  const head = 7 + 14 + (number ? 4 + numberWidth : 0) + 7;
  const body = text ? Math.ceil(textWidth(text, textFont())) + 16 : 0;
  const leader = svg("path", { class: "leader", stroke: sign.colour }, group);
  svg("rect", { x: -1.5, y: -1.5, width: head + body + 3, height: TAG_H + 3, rx: 7, class: "tag-halo" }, group);
  if (body) {
    svg("rect", { width: head + body, height: TAG_H, rx: 5.5, class: "tag-body" }, group);
    const words = svg("text", { x: head + 8, y: 15.5, class: "tag-text" }, group);
    words.textContent = text;
  }
  svg("rect", { width: head, height: TAG_H, rx: 5.5, fill: sign.colour }, group);
  if (body) svg("rect", { x: head - 6, width: 6, height: TAG_H, fill: sign.colour }, group);
  symbolPaths(group, sign, "#fff", { transform: "translate(14 11) scale(.82)" });
  if (number) svg("text", { x: 25, y: 15.5, class: "tag-number" }, group).textContent = number;
  return { group, leader, head, size: [head + body, TAG_H] };
}
