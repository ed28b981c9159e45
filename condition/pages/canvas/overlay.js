// The drawn marks over the photo. Paths live in photo pixels under one transform, their strokes in screen pixels;
// tags, grips and what is being drawn live in screen pixels.

const GRIP_APART_PX = 16;
const SETTLE_MS = 140;
const SKETCH_FAINT = 0.35, SKETCH_POINT_PX = 6.5;
const MANY_POINTS = 3000, POINTS_A_MARK = 40;

class Overlay {
  constructor(bench, host) {
    this.bench = bench;
    const below = svg("svg", { class: "overlay", "aria-hidden": "true" }, host);
    this.layer = svg("svg", { class: "overlay layer" }, host);
    const above = svg("svg", { class: "overlay", "aria-hidden": "true" }, host);
    this.grid = svg("g", { class: "grid" }, below);
    this.defs = svg("defs", {}, this.layer);
    this.zoomed = svg("g", { class: "zoomed", role: "group" }, this.layer);
    this.tags = svg("g", { class: "tags", "aria-hidden": "true" }, this.layer);
    this.grips = svg("g", { class: "grips" }, above);
    this.draft = svg("g", { class: "draft" }, above);
    this.drawn = new Map();
    this.scale = 0;
    this.shown = bench.view.copy();
  }

  paint() {
    const moving = this.moving(this.bench.view);
    this.layer.style.opacity = moving ? "0" : "";
    if (moving) { this.syncMarks(); this.sketch(this.bench.view); }
    else this.paintMarks(this.shown);
    this.paintGrips();
    this.paintGrid();
    this.paintDraft();
  }

  // Few marks are drawn anew at every step of a movement. Many are sketched on the photo's own canvas while it moves,
  // and their layer is drawn anew and shown again when it rests.
  moving(now) {
    if (now.key !== this.liveKey) this.movedAt = performance.now();
    this.liveKey = now.key;
    if (now.key === this.shown.key) return false;
    let points = 0;
    for (const item of this.drawn.values()) points += POINTS_A_MARK + item.points;
    if (points > MANY_POINTS && performance.now() - this.movedAt < SETTLE_MS - 20) {
      clearTimeout(this.settling);
      this.settling = setTimeout(() => this.bench.repaint(), SETTLE_MS);
      return true;
    }
    this.shown = now.copy();
    return false;
  }

  // The marks in sight as plain strokes, each with the head of its tag.
  sketch(view) {
    const { context, density, signs, kept } = this.bench;
    const x1 = view.x + view.width / view.scale, y1 = view.y + view.height / view.scale;
    const heads = [];
    for (const [id, item] of this.drawn) {
      const [bx0, by0, bx1, by1] = item.bounds;
      if (bx1 < view.x || by1 < view.y || bx0 > x1 || by0 > y1) continue;
      const mark = this.bench.marks.get(id), faint = item.group.classList.contains("faint");
      const s = view.scale * density;
      context.setTransform(s, 0, 0, s, -view.x * s, -view.y * s);
      context.globalAlpha = faint ? SKETCH_FAINT : 1;
      context.strokeStyle = signs.of(mark.kind).colour;
      context.lineWidth = ((kept.chosen.includes(id) ? 2 : 1) * STROKE_PX) / view.scale;
      if (item.reticle) {
        context.beginPath();
        context.arc(item.shape.x, item.shape.y, SKETCH_POINT_PX / view.scale, 0, 2 * Math.PI);
        context.stroke();
      } else context.stroke(item.sketch ??= new Path2D(shapePath(item.shape)));
      if (item.place) heads.push([mark, item, faint]);
    }
    context.setTransform(density, 0, 0, density, 0, 0);
    context.font = numberFont();
    context.textBaseline = "alphabetic";
    for (const [mark, { place, tag }, faint] of heads) {
      const [x, y] = tagAt(place, tag.size, view);
      context.globalAlpha = faint ? SKETCH_FAINT : 1;
      context.fillStyle = signs.of(mark.kind).colour;
      context.fillRect(x, y, tag.head, TAG_H);
      context.fillStyle = "#fff";
      if (mark.number != null) context.fillText(String(mark.number), x + 25, y + 15.5);
    }
    context.globalAlpha = 1;
    context.setTransform(1, 0, 0, 1, 0, 0);
  }

  paintMarks(view) {
    this.zoomed.setAttribute("transform", `matrix(${view.scale} 0 0 ${view.scale} ${-view.x * view.scale} ${-view.y * view.scale})`);
    const zoomed = this.scale !== view.scale;
    if (zoomed) {
      this.scale = view.scale;
      this.bench.signs.rescale(view.scale);
      for (const item of this.drawn.values()) this.fitReticle(item);
    }
    this.syncMarks();
    this.paintTags(zoomed);
  }

