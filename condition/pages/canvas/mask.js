// An area as a raster that can be added to and taken from, and its outline traced back to sub-pixel rings.

const MASK_MOST_PX = 6e6;
const RING_LEAST_PX2 = 4;
const OUTLINE_TOLERANCE_PX = 0.3;

class Mask {
  constructor() { this.box = null; }

  // Make sure a box of the photo, in photo pixels, lies on the raster.
  reachTo([x0, y0, x1, y1], limit) {
    const old = this.box;
    const want = old ? [Math.min(x0, old[0]), Math.min(y0, old[1]), Math.max(x1, old[2]), Math.max(y1, old[3])] : [x0, y0, x1, y1];
    if (old && want.every((v, i) => v === old[i])) return;
    const room = Math.max(want[2] - want[0], want[3] - want[1]) * 0.15 + 16;
    const box = [Math.max(0, Math.floor(want[0] - room)), Math.max(0, Math.floor(want[1] - room)),
      Math.min(limit.width, Math.ceil(want[2] + room)), Math.min(limit.height, Math.ceil(want[3] + room))];
    const w = Math.max(box[2] - box[0], 1), h = Math.max(box[3] - box[1], 1);
    const scale = Math.min(1, Math.sqrt(MASK_MOST_PX / (w * h)));
    const canvas = document.createElement("canvas");
    canvas.width = Math.ceil(w * scale) + 2;
    canvas.height = Math.ceil(h * scale) + 2;
    const context = canvas.getContext("2d", { willReadFrequently: true });
    context.setTransform(scale, 0, 0, scale, 1 - box[0] * scale, 1 - box[1] * scale);
    if (old) context.drawImage(this.canvas, old[0] - 1 / this.scale, old[1] - 1 / this.scale,
      this.canvas.width / this.scale, this.canvas.height / this.scale);
    Object.assign(this, { box, scale, canvas, context });
  }

  area(ring, add, limit) {
    this.reachTo(shapeBounds({ shape: "ring", ...ring }), limit);
    this.context.globalCompositeOperation = add ? "source-over" : "destination-out";
    this.context.fill(new Path2D(shapePath({ shape: "ring", points: ring.points, holes: ring.holes ?? [] })), "evenodd");
  }

  stroke(points, radius, add, limit) {
    const xs = points.map((p) => p[0]), ys = points.map((p) => p[1]);
    this.reachTo([Math.min(...xs) - radius, Math.min(...ys) - radius, Math.max(...xs) + radius, Math.max(...ys) + radius], limit);
    const { context } = this;
    context.globalCompositeOperation = add ? "source-over" : "destination-out";
    context.lineCap = context.lineJoin = "round";
    context.lineWidth = radius * 2;
    context.stroke(new Path2D(loopPath(points, false)));
    context.beginPath();
    context.arc(points[0][0], points[0][1], radius, 0, 2 * Math.PI);
    context.fill();
  }

  // The area's rings, largest first, each with its holes.
  rings() {
    if (!this.box) return [];
    const { width, height } = this.canvas;
    const alpha = this.context.getImageData(0, 0, width, height).data;
    const value = (x, y) => (x <= 0 || y <= 0 || x >= width - 1 || y >= height - 1 ? 0 : alpha[(y * width + x) * 4 + 3]);
    const toPhoto = (x, y) => [(x - 0.5) / this.scale + this.box[0], (y - 0.5) / this.scale + this.box[1]];
    const loops = contourLoops(value, width, height, 127.5)
      .map((loop) => simplifiedLoop(loop.map(([x, y]) => toPhoto(x, y)), OUTLINE_TOLERANCE_PX / Math.min(1, this.scale)))
      .filter((loop) => loop.length >= 3 && Math.abs(signedArea(loop)) >= RING_LEAST_PX2)
      .sort((a, b) => Math.abs(signedArea(b)) - Math.abs(signedArea(a)));
    const nodes = [];
    for (const loop of loops) {
      const holders = nodes.filter((node) => insideLoop(loop[0], node.loop));
      const hole = holders.length % 2 === 1;
      const node = { loop, hole, holes: [] };
      if (hole) holders.at(-1).holes.push(loop);
      nodes.push(node);
    }
    return nodes.filter((node) => !node.hole).map(({ loop, holes }) => roundedRing({ points: loop, holes }));
  }
}

// Closed level lines of a raster, in raster pixels counted from pixel centres (marching squares, Lorensen and Cline 1987
// in two dimensions; the two-cornered saddles are joined through the middle's mean).
function contourLoops(value, width, height, level) {
  const next = new Map();
  const edge = (x, y, horizontal) => (y * width + x) * 2 + (horizontal ? 0 : 1);
  const places = new Map();
  const cross = (x0, y0, x1, y1, key) => {
    if (!places.has(key)) {
      const a = value(x0, y0), b = value(x1, y1);
      const t = (level - a) / (b - a);
      places.set(key, [x0 + (x1 - x0) * t + 0.5, y0 + (y1 - y0) * t + 0.5]);
    }
    return key;
  };
  for (let y = 0; y < height - 1; y++)
    for (let x = 0; x < width - 1; x++) {
      const a = value(x, y) > level, b = value(x + 1, y) > level, c = value(x + 1, y + 1) > level, d = value(x, y + 1) > level;
      const code = a | (b << 1) | (c << 2) | (d << 3);
      if (code === 0 || code === 15) continue;
      const top = () => cross(x, y, x + 1, y, edge(x, y, true));
      const right = () => cross(x + 1, y, x + 1, y + 1, edge(x + 1, y, false));
      const bottom = () => cross(x, y + 1, x + 1, y + 1, edge(x, y + 1, true));
      const left = () => cross(x, y, x, y + 1, edge(x, y, false));
      const filled = (value(x, y) + value(x + 1, y) + value(x + 1, y + 1) + value(x, y + 1)) / 4 > level;
      const pieces = {
        1: [[left, top]], 2: [[top, right]], 3: [[left, right]], 4: [[right, bottom]],
        5: filled ? [[left, bottom], [right, top]] : [[left, top], [right, bottom]],
        6: [[top, bottom]], 7: [[left, bottom]], 8: [[bottom, left]], 9: [[bottom, top]],
        10: filled ? [[top, left], [bottom, right]] : [[top, right], [bottom, left]],
        11: [[bottom, right]], 12: [[right, left]], 13: [[right, top]], 14: [[top, left]],
      }[code];
      for (const [from, to] of pieces) next.set(from(), to());
    }
  const loops = [];
  while (next.size) {
    const start = next.keys().next().value;
    const loop = [];
    let at = start;
    while (at !== undefined && next.has(at)) {
      loop.push(places.get(at));
      const to = next.get(at);
      next.delete(at);
      at = to;
    }
    loops.push(loop);
  }
  return loops;
}
