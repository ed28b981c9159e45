// The front ends of the assists: each asks the server, shows what it proposes, and makes marks of what is accepted.

const SETTLED_MS = 120;
const STILL_HERE_MS = 500;
const HOLE_KINDS = ["screw hole", "enlarged hole", "filled hole"];

const askAssist = (name, body, signal) => askBench(`assist/${name}`, body, signal);

// A question also fails when the page is left, before what is drawn has been kept: what comes of it is then the next
// page's to say.
async function askBench(path, body, signal) {
  try {
    const response = await posted(path, body, signal);
    const answer = await response.json();
    return response.ok ? answer : { error: answer.error ?? null };
  } catch (error) {
    if (error.name === "AbortError") return null;
    await new Promise((done) => setTimeout(done, STILL_HERE_MS));
    return { error: null };
  }
}

// Follow a crack click by click; each piece sticks to the crack between two clicks and can be redone by dragging its end.
class FollowTool extends Tool {
  constructor(bench, name) {
    super(bench, name);
    this.ways = new WaysFrom(bench, () => this.waysArrived());
  }

  get variants() { return ["auto", "dark", "light"]; }
  get turnsFreely() { return true; }
  get tone() { return this.variant === "auto" ? null : this.variant; }
  get hint() {
    const n = this.draft?.clicks.length ?? 0;
    return this.bench.words(n === 0 ? "hint_follow" : n === 1 ? "hint_follow_on" : "hint_follow_finish");
  }
  get buttons() { return this.draft ? ["finish", "take_back", "cancel", "variant"] : ["variant"]; }

  left() { this.stopPreview(); }

  stopPreview() {
    clearTimeout(this.timer);
    this.asking?.abort();
    this.asking = this.preview = this.settled = this.hovered = null;
  }

