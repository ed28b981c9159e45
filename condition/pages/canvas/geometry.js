// Plane geometry on [x, y] pairs; no unit of its own.

const distance = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
const between = (a, b, t) => [a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t];
const clamp = (v, low, high) => Math.min(high, Math.max(low, v));
const rounded = (v) => Math.round(v * 1000) / 1000;
const roundedPair = (p) => [rounded(p[0]), rounded(p[1])];
const roundedRing = ({ points, holes }) => ({ shape: "ring", points: points.map(roundedPair), holes: holes.map((hole) => hole.map(roundedPair)) });

function nearestOnSegment(p, a, b) {
  const dx = b[0] - a[0], dy = b[1] - a[1];
  const length2 = dx * dx + dy * dy;
  const t = length2 ? clamp(((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / length2, 0, 1) : 0;
  const at = [a[0] + dx * t, a[1] + dy * t];
  return { at, t, away: distance(p, at) };
}

// The nearest place on a path: its segment's index, the place, and how far away it is.
function nearestOnPath(p, points, closed) {
  let best = { away: Infinity, i: 0, at: points[0], t: 0 };
  const last = closed ? points.length : points.length - 1;
  for (let i = 0; i < last; i++) {
    const found = nearestOnSegment(p, points[i], points[(i + 1) % points.length]);
    if (found.away < best.away) best = { ...found, i };
  }
  return best;
}

function insideLoop(p, loop) {
  let inside = false;
  for (let i = 0, j = loop.length - 1; i < loop.length; j = i++) {
    const [xi, yi] = loop[i], [xj, yj] = loop[j];
    if (yi > p[1] !== yj > p[1] && p[0] < ((xj - xi) * (p[1] - yi)) / (yj - yi) + xi) inside = !inside;
  }
  return inside;
}

function signedArea(loop) {
  let sum = 0;
  for (let i = 0, j = loop.length - 1; i < loop.length; j = i++)
    sum += loop[j][0] * loop[i][1] - loop[i][0] * loop[j][1];
  return sum / 2;
}

// The circle through three points, or null where they lie in one line.
function circleThrough(a, b, c) {
  const bx = b[0] - a[0], by = b[1] - a[1], cx = c[0] - a[0], cy = c[1] - a[1];
  const twice = 2 * (bx * cy - by * cx);
  const longest = Math.max(bx * bx + by * by, cx * cx + cy * cy);
  if (Math.abs(twice) < 1e-9 * longest || longest === 0) return null;
  const b2 = bx * bx + by * by, c2 = cx * cx + cy * cy;
  const x = (cy * b2 - by * c2) / twice, y = (bx * c2 - cx * b2) / twice;
  return { x: a[0] + x, y: a[1] + y, radius: Math.hypot(x, y) };
}

// Fewer points that stay within `tolerance` of the path (Douglas and Peucker 1973).
function simplified(points, tolerance) {
  if (points.length < 3) return points.slice();
  const keep = new Uint8Array(points.length);
  keep[0] = keep[points.length - 1] = 1;
  const spans = [[0, points.length - 1]];
  while (spans.length) {
    const [from, to] = spans.pop();
    let worst = 0, at = -1;
    for (let i = from + 1; i < to; i++) {
      const away = nearestOnSegment(points[i], points[from], points[to]).away;
      if (away > worst) { worst = away; at = i; }
    }
    if (worst > tolerance) { keep[at] = 1; spans.push([from, at], [at, to]); }
  }
  return points.filter((_, i) => keep[i]);
}

// A closed path simplified from its two farthest points, so that its start is not a fixed corner by chance.
function simplifiedLoop(points, tolerance) {
  if (points.length < 5) return points.slice();
  let far = 0;
  for (let i = 1; i < points.length; i++)
    if (distance(points[0], points[i]) > distance(points[0], points[far])) far = i;
  const there = simplified(points.slice(0, far + 1), tolerance);
  const back = simplified([...points.slice(far), points[0]], tolerance);
  return [...there.slice(0, -1), ...back.slice(0, -1)];
}

function pathLength(points) {
  let sum = 0;
  for (let i = 1; i < points.length; i++) sum += distance(points[i - 1], points[i]);
  return sum;
}

// 3 x 3 matrices, given as three rows, on pairs.
function mapped(H, [x, y]) {
  const w = H[2][0] * x + H[2][1] * y + H[2][2];
  return [(H[0][0] * x + H[0][1] * y + H[0][2]) / w, (H[1][0] * x + H[1][1] * y + H[1][2]) / w];
}

function inverse3([[a, b, c], [d, e, f], [g, h, i]]) {
  const A = e * i - f * h, B = f * g - d * i, C = d * h - e * g;
  const det = a * A + b * B + c * C;
  if (!det) return null;
  return [
    [A / det, (c * h - b * i) / det, (b * f - c * e) / det],
    [B / det, (a * i - c * g) / det, (c * d - a * f) / det],
    [C / det, (b * g - a * h) / det, (a * e - b * d) / det],
  ];
}

// 1, 2 or 5 times a power of ten: the first that is not below `least`.
function roundStep(least) {
  const power = 10 ** Math.floor(Math.log10(least));
  return [1, 2, 5, 10].map((m) => m * power).find((step) => step >= least * (1 - 1e-9));
}
