// The first rough way from a click, worked out here from the photo's sketch: what following a crack costs at reduced size.

const SKETCH_HEAD = 3;
const STRAIGHT = 5, DIAGONAL = 7;
const USUAL_DIRECTIONS = 48;

class CrackSketch {
  constructor(buffer) {
    const [columns, rows, scale] = new Int32Array(buffer, 0, SKETCH_HEAD);
    const size = columns * rows, at = SKETCH_HEAD * 4;
    Object.assign(this, { columns, rows, scale, dark: new Uint8Array(buffer, at, size), light: new Uint8Array(buffer, at + size, size) });
  }
}

// The cheapest 8-neighbour ways from one cell of a window to all others (Dijkstra 1959 with the buckets of Dial 1969, none
// wider than the cheapest step, so that a bucket's cells are final in any order).
class WayTree {
  constructor(costs, stride, left, top, columns, rows, column, row) {
    const wide = columns + 2, size = wide * (rows + 2);
    Object.assign(this, { columns, rows, column, row, wide });
    const cost = new Uint8Array(size), closed = new Uint8Array(size).fill(1);
    let least = 255, most = 1;
    for (let y = 0; y < rows; y++) {
      const from = (top + y) * stride + left, to = (y + 1) * wide + 1;
      for (let x = 0; x < columns; x++) {
        const value = costs[from + x];
        cost[to + x] = value;
        if (value < least) least = value;
        if (value > most) most = value;
      }
      closed.fill(0, to, to + columns);
    }
    const total = (this.total = new Int32Array(size).fill(0x7fffffff));
    this.steps = new Uint8Array(columns * rows);
    const came = new Uint8Array(size);
    const bucket = 2 * least * STRAIGHT, buckets = Array.from({ length: Math.floor((2 * most * DIAGONAL) / bucket) + 2 }, () => []);
    const hops = [-wide - 1, -wide, 1 - wide, -1, 1, wide - 1, wide, wide + 1];
    const lengths = [DIAGONAL, STRAIGHT, DIAGONAL, STRAIGHT, STRAIGHT, DIAGONAL, STRAIGHT, DIAGONAL];
    const source = (row + 1) * wide + column + 1;
    total[source] = 0;
    buckets[0].push(source);
    for (let slot = 0, waiting = 1; waiting > 0; slot = (slot + 1) % buckets.length)
      for (const filled = buckets[slot]; filled.length;) {
        const here = filled.pop();
        waiting--;
        if (closed[here]) continue;
        closed[here] = 1;
        for (let way = 0; way < 8; way++) {
          const there = here + hops[way];
          if (closed[there]) continue;
          const sum = total[here] + lengths[way] * (cost[here] + cost[there]);
          if (sum >= total[there]) continue;
          total[there] = sum;
          came[there] = way;
          buckets[Math.floor(sum / bucket) % buckets.length].push(there);
          waiting++;
        }
      }
    for (let y = 0; y < rows; y++) this.steps.set(came.subarray((y + 1) * wide + 1, (y + 1) * wide + 1 + columns), y * columns);
  }

  to(row, column) { return this.total[(row + 1) * this.wide + column + 1]; }

  // The cost of the way to a cell over the usual cost of going as far in any direction.
  plainness(row, column) {
    const far = Math.hypot(row - this.row, column - this.column), found = [];
    for (let k = 0; k < USUAL_DIRECTIONS; k++) {
      const angle = (k * 2 * Math.PI) / USUAL_DIRECTIONS;
      const r = Math.trunc(this.row + far * Math.sin(angle)), c = Math.trunc(this.column + far * Math.cos(angle));
      if (r >= 0 && c >= 0 && r < this.rows && c < this.columns) found.push(this.to(r, c));
    }
    found.sort((a, b) => a - b);
    const n = found.length;
    return n ? this.to(row, column) / Math.max(1, (found[(n - 1) >> 1] + found[n >> 1]) / 2) : 1;
  }
}

class SketchedWays extends WayField {
  constructor(sketch, start, tone, reach) {
    super();
    const { scale } = sketch, half = Math.ceil(reach / scale);
    const column = clamp(Math.floor(start[0] / scale), 0, sketch.columns - 1), row = clamp(Math.floor(start[1] / scale), 0, sketch.rows - 1);
    const left = Math.max(0, column - half), top = Math.max(0, row - half);
    const columns = Math.min(sketch.columns, column + half + 1) - left, rows = Math.min(sketch.rows, row + half + 1) - top;
    Object.assign(this, { start, left: left * scale, top: top * scale, columns, rows, scale, column: column - left, row: row - top, reach });
    this.trees = (tone ? [tone] : ["dark", "light"])
      .map((one) => new WayTree(sketch[one], sketch.columns, left, top, columns, rows, this.column, this.row));
  }

  best(row, column) {
    const found = this.trees.map((tree) => ({ tree, share: tree.plainness(row, column) })).sort((a, b) => a.share - b.share)[0];
    return { plain: found.share < 1, steps: found.tree.steps, shift: 0 };
  }
}
