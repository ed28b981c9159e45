// The ways along a crack from one click, as the server sends them once: each place's path is then a walk back through
// them, so that a preview waits for no answer.

const WAYS_HEAD = 8;
const LIGHT_IS_PLAINER = 64, NOTHING_PLAIN = 128;
const WAY_ROOM_SHARE = 1.2, WAY_ROOM_PX = 12;
const WAY_SMOOTHING = 2.5;
const LAST_TURN = 8;
const STARTS_KEPT = 6;
const ROUGH = 100;

class WayField {
  constructor(buffer = null, start = null) {
    if (!buffer) return;
    const [left, top, columns, rows, scale, column, row, reach] = new Int32Array(buffer, 0, WAYS_HEAD);
    Object.assign(this, { start, left, top, columns, rows, scale, column, row, reach });
    this.steps = new Uint8Array(buffer, WAYS_HEAD * 4);
  }

  // With room for the path to swing out, except where the photo itself ends; `room` 0 asks for the bare place.
  holds([x, y], photo, room = 1) {
    const far = (from, to, low, high) => {
      const need = Math.abs(to - from) * (1 + (WAY_ROOM_SHARE - 1) * room) + WAY_ROOM_PX * room;
      const edge = to < from ? low : high;
      return need <= this.reach || (edge && Math.abs(to - from) <= this.reach);
    };
    return far(this.start[0], x, this.left === 0, this.left + this.columns * this.scale >= photo.width - this.scale)
      && far(this.start[1], y, this.top === 0, this.top + this.rows * this.scale >= photo.height - this.scale);
  }

  // The path from the start to a place, and whether it is plainer than the usual way as far.
  to(place) {
    const column = clamp(Math.floor((place[0] - this.left) / this.scale), 0, this.columns - 1);
    const row = clamp(Math.floor((place[1] - this.top) / this.scale), 0, this.rows - 1);
    const { plain, steps, shift } = this.best(row, column);
    const line = this.walk(row, column, steps, shift, place);
    return line && { line, plain };
  }

  best(row, column) {
    const here = this.steps[row * this.columns + column];
    return { plain: !(here & NOTHING_PLAIN), steps: this.steps, shift: here & LIGHT_IS_PLAINER ? 3 : 0 };
  }

  walk(row, column, steps, shift, place) {
    const points = [];
    for (let left = steps.length; left > 0; left--) {
      points.push([this.left + (column + 0.5) * this.scale, this.top + (row + 0.5) * this.scale]);
      if (column === this.column && row === this.row) break;
      const step = (steps[row * this.columns + column] >> shift) & 7;
      const cell = step < 4 ? step : step + 1;
      row -= Math.floor(cell / 3) - 1;
      column -= (cell % 3) - 1;
      if (row < 0 || column < 0 || row >= this.rows || column >= this.columns) return null;
    }
    points.reverse();
    points[0] = this.start;
    if (points.length > 1) points[points.length - 1] = place;
    else points.push(place);
    return smoothedPath(points, WAY_SMOOTHING);
  }
}

// A path after a Gaussian along its points, continued through each end by its point reflection so that it keeps them.
function smoothedPath(points, sigma) {
  const n = points.length, reach = Math.min(n - 1, Math.ceil(3 * sigma));
  const weights = Array.from({ length: reach + 1 }, (_, k) => Math.exp(-0.5 * (k / sigma) ** 2));
  const total = weights[0] + 2 * weights.slice(1).reduce((sum, w) => sum + w, 0);
  const at = (i, axis) => (i < 0 ? 2 * points[0][axis] - points[-i][axis]
    : i >= n ? 2 * points[n - 1][axis] - points[2 * n - 2 - i][axis] : points[i][axis]);
  return points.map((p, i) => [0, 1].map((axis) => {
    let sum = p[axis] * weights[0];
    for (let k = 1; k <= reach; k++) sum += weights[k] * (at(i - k, axis) + at(i + k, axis));
    return sum / total;
  }));
}

// The fields about the last few starts: the smallest comes first, wider ones as the pointer goes farther. Where the
// pointer is ahead of them, a rough field comes first and the finer one after it: worked out here as soon as the photo's
// sketch has come, asked for until then.
class WaysFrom {
  constructor(bench, arrived) {
    this.bench = bench;
    this.arrived = arrived;
    this.starts = new Map();
    this.sketch = null;
  }