  hover(pt) {
    this.at = pt.photo;
    if (!this.draft) return;
    this.hovered = performance.now();
    this.showWay();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.askSettled(), SETTLED_MS);
  }

  // The path to the pointer, from the ways that are here already.
  showWay() {
    const from = this.draft.clicks.at(-1), to = this.at;
    if (distance(from, to) < 2) { this.preview = null; return; }
    if (this.settled && distance(this.settled.to, to) < 0.02) { this.preview = this.settled; return; }
    const way = this.ways.path(from, to, this.tone);
    if (!way) { this.preview = null; return; }
    const { width, bound } = this.settled ?? {};
    this.preview = { from, to, ...way, width, bound };
    if (this.hovered !== null) this.bench.timed("preview", performance.now() - this.hovered);
    this.hovered = null;
  }

  waysArrived() {
    if (this.dragging) this.dragging();
    else if (this.draft && this.at) this.showWay();
    this.bench.repaint();
  }

  // Where the pointer rests the server is asked for the finished path and its width; one question at a time.
  async askSettled() {
    if (!this.draft || !this.at) return;
    if (this.asking) { this.timer = setTimeout(() => this.askSettled(), SETTLED_MS); return; }
    const from = this.draft.clicks.at(-1), to = this.at;
    if (distance(from, to) < 2) return;
    const asking = (this.asking = new AbortController());
    const answer = await this.ask(from, to, asking.signal);
    if (this.asking !== asking) return;
    this.asking = null;
    if (!this.draft || distance(this.draft.clicks.at(-1), from) > 1e-6) return;
    const resting = distance(this.at, to) < 0.02;
    if (answer?.line) {
      this.settled = { from, to, plain: true, line: answer.line, width: answer.width_px, bound: answer.width_bound };
      this.showWay();
    } else if (answer && resting) {
      this.preview = this.settled = null;
      this.bench.sayText(answer.error, "assist_away");
    }
    this.bench.repaint();
  }

  ask(from, to, signal) {
    return askAssist("trace", { photo_id: this.bench.photo.id, points: [from, to], tone: this.tone }, signal);
  }

  down(pt, event) {
    if (this.draft) {
      const { view } = this.bench;
      const i = this.draft.clicks.findIndex((p) => distance(view.toScreen(p), pt.screen) < grasp(pt.type, 8, 20));
      const twice = this.last && performance.now() - this.last.time < TWICE_MS && distance(pt.screen, this.last.screen) < TWICE_PX;
      if (i === this.draft.clicks.length - 1 && i > 0 && (twice || pt.type === "touch")) { this.finish(); return null; }
      if (i >= 0 && twice) return null;
      if (i >= 0) return this.dragClick(i, pt);
    }
    return super.down(pt, event);
  }

  // The pieces before and after a dragged point follow it along the crack while it moves.
  dragClick(i, pt) {
    const { bench } = this;
    const { clicks, pieces } = this.draft;
    let moved = false;
    const follow = () => {
      const piece = (from, to) => {
        const way = this.ways.path(from, to, this.tone);
        return { line: way?.line ?? [from, to], straight: true };
      };
      if (i > 0) pieces[i - 1] = piece(clicks[i - 1], clicks[i]);
      if (clicks[i + 1]) {
        pieces[i] = piece(clicks[i + 1], clicks[i]);
        pieces[i].line = pieces[i].line.slice().reverse();
      }
    };
    return {
      move: (now) => {
        if (!moved && distance(now.screen, pt.screen) < DRAG_PX) return;
        moved = true;
        clicks[i] = now.photo;
        this.dragging = follow;
        follow();
        bench.lookClosely(now);
      },
      up: () => {
        this.dragging = null;
        bench.lookClosely(null);
        if (!moved) return;
        if (i > 0) this.tracePiece(i - 1);
        if (clicks[i + 1]) this.tracePiece(i);
        else this.ways.prepare(clicks[i], this.tone);
      },
      cancel: () => { this.dragging = null; bench.lookClosely(null); },
    };
  }

  place(pt) {
    this.last = { time: performance.now(), screen: pt.screen };
    const { draft, preview, settled } = this;
    if (draft && distance(draft.clicks.at(-1), pt.photo) < 0.5) return;
    this.stopPreview();
    this.ways.prepare(pt.photo, this.tone);
    if (!draft) { this.draft = { clicks: [pt.photo], pieces: [] }; return; }
    const n = draft.clicks.push(pt.photo) - 2;
    const from = draft.clicks[n];
    const leadsHere = (piece) => piece && distance(piece.from, from) < 1e-6 && distance(piece.to, pt.photo) < 0.02;
    if (leadsHere(settled)) draft.pieces.push({ line: settled.line, width: settled.width, bound: settled.bound });
    else {
      draft.pieces.push({ line: leadsHere(preview) ? preview.line : this.ways.path(from, pt.photo, this.tone)?.line ?? [from, pt.photo], straight: true });
      this.tracePiece(n);
    }
    this.draft = draft;
  }

  // Until the server has answered a piece counts as straight, whatever path it shows.
  tracePiece(i, draft = this.draft) {
    const ends = [draft.clicks[i], draft.clicks[i + 1]];
    const piece = (draft.pieces[i] = { line: draft.pieces[i]?.line ?? ends, straight: true });
    piece.asked = this.ask(...ends).then((answer) => {
      if (answer?.line) Object.assign(piece, { line: answer.line, width: answer.width_px, bound: answer.width_bound, straight: false });
      else {
        piece.line = ends;
        this.bench.sayText(answer?.error, "assist_away");
      }
      this.bench.keep();
      this.bench.repaint();
    });
  }

  // Another tone: every piece of the draft is followed anew.
  variantChanged() {
    this.stopPreview();
    if (!this.draft) return;
    this.draft.pieces.forEach((_, i) => this.tracePiece(i));
    this.ways.prepare(this.draft.clicks.at(-1), this.tone);
    if (this.at) this.showWay();
  }

  async finish() {
    const { draft } = this;
    if (!draft) return;
    if (draft.clicks.length < 2) { this.bench.say("line_needs_two"); return; }
    this.stopPreview();
    this.bench.kept.closing.push(draft);
    this.draft = null;
    await this.close(draft);
  }

  // A finished crack waits for its last answers; a reload meanwhile takes it up again.
  async close(draft) {
    await Promise.all(draft.pieces.map((piece) => piece.asked));
    const { closing } = this.bench.kept;
    if (!closing.includes(draft)) return;
    closing.splice(closing.indexOf(draft), 1);
    const points = draft.pieces.flatMap((piece, k) => (k ? piece.line.slice(1) : piece.line));
    const traced = draft.pieces.some((piece) => !piece.straight);
    this.bench.createMark({ shape: "line", points: simplified(points, 0.15).map(roundedPair) }, traced ? "traced" : "hand", [],
      { usual: ["crack", "open seam", "finish checking"] });
  }

  takeBack() {
    if (!this.draft) return false;
    this.stopPreview();
    this.draft.clicks.pop();
    this.draft.pieces.pop();
    if (!this.draft.clicks.length) this.draft = null;
    return true;
  }

  cancel() { this.stopPreview(); return super.cancel(); }

  paint(overlay) {
    const { draft, preview } = this;
    if (!draft) return;
    for (const piece of draft.pieces) overlay.path(piece.line, { dashed: piece.straight });
    const last = draft.clicks.at(-1);
    if (preview && distance(preview.from, last) < 1e-6) overlay.path(preview.line, { dashed: true, extra: preview.plain ? "preview" : "faint" });
    else if (this.at) overlay.path([last, this.at], { dashed: true, extra: "faint" });
    overlay.dots(draft.clicks);
    const { width, bound } = preview ?? draft.pieces.at(-1) ?? {};
    if (width && this.at) {
      const [x, y] = overlay.bench.view.toScreen(this.at);
      overlay.label([x + 16, y + 14], overlay.bench.sizeText(width, this.at, bound ? "below" : "wide"));
    }
  }
}