  syncMarks() {
    const { marks, kept } = this.bench;
    const list = marks.all().sort((a, b) => (a.number ?? 1e9) - (b.number ?? 1e9));
    const present = new Set(list.map((mark) => mark.id));
    for (const [id, item] of this.drawn)
      if (!present.has(id)) {
        item.group.remove();
        item.tag?.group.remove();
        this.drawn.delete(id);
      }
    list.forEach((mark) => {
      const chosen = kept.chosen.includes(mark.id);
      const faint = kept.dim && kept.mode === "choose" && kept.chosen.length ? !this.ofChosenFinding(mark) : Boolean(mark.dimmed);
      const shown = this.bench.lifted?.get(mark.id) ?? mark.shape;
      const look = [mark.kind, mark.number, mark.text, faint, chosen, kept.texts].join("|");
      const item = this.drawn.get(mark.id);
      if (item && item.look === look && item.shape === shown) return;
      if (item && item.look === look) this.reshape(item, shown);
      else this.build(mark, shown, look, faint, chosen, item);
    });
  }

  ofChosenFinding(mark) {
    const { marks, kept } = this.bench;
    return kept.chosen.some((id) => {
      const chosen = marks.get(id);
      return id === mark.id || (chosen?.finding_id && chosen.finding_id === mark.finding_id);
    });
  }

  build(mark, shape, look, faint, chosen, old) {
    const { signs, kept } = this.bench;
    const sign = signs.of(mark.kind);
    const group = old?.group ?? svg("g", { "data-id": mark.id, tabindex: 0, role: "button" });
    group.replaceChildren();
    group.setAttribute("class", `mark ${mark.shape.shape}${faint ? " faint" : ""}${chosen ? " chosen" : ""}`);
    group.setAttribute("aria-pressed", String(chosen));
    group.setAttribute("aria-label", this.bench.describe(mark));
    const paths = [];
    const reticle = mark.shape.shape === "point" ? this.reticle(group, sign.colour) : null;
    if (!reticle) paths.push(svg("path", { class: "halo" }, group));
    if (!["line", "point"].includes(mark.shape.shape))
      for (const fill of signs.hatches(mark.kind, this.defs, this.shown.scale))
        paths.push(svg("path", { class: "hatch", fill, "fill-rule": "evenodd" }, group));
    if (!reticle) {
      const stroke = svg("path", { class: "stroke", stroke: sign.colour }, group);
      const dash = signs.dash(mark.kind);
      if (dash) stroke.setAttribute("stroke-dasharray", dash);
      paths.push(stroke);
    }
    if (!old) this.zoomed.append(group);
    old?.tag?.group.remove();
    const tag = buildTag(this.tags, mark, sign, kept.texts ? (mark.text ?? "") : "");
    if (faint) tag.group.classList.add("faint");
    if (chosen) tag.group.classList.add("chosen");
    const item = { group, paths, reticle, look, tag, place: old?.place ?? null };
    this.drawn.set(mark.id, item);
    this.reshape(item, shape);
    this.unsettled = true;
  }

  reshape(item, shape) {
    item.shape = shape;
    item.bounds = shapeBounds(shape);
    item.points = loopsOf(shape).reduce((sum, loop) => sum + loop.length, 0);
    item.sketch = null;
    item.samples = strokeSamples(shape);
    const d = shapePath(shape);
    for (const path of item.paths) path.setAttribute("d", d);
    this.fitReticle(item);
    this.unsettled = true;
  }

  // A point: an open ring with its middle left free, always of one size on the screen.
  reticle(group, colour) {
    const inner = svg("g", {}, group);
    for (const name of ["halo", "stroke"]) {
      svg("path", { class: name, d: "M0 -6.5a6.5 6.5 0 1 0 .01 0ZM0 -10V-6.5M0 6.5V10M-10 0H-6.5M6.5 0H10", ...(name === "stroke" ? { stroke: colour } : {}) }, inner);
    }
    svg("circle", { r: 1.3, fill: colour }, inner);
    return inner;
  }

  fitReticle({ reticle, shape }) {
    reticle?.setAttribute("transform", `translate(${shape.x} ${shape.y}) scale(${1 / this.shown.scale})`);
  }