  async fetchSketch() {
    if (this.sketch || this.fetching) return;
    this.fetching = true;
    try {
      const response = await posted("assist/sketch", { photo_id: this.bench.photo.id });
      if (response.ok) this.sketch = new CrackSketch(await response.arrayBuffer());
    } catch {
      // Rough fields are asked for until it comes.
    }
    this.fetching = false;
  }

  at(start, tone) {
    const key = keyOf({ start, tone });
    let kept = this.starts.get(key);
    if (kept) this.starts.delete(key);
    else kept = { start, tone, fields: new Map(), asking: new Set(), refused: false, place: null };
    this.starts.set(key, kept);
    while (this.starts.size > STARTS_KEPT) this.starts.delete(this.starts.keys().next().value);
    return kept;
  }

  // Have the nearest windows ready before the pointer moves.
  prepare(start, tone) {
    const kept = this.at(start, tone);
    this.fetchSketch();
    setTimeout(() => this.askNext(kept));
  }

  path(start, place, tone) {
    const kept = this.at(start, tone);
    kept.place = place;
    this.askNext(kept);
    const field = this.fineFor(kept) ?? this.roughFor(kept)
      ?? [...kept.fields.values()].find((each) => each.holds(place, this.bench.photo, 0));
    return field?.to(place) ?? null;
  }

  fineFor({ fields, place }) {
    for (let turn = 0; turn <= LAST_TURN; turn++)
      if (fields.get(turn)?.holds(place, this.bench.photo)) return fields.get(turn);
    return null;
  }

  roughFor(kept) {
    const turn = this.turnFor(kept);
    if (this.sketch && !kept.fields.has(turn + ROUGH))
      kept.fields.set(turn + ROUGH, new SketchedWays(this.sketch, kept.start, kept.tone, reachOf(turn)));
    return kept.fields.get(turn + ROUGH);
  }

  // What is most wanted next: a way to where the pointer is, then a finer one, then what it may soon need.
  mostWanted(kept) {
    const { fields, place, start } = kept;
    const missing = (...turns) => turns.find((turn) => !fields.has(turn) && !(this.sketch && turn >= ROUGH)) ?? null;
    if (!place) return missing(0, 1);
    const turn = this.turnFor(kept), fine = this.fineFor(kept);
    if (!fine) return missing(turn > 0 ? turn + ROUGH : turn, turn);
    const { width, height } = this.bench.photo;
    const soon = distance(start, place) > fine.reach / 2 && fine.reach < Math.max(width, height) && turn < LAST_TURN;
    return missing(0, 1, ...(soon ? [turn + 1 + ROUGH, turn + 1] : []));
  }

  turnFor({ start, place: [x, y] }) {
    const far = Math.max(Math.abs(x - start[0]), Math.abs(y - start[1])) * WAY_ROOM_SHARE + WAY_ROOM_PX;
    const turn = WAY_REACHES.findIndex((reach) => reach >= far);
    if (turn >= 0) return turn;
    return Math.min(LAST_TURN, WAY_REACHES.length - 1 + Math.ceil(Math.log2(far / WAY_REACHES.at(-1))));
  }

  // One fine field and one rough one at a time, so that what is wanted most is not kept waiting by what is wanted next.
  async askNext(kept) {
    if (kept.refused) return;
    const turn = this.mostWanted(kept), rough = turn >= ROUGH;
    if (turn === null || kept.asking.has(rough)) return;
    kept.asking.add(rough);
    const { photo } = this.bench;
    let buffer = null;
    try {
      const response = await posted("assist/ways", { photo_id: photo.id, start: kept.start, turn: turn % ROUGH, rough, tone: kept.tone });
      if (response.ok) buffer = await response.arrayBuffer();
      else kept.refused = response.status < 500;
    } catch {
      // The settled answer tells when the server is away; the next movement asks again.
    }
    kept.asking.delete(rough);
    if (!buffer) return;
    kept.fields.set(turn, new WayField(buffer, kept.start));
    if (this.starts.has(keyOf(kept))) this.askNext(kept);
    this.arrived();
  }
}

const keyOf = ({ start, tone }) => `${start[0]}|${start[1]}|${tone}`;
const WAY_REACHES = [96, 192, 512];
const reachOf = (turn) => WAY_REACHES[turn] ?? WAY_REACHES.at(-1) * 2 ** (turn + 1 - WAY_REACHES.length);