// Find round holes in a box; each candidate is accepted or refused by key, click or tap.
class HolesTool extends Tool {
  get variants() { return ["dark", "bright"]; }
  get open() { return (this.draft?.found ?? []).filter((hole) => this.stateOf(hole) === "open"); }
  get hint() {
    const { words } = this.bench;
    const { draft } = this;
    if (!draft) return words("hint_holes");
    if (draft.asking) return words("hint_holes_asking");
    if (!draft.found) return words("hint_holes_corner");
    const n = (state) => draft.found.filter((hole) => this.stateOf(hole) === state).length;
    const open = this.open;
    return words("hint_holes_found", { sure: open.filter((h) => h.sure).length, doubtful: open.filter((h) => !h.sure).length,
      taken: n("taken") });
  }
  get buttons() {
    if (!this.draft?.found) return this.draft ? ["cancel"] : ["variant"];
    return this.open.length ? ["accept", "refuse", "accept_sure", "cancel"] : ["finish"];
  }

  stateOf(hole) {
    if (hole.mark && this.bench.marks.get(hole.mark)) return "taken";
    return hole.refused ? "refused" : "open";
  }

  down(pt, event) {
    if (this.draft?.found) {
      const hole = this.holeAt(pt);
      if (hole >= 0) { this.draft.at = hole; this.toggle(this.draft.found[hole]); return null; }
    }
    if (this.draft?.corner) return super.down(pt, event);
    let far = false;
    return {
      move: (now) => {
        if (!far && distance(now.screen, pt.screen) < grasp(pt.type, DRAG_PX, 10)) return;
        far = true;
        this.dragging = [pt.photo, now.photo];
      },
      up: (now) => {
        this.dragging = null;
        if (far) this.ask(pt.photo, now.photo);
        else this.place(pt);
      },
      cancel: () => { this.dragging = null; },
    };
  }

  holeAt(pt) {
    const slack = grasp(pt.type, 6, 20) / this.bench.view.scale;
    let best = -1, least = Infinity;
    this.draft.found.forEach((hole, i) => {
      const away = distance(hole.centre, pt.photo);
      if (away < hole.diameter_px / 2 + slack && away < least) { least = away; best = i; }
    });
    return best;
  }

  hover(pt) { this.at = pt.photo; }

  place(pt) {
    if (this.draft?.corner) this.ask(this.draft.corner, pt.photo);
    else { this.draft = { corner: pt.photo }; this.at = pt.photo; }
  }

