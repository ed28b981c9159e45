// Shapes as records/shapes.py writes them: point, circle, line, ring, in pixels of the upright photo.

const loopsOf = (shape) =>
  shape.shape === "ring" ? [shape.points, ...shape.holes] : shape.shape === "line" ? [shape.points] : [];

function shapeBounds(shape) {
  if (shape.shape === "point") return [shape.x, shape.y, shape.x, shape.y];
  if (shape.shape === "circle")
    return [shape.x - shape.radius, shape.y - shape.radius, shape.x + shape.radius, shape.y + shape.radius];
  let [x0, y0, x1, y1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of shape.points) {
    if (x < x0) x0 = x;
    if (x > x1) x1 = x;
    if (y < y0) y0 = y;
    if (y > y1) y1 = y;
  }
  return [x0, y0, x1, y1];
}

const loopPath = (points, closed) =>
  points.length ? "M" + points.map((p) => `${rounded(p[0])} ${rounded(p[1])}`).join("L") + (closed ? "Z" : "") : "";

function shapePath(shape) {
  if (shape.shape === "point") return `M${shape.x} ${shape.y}h0`;
  if (shape.shape === "circle") {
    const { x, y, radius: r } = shape;
    return `M${x - r} ${y}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0Z`;
  }
  return loopsOf(shape).map((loop) => loopPath(loop, shape.shape === "ring")).join("");
}

function movedShape(shape, dx, dy) {
  const by = (p) => roundedPair([p[0] + dx, p[1] + dy]);
  switch (shape.shape) {
    case "point": return { ...shape, x: rounded(shape.x + dx), y: rounded(shape.y + dy) };
    case "circle":
      return { ...shape, x: rounded(shape.x + dx), y: rounded(shape.y + dy), rim: shape.rim.map(by) };
    case "line": return { ...shape, points: shape.points.map(by) };
    default: return { ...shape, points: shape.points.map(by), holes: shape.holes.map((h) => h.map(by)) };
  }
}

// Where a shape can be taken hold of. `loop` 0 is the outer one, 1.. the holes; `middle` ones add a corner.
function gripsOf(shape) {
  if (shape.shape === "point") return [{ role: "corner", loop: 0, i: 0, at: [shape.x, shape.y] }];
  if (shape.shape === "circle") {
    const { x, y, radius: r } = shape;
    const centre = { role: "centre", loop: 0, i: 0, at: [x, y] };
    if (shape.rim.length === 3) return [centre, ...shape.rim.map((at, i) => ({ role: "rim", loop: 0, i, at }))];
    return [centre, ...[[r, 0], [0, r], [-r, 0], [0, -r]].map(([dx, dy], i) => ({
      role: "radius", loop: 0, i, at: [x + dx, y + dy],
    }))];
  }
  const closed = shape.shape === "ring";
  const grips = [];
  loopsOf(shape).forEach((points, loop) => {
    points.forEach((at, i) => grips.push({ role: "corner", loop, i, at }));
    const last = closed ? points.length : points.length - 1;
    for (let i = 0; i < last; i++)
      grips.push({ role: "middle", loop, i: i + 1, at: between(points[i], points[(i + 1) % points.length], 0.5) });
  });
  return grips;
}

function withLoop(shape, loop, points) {
  if (loop === 0) return { ...shape, points };
  return { ...shape, holes: shape.holes.map((h, k) => (k === loop - 1 ? points : h)) };
}

// The shape after a grip was taken to `at`; a middle grip becomes a corner there.
function withGripAt(shape, grip, at) {
  const to = roundedPair(at);
  if (shape.shape === "point") return { ...shape, x: to[0], y: to[1] };
  if (shape.shape === "circle") {
    if (grip.role === "centre") return movedShape(shape, to[0] - shape.x, to[1] - shape.y);
    if (grip.role === "radius")
      return { ...shape, radius: Math.max(0.25, rounded(distance(to, [shape.x, shape.y]))), rim: [] };
    const rim = shape.rim.map((p, i) => (i === grip.i ? to : p));
    const circle = circleThrough(...rim);
    if (!circle) return shape;
    return { shape: "circle", x: rounded(circle.x), y: rounded(circle.y), radius: rounded(circle.radius), rim };
  }
  const points = loopsOf(shape)[grip.loop].slice();
  points.splice(grip.i, grip.role === "middle" ? 0 : 1, to);
  return withLoop(shape, grip.loop, points);
}

// The shape without one corner; a hole that falls below three corners goes, an outer path that would is kept.
function withoutCorner(shape, grip) {
  if (grip.role !== "corner" || !["line", "ring"].includes(shape.shape)) return null;
  const points = loopsOf(shape)[grip.loop].filter((_, i) => i !== grip.i);
  if (shape.shape === "line") return points.length < 2 ? null : withLoop(shape, 0, points);
  if (points.length >= 3) return withLoop(shape, grip.loop, points);
  return grip.loop === 0 ? null : { ...shape, holes: shape.holes.filter((_, k) => k !== grip.loop - 1) };
}

function splitLine(shape, i) {
  if (shape.shape !== "line" || i < 1 || i > shape.points.length - 2) return null;
  return [{ ...shape, points: shape.points.slice(0, i + 1) }, { ...shape, points: shape.points.slice(i) }];
}

// Two lines as one, joined at the two ends that lie nearest to each other.
function joinedLines(a, b) {
  const ways = [[a.points, b.points], [a.points, b.points.slice().reverse()],
    [a.points.slice().reverse(), b.points], [a.points.slice().reverse(), b.points.slice().reverse()]];
  ways.sort((p, q) => distance(p[0].at(-1), p[1][0]) - distance(q[0].at(-1), q[1][0]));
  const [first, second] = ways[0];
  const meet = distance(first.at(-1), second[0]) < 0.01;
  return { shape: "line", points: [...first, ...(meet ? second.slice(1) : second)] };
}

// How far a place lies from the drawn stroke, and whether it lies within the area.
function reach(shape, p) {
  if (shape.shape === "point") return { away: distance(p, [shape.x, shape.y]), within: false };
  if (shape.shape === "circle") {
    const d = distance(p, [shape.x, shape.y]);
    return { away: Math.abs(d - shape.radius), within: d < shape.radius };
  }
  const closed = shape.shape === "ring";
  const away = Math.min(...loopsOf(shape).map((loop) => nearestOnPath(p, loop, closed).away));
  const within = closed && insideLoop(p, shape.points) && !shape.holes.some((h) => insideLoop(p, h));
  return { away, within };
}

const shapeArea = (shape) =>
  shape.shape === "circle" ? Math.PI * shape.radius ** 2 : shape.shape === "ring" ? Math.abs(signedArea(shape.points)) : 0;

const sameShape = (a, b) => JSON.stringify(a) === JSON.stringify(b);