  // Tags keep their side while the photo moves, and find their best place again when it rests.
  paintTags(zoomed) {
    const view = this.shown;
    const moved = view.key !== this.taggedKey;
    this.taggedKey = view.key;
    const settle = this.unsettled || (this.restless && !moved);
    if (settle) {
      this.unsettled = this.restless = false;
      const taken = this.bench.panel.corners(), ground = new Ground();
      for (const item of this.drawn.values()) {
        item.seen = item.samples.map((p) => view.toScreen(p));
        ground.add(item.seen);
      }
      for (const item of this.drawn.values())
        item.place = placeTag(item.shape, item.samples, item.seen, item.tag.size, view, taken, item.place, ground);
    } else if (moved) {
      this.restless = true;
      clearTimeout(this.settling);
      this.settling = setTimeout(() => this.bench.repaint(), SETTLE_MS);
    }
    if (!moved && !settle && !zoomed) return;
    for (const { tag, place } of this.drawn.values()) {
      tag.group.setAttribute("visibility", place ? "visible" : "hidden");
      if (!place) continue;
      const [x, y] = tagAt(place, tag.size, view);
      tag.group.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)})`);
      const [ax, ay] = view.toScreen(place.anchor);
      const nx = clamp(ax - x, 6, tag.size[0] - 6), ny = ay > y ? tag.size[1] : 0;
      tag.leader.setAttribute("d", place.gap > TAG_GAP ? `M${nx.toFixed(1)} ${ny}L${(ax - x).toFixed(1)} ${(ay - y).toFixed(1)}` : "");
    }
  }

  // Grips of the chosen mark, thinned so that neighbours can be told apart.
  paintGrips() {
    this.grips.replaceChildren();
    this.gripList = [];
    const { kept, view } = this.bench;
    if (kept.mode !== "choose" || kept.chosen.length !== 1) return;
    const shape = this.bench.shapeOf(kept.chosen[0]);
    if (!shape) return;
    const placed = [];
    const crowded = (at) => placed.some((p) => Math.abs(p[0] - at[0]) < GRIP_APART_PX && Math.abs(p[1] - at[1]) < GRIP_APART_PX);
    const held = kept.grip;
    const grips = gripsOf(shape).map((grip) => ({ ...grip, screen: view.toScreen(grip.at) }));
    const isHeld = (grip) => held && grip.role === held.role && grip.loop === held.loop && grip.i === held.i;
    grips.sort((a, b) => isHeld(b) - isHeld(a) || (a.role === "middle") - (b.role === "middle"));
    for (const grip of grips) {
      const [x, y] = grip.screen;
      if (x < -10 || y < -10 || x > view.width + 10 || y > view.height + 10) continue;
      if (crowded(grip.screen) && !isHeld(grip)) continue;
      placed.push(grip.screen);
      this.gripList.push(grip);
      const middle = grip.role === "middle";
      svg("circle", { cx: x, cy: y, r: middle ? 3.5 : isHeld(grip) ? 7 : 5.5, class: `grip ${grip.role}${isHeld(grip) ? " held" : ""}` }, this.grips);
    }
  }

  gripNear(screen, within) {
    let best = null;
    for (const grip of this.gripList ?? []) {
      const away = distance(screen, grip.screen) + (grip.role === "middle" ? 3 : 0);
      if (away <= within && (!best || away < best.away)) best = { ...grip, away };
    }
    return best;
  }

  paintGrid() {
    const { plane, kept, view } = this.bench;
    const key = plane && kept.grid ? view.key : "none";
    if (key === this.gridKey) return;
    this.gridKey = key;
    this.grid.replaceChildren();
    if (key === "none") return;
    const { fine, bold } = gridPaths(plane, view);
    const [x0, y0] = view.toScreen([0, 0]), [x1, y1] = view.toScreen([view.photo.width, view.photo.height]);
    this.grid.setAttribute("style", `clip-path: polygon(${x0}px ${y0}px, ${x1}px ${y0}px, ${x1}px ${y1}px, ${x0}px ${y1}px) view-box`);
    for (const [d, name] of [[fine, "under"], [bold, "under"], [fine, "fine"], [bold, "bold"]])
      svg("path", { d, class: name }, this.grid);
  }

  paintDraft() {
    this.draft.replaceChildren();
    this.notes = [];
    this.bench.tool.paint?.(this);
    if (this.bench.cross) this.cross(this.bench.view.toScreen(this.bench.cross));
  }

  cross([x, y]) {
    const d = `M${x - 22} ${y}H${x - 4}M${x + 4} ${y}H${x + 22}M${x} ${y - 22}V${y - 4}M${x} ${y + 4}V${y + 22}`;
    svg("path", { d, class: "cross-halo" }, this.draft);
    svg("path", { d, class: "cross" }, this.draft);
  }

  // A path being made: `points` in photo pixels.
  path(points, { closed = false, dashed = false, extra = "" } = {}) {
    if (points.length < 2) return;
    const d = loopPath(points.map((p) => this.bench.view.toScreen(p)), closed);
    svg("path", { d, class: "halo" }, this.draft);
    svg("path", { d, class: `making ${dashed ? "dashed" : ""} ${extra}` }, this.draft);
  }

  circle(centre, radius, name) {
    const [cx, cy] = this.bench.view.toScreen(centre);
    const r = radius * this.bench.view.scale;
    svg("circle", { cx, cy, r, class: "halo" }, this.draft);
    svg("circle", { cx, cy, r, class: `making ${name}` }, this.draft);
  }

  dots(points, name = "") {
    for (const p of points) {
      const [cx, cy] = this.bench.view.toScreen(p);
      svg("circle", { cx, cy, r: 4.5, class: `dot ${name}` }, this.draft);
    }
  }

  // A note beside what is being made; `apart` leaves it out where it would lie on another note.
  label([x, y], text, name = "", apart = false) {
    const width = Math.ceil(textWidth(text, textFont())) + 14;
    if (apart && this.notes.some(([nx, ny, nw]) => x < nx + nw + 2 && x + width + 2 > nx && Math.abs(y - ny) < 22)) return;
    this.notes.push([x, y, width]);
    const group = svg("g", { class: `note-tag ${name}`, transform: `translate(${x.toFixed(1)} ${y.toFixed(1)})` }, this.draft);
    svg("rect", { width, height: 20, rx: 5 }, group);
    svg("text", { x: 7, y: 14.5 }, group).textContent = text;
  }
}