  async ask(a, b) {
    const box = [Math.min(a[0], b[0]), Math.min(a[1], b[1]), Math.abs(a[0] - b[0]), Math.abs(a[1] - b[1])].map(rounded);
    if (box[2] < 4 || box[3] < 4) { this.draft = null; this.bench.say("box_small"); return; }
    const draft = (this.draft = { box, asking: true });
    this.bench.repaint();
    const answer = await askAssist("holes", { photo_id: this.bench.photo.id, box, bright: this.variant === "bright" });
    if (this.draft !== draft) return;
    if (!answer?.holes) { this.draft = null; this.bench.sayText(answer?.error, "assist_away"); return; }
    if (!answer.holes.length) { this.draft = null; this.bench.say("holes_none"); return; }
    const found = answer.holes.map((hole) => ({ ...hole, sure: hole.sure !== false }));
    this.draft = { box, found, at: 0 };
    this.bench.repaint();
  }

  step(by) {
    const { draft } = this;
    if (!draft?.found) return;
    const n = draft.found.length;
    for (let k = 1; k <= n; k++) {
      const i = (draft.at + by * k + n * k) % n;
      if (this.stateOf(draft.found[i]) === "open") { draft.at = i; break; }
    }
    this.bench.view.follow(draft.found[draft.at].centre, 60);
    this.bench.repaint();
  }

  holeText({ diameter, diameter_px: px, centre }) {
    if (!diameter) return this.bench.sizeText(px, centre, "across");
    return this.bench.words("across_mm_sure", { n: diameter.value.toFixed(2), within: diameter.expanded.toFixed(2) });
  }

  toggle(hole) {
    if (this.stateOf(hole) === "taken") this.bench.removeMarks([hole.mark]);
    else this.accept([hole]);
  }

  accept(holes = [this.draft?.found?.[this.draft.at]].filter((h) => h && this.stateOf(h) === "open")) {
    if (!holes.length) return;
    const kind = HOLE_KINDS.includes(this.bench.kept.kind) ? this.bench.kept.kind : HOLE_KINDS[0];
    const changes = holes.map((hole) => {
      hole.refused = false;
      hole.mark = crypto.randomUUID();
      const [x, y] = roundedPair(hole.centre);
      return { id: hole.mark, after: { finding_id: this.bench.kept.finding, kind,
        shape: { shape: "circle", x, y, radius: rounded(hole.diameter_px / 2), rim: [] } } };
    });
    this.bench.marks.change(changes, "fitted");
    this.step(1);
    this.bench.keep();
    if (!this.open.length) this.bench.say("holes_done");
  }

  refuse() {
    const hole = this.draft?.found?.[this.draft.at];
    if (!hole || this.stateOf(hole) !== "open") return;
    hole.refused = true;
    this.step(1);
    this.bench.keep();
  }

  acceptSure() { this.accept(this.open.filter((hole) => hole.sure)); }
  finish() { if (this.draft?.found) this.open.length ? this.accept() : (this.draft = null); }

  paint(overlay) {
    const corners = this.dragging ?? (this.draft?.corner && this.at ? [this.draft.corner, this.at] : null);
    if (corners) overlay.path(boxCorners(corners), { closed: true, dashed: true });
    const { draft } = this;
    if (!draft?.box) return;
    const [x, y, w, h] = draft.box;
    overlay.path(boxCorners([[x, y], [x + w, y + h]]), { closed: true, dashed: true, extra: "faint" });
    const found = draft.found?.map((hole, i) => [hole, i]) ?? [];
    found.sort((a, b) => (b[1] === draft.at) - (a[1] === draft.at));
    found.forEach(([hole, i]) => {
      const state = this.stateOf(hole);
      if (state === "taken") return;
      const current = i === draft.at && state === "open";
      overlay.circle(hole.centre, hole.diameter_px / 2, `dashed ${state} ${hole.sure ? "" : "doubtful"} ${current ? "current" : ""}`);
      const r = hole.diameter_px / 2, large = r * overlay.bench.view.scale > 10;
      if (state === "refused" || !(current || large)) return;
      const text = (hole.sure ? "" : "? ") + this.holeText(hole);
      const beside = large ? [hole.centre[0] + r * 0.75, hole.centre[1] + r * 0.75] : [x + w, hole.centre[1]];
      const [lx, ly] = overlay.bench.view.toScreen(beside);
      overlay.label([lx + 6, ly + (large ? 2 : -10)], text, current ? "current" : "", true);
    });
  }
}

const boxCorners = ([a, b]) => [a, [b[0], a[1]], b, [a[0], b[1]]];

// Grow a loss from clicks or a rough loop, more or less far; add, take away, and correct with a brush.
class GrowTool extends Tool {
  get variants() { return ["click", "loop", "brush"]; }
  get turnsFreely() { return true; }
  get hint() {
    const { words } = this.bench;
    if (this.draft?.asking) return words("hint_grow_asking");
    if (this.variant === "brush") return words(this.taking ? "hint_brush_take" : "hint_brush_add");
    const what = this.variant === "loop" ? "loop" : "click";
    if (!this.draft) return words(`hint_grow_${what}`);
    return words(this.taking ? `hint_grow_${what}_take` : `hint_grow_${what}_add`);
  }
  get buttons() {
    return [...(this.draft ? ["finish", "take_back", "cancel"] : []), "variant", "take_away", "amount",
      ...(this.variant === "brush" ? ["brush"] : [])];
  }
  get taking() { return Boolean(this.bench.kept.taking); }
  get brushPx() { return this.bench.kept.brush ?? 14; }

  down(pt, event) {
    this.turned = event?.altKey ?? false;
    if (this.variant === "click") return super.down(pt, event);
    const points = [pt.photo];
    this.free = points;
    this.brushing = this.variant === "brush";
    return {
      move: (now, moveEvent) => {
        const all = moveEvent?.getCoalescedEvents?.() ?? [];
        for (const each of all.length ? all : [null]) points.push(each ? this.bench.placeOf(each).photo : now.photo);
        this.at = now.photo;
      },
      up: () => { this.free = null; this.brushing ? this.brush(points) : this.loop(points); },
      cancel: () => { this.free = null; },
    };
  }

  hover(pt) { this.at = pt.photo; }

  get adds() { return this.taking === this.turned; }

  place(pt) {
    const add = this.adds || !this.draft;
    const root = !this.draft?.steps.some((step) => step.ring || step.root);
    this.addStep({ point: roundedPair(pt.photo), add, root });
  }

  loop(points) {
    const ring = simplified(points, 0.5 / this.bench.view.scale).map(roundedPair);
    if (ring.length < 3) { this.bench.say("stroke_short"); return; }
    this.addStep({ ring, add: this.adds || !this.draft });
  }

  brush(points) {
    const radius = rounded(this.brushPx / this.bench.view.scale);
    if (!this.draft) {
      const [id] = this.bench.kept.chosen;
      const shape = this.bench.kept.chosen.length === 1 ? this.bench.shapeOf(id) : null;
      const mark = this.bench.marks.get(id);
      if (shape?.shape === "ring") this.draft = { mark: id, steps: [{ result: { ...shape, edge: mark.pick ?? mark.pick_sd_px }, add: true }] };
      else if (!this.adds) { this.bench.say("brush_nothing"); return; }
    }
    this.addStep({ brush: simplified(points, 0.25 / this.bench.view.scale).map(roundedPair), radius, add: this.adds });
  }

  // A further click refines the last grown region before it; a loop or a stroke stands for itself.
  async addStep(step) {
    const draft = this.draft ?? { steps: [] };
    draft.steps.push(step);
    this.draft = draft;
    await this.growAll([step.point ? this.rootOf(step) : step]);
  }

  rootOf(step) {
    const { steps } = this.draft;
    return steps.slice(0, steps.indexOf(step)).findLast((each) => (each.ring || each.root) && each.add) ?? step;
  }

  clicksOn(root, add) {
    return this.draft.steps.filter((step) => step.point && step !== root && step.add === add && this.rootOf(step) === root)
      .map((step) => step.point);
  }

  // Ask for every given step at the present amount; the newest request for a draft wins.
  async growAll(steps) {
    const { draft } = this;
    if (!draft) return;
    const round = (this.round = (this.round ?? 0) + 1);
    const amount = this.bench.kept.amount;
    const asked = steps.filter((step) => step.root || step.ring);
    draft.asking = asked.length > 0;
    this.bench.repaint();
    const answers = await Promise.all(asked.map((step) => askAssist("grow",
      { photo_id: this.bench.photo.id, ...(step.point ? { point: step.point } : { ring: step.ring }), amount,
        add: this.clicksOn(step, true), away: this.clicksOn(step, false) })));
    if (this.draft !== draft || round !== this.round) return;
    answers.forEach((answer, k) => {
      if (answer?.ring) asked[k].result = { shape: "ring", points: answer.ring, holes: answer.holes ?? [], edge: answer.edge_sd_px };
      else if (asked[k].result) {
        const last = draft.steps.at(-1);
        if (last.point && last !== asked[k] && this.rootOf(last) === asked[k]) draft.steps.pop();
        this.bench.sayText(answer?.error, "assist_away");
      } else {
        if (asked[k].ring) asked[k].result = { shape: "ring", points: asked[k].ring, holes: [] };
        else draft.steps = draft.steps.filter((step) => step !== asked[k]);
        this.bench.sayText(answer?.error, "assist_away");
      }
    });
    draft.asking = false;
    if (!draft.steps.length) this.draft = null;
    else this.combine();
    this.bench.keep();
    this.bench.repaint();
  }

  combine() {
    const { draft, bench } = this;
    const [first] = draft.steps;
    if (draft.steps.length === 1 && first.result) { draft.rings = [first.result]; return; }
    const mask = new Mask();
    for (const step of draft.steps) {
      if (step.brush) mask.stroke(step.brush, step.radius, step.add, bench.photo);
      else if (step.result) mask.area(step.result, step.add, bench.photo);
    }
    draft.rings = mask.rings();
  }

  amountChanged() {
    clearTimeout(this.slow);
    if (this.draft) this.slow = setTimeout(() => this.growAll(this.draft?.steps ?? []), 90);
  }

  finish() {
    const { draft, bench } = this;
    if (!draft || draft.asking) return;
    if (!draft.rings?.length) { bench.say("grow_nothing"); return; }
    this.draft = null;
    const [first, ...rest] = draft.rings.map(({ points, holes }) => ({ shape: "ring", points: points.map(roundedPair), holes }));
    const pick = this.edgeOf(draft);
    if (draft.mark && bench.marks.get(draft.mark)) {
      bench.putShapes([[draft.mark, first]], "grown", rest, pick);
    } else bench.createMark(first, "grown", pick ? [pick] : [], { usual: AREA_KINDS, more: rest });
  }

  // How vague the edge is: what the area's change along the slider says of each grown part, and a brush's own hand.
  edgeOf(draft) {
    const edges = draft.steps.map((step) => (step.brush ? this.bench.pickOf({ type: "pen" }) : step.result?.edge)).filter(Boolean);
    return edges.length ? rounded(Math.max(...edges)) : null;
  }

  takeBack() {
    const { draft } = this;
    if (!draft) return false;
    const gone = draft.steps.at(-1);
    const root = gone.point && !gone.root ? this.rootOf(gone) : null;
    draft.steps.pop();
    if (!draft.steps.length || (draft.mark && draft.steps.length === 1)) this.draft = null;
    else if (root) this.growAll([root]);
    else this.combine();
    return true;
  }

  paint(overlay) {
    const { draft } = this;
    for (const ring of draft?.rings ?? [])
      for (const loop of [ring.points, ...(ring.holes ?? [])]) overlay.path(loop, { closed: true, extra: "area" });
    for (const step of draft?.steps ?? []) if (step.point) overlay.dots([step.point], step.add ? "add" : "take");
    if (this.free && !this.brushing) overlay.path(this.free, { dashed: true });
    if (this.variant === "brush") this.paintBrush(overlay);
  }

  paintBrush(overlay) {
    const { view } = this.bench;
    if (this.free && this.brushing) {
      const d = loopPath(this.free.map((p) => view.toScreen(p)), false) + (this.free.length === 1 ? "h0" : "");
      svg("path", { d, class: `brush ${this.adds ? "" : "take"}`, "stroke-width": this.brushPx * 2 }, overlay.draft);
    }
    if (!this.at) return;
    const [cx, cy] = view.toScreen(this.at);
    svg("circle", { cx, cy, r: this.brushPx, class: "brush-edge-halo" }, overlay.draft);
    svg("circle", { cx, cy, r: this.brushPx, class: "brush-edge" }, overlay.draft);
  }
}

const AREA_KINDS = ["finish loss", "finish checking", "refinish", "stain", "corrosion", "dent", "chip", "wear groove",
  "added rout", "old repair", "other", "missing part"];
