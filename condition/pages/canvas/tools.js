// The ways of working on the photo with a pointer or the crosshair. Each tool answers down, hover, place, finish,
// takeBack, cancel and paint; what it is making lies in `bench.kept.drafts`, so that it outlives a reload.

const DRAG_PX = 4;
const TWICE_MS = 350;
const TWICE_PX = 6;
const PICK_SCREEN_PX = 0.7;

const grasp = (type, fine, coarse) => (type === "touch" ? coarse : fine);

class Tool {
  constructor(bench, name) {
    this.bench = bench;
    this.name = name;
  }

  get draft() { return this.bench.kept.drafts[this.name] ?? null; }
  set draft(value) {
    if (value) this.bench.kept.drafts[this.name] = value;
    else delete this.bench.kept.drafts[this.name];
    this.bench.keep();
  }
  get variant() { return this.bench.kept.variants[this.name] ?? this.variants[0]; }
  get variants() { return [null]; }
  get turnsFreely() { return false; }
  variantChanged() {}
  get places() { return true; }
  get cursor() { return "crosshair"; }
  get busy() { return Boolean(this.draft); }
  get hint() { return this.bench.words(`hint_${this.name}`); }
  get buttons() { return []; }
  hover() {}
  finish() {}
  takeBack() { return false; }
  cancel() {
    if (!this.draft) return false;
    this.draft = null;
    return true;
  }
  paint() {}
  left() {}

  // Press, settle with the loupe, let go: that is where the point is.
  down(pt) {
    const { bench } = this;
    bench.lookClosely(pt);
    return {
      move: (now) => { this.hover(now); bench.lookClosely(now); },
      up: (now) => { bench.lookClosely(null); this.place(now); },
      cancel: () => bench.lookClosely(null),
    };
  }
}

class HandTool extends Tool {
  get places() { return false; }
  get cursor() { return "grab"; }
  down() { return this.bench.panGesture(); }
}

class ChooseTool extends Tool {
  get places() { return false; }
  get cursor() { return this.over ? "pointer" : "default"; }
  get hint() {
    const { kept, words } = this.bench;
    if (kept.joining) return words(this.bench.shapeOf(kept.joining)?.shape === "ring" ? "hint_join_rings" : "hint_join");
    return words(kept.chosen.length ? "hint_chosen" : "hint_choose");
  }
  get buttons() {
    const { kept } = this.bench;
    if (kept.joining) return ["cancel"];
    return kept.chosen.length ? ["remove", "split", "split_ring", "join", "copy", "kind_of", "belong"] : [];
  }

  hover(pt) {
    this.over = this.bench.overlay.gripNear(pt.screen, 9) ? "grip" : this.bench.markAt(pt)?.id;
  }

  down(pt, event) {
    const { bench } = this;
    const { kept } = bench;
    const grip = bench.overlay.gripNear(pt.screen, grasp(pt.type, 10, 24));
    if (grip && kept.chosen.length === 1) return this.dragGrip(grip, pt);
    const hit = bench.markAt(pt);
    if (kept.joining) {
      if (hit) bench.joinWith(hit.id);
      return null;
    }
    if (hit && (pt.type !== "touch" || kept.chosen.includes(hit.id))) {
      if (event?.shiftKey) {
        bench.choose(kept.chosen.includes(hit.id) ? kept.chosen.filter((id) => id !== hit.id) : [...kept.chosen, hit.id]);
        return null;
      }
      if (!kept.chosen.includes(hit.id)) bench.choose([hit.id]);
      return this.dragMarks(pt);
    }
    const pan = bench.panGesture();
    return { ...pan, up: () => {
      if (!pan.moved()) bench.choose(hit ? [hit.id] : []);
      pan.up();
    } };
  }

  dragGrip(grip, pt) {
    const { bench } = this;
    const id = bench.kept.chosen[0];
    const shape = bench.shapeOf(id);
    const offset = [grip.at[0] - pt.photo[0], grip.at[1] - pt.photo[1]];
    const held = { role: grip.role === "middle" ? "corner" : grip.role, loop: grip.loop, i: grip.i };
    let moved = false, latest = shape;
    const settle = (now) => {
      const at = [now.photo[0] + offset[0], now.photo[1] + offset[1]];
      latest = withGripAt(shape, grip, at);
      bench.lift(id, latest);
      bench.lookClosely({ ...now, photo: at });
    };
    return {
      move: (now) => {
        if (!moved && distance(now.screen, pt.screen) < DRAG_PX) return;
        if (!moved) bench.kept.grip = held;
        moved = true;
        settle(now);
      },
      up: () => {
        bench.lookClosely(null);
        if (moved) bench.putShapes([[id, latest]], "hand");
        else if (grip.role === "middle") {
          bench.kept.grip = held;
          bench.putShapes([[id, withGripAt(shape, grip, grip.at)]], "hand");
        } else bench.kept.grip = held;
        bench.repaint();
      },
      cancel: () => { bench.lift(); bench.lookClosely(null); },
    };
  }

  dragMarks(pt) {
    const { bench } = this;
    const shapes = bench.kept.chosen.map((id) => [id, bench.shapeOf(id)]);
    let moved = false, latest = shapes;
    return {
      move: (now) => {
        if (!moved && distance(now.screen, pt.screen) < grasp(pt.type, DRAG_PX, 10)) return;
        moved = true;
        const dx = now.photo[0] - pt.photo[0], dy = now.photo[1] - pt.photo[1];
        latest = shapes.map(([id, shape]) => [id, movedShape(shape, dx, dy)]);
        bench.lift(...latest.flat());
      },
      up: () => {
        if (moved) bench.putShapes(latest, "hand");
        else { bench.kept.grip = null; bench.repaint(); }
      },
      cancel: () => bench.lift(),
    };
  }

  cancel() {
    const { kept } = this.bench;
    if (kept.joining) { kept.joining = null; return true; }
    if (kept.grip) { kept.grip = null; return true; }
    if (!kept.chosen.length) return false;
    this.bench.choose([]);
    return true;
  }
}

class PointTool extends Tool {
  place(pt) {
    this.bench.createMark({ shape: "point", x: rounded(pt.photo[0]), y: rounded(pt.photo[1]) }, "hand", [pt]);
  }
}

class CircleTool extends Tool {
  get variants() { return ["centre", "rim"]; }
  get hint() {
    const n = this.draft?.points.length ?? 0;
    return this.bench.words(this.variant === "rim" ? `hint_circle_rim_${n}` : n ? "hint_circle_radius" : "hint_circle_centre");
  }
  get buttons() { return this.draft ? ["take_back", "cancel"] : ["variant"]; }

  down(pt, event) {
    if (this.variant === "rim" || this.draft) return super.down(pt, event);
    const { bench } = this;
    bench.lookClosely(pt);
    let dragged = false;
    return {
      move: (now) => {
        if (!dragged && distance(now.screen, pt.screen) < grasp(pt.type, DRAG_PX, 10)) return;
        if (!dragged) this.draft = { points: [pt.photo] };
        dragged = true;
        this.at = now.photo;
        bench.lookClosely(now);
      },
      up: (now) => { bench.lookClosely(null); this.place(dragged ? now : pt); },
      cancel: () => { bench.lookClosely(null); this.draft = null; },
    };
  }

  hover(pt) { this.at = pt.photo; }

  place(pt) {
    const points = [...(this.draft?.points ?? []), pt.photo];
    if (this.variant === "centre") {
      if (points.length < 2) { this.draft = { points }; return; }
      const radius = rounded(distance(points[0], points[1]));
      if (radius < 0.25) return;
      const [x, y] = roundedPair(points[0]);
      this.draft = null;
      this.bench.createMark({ shape: "circle", x, y, radius, rim: [] }, "hand", [pt]);
      return;
    }
    if (points.length < 3) { this.draft = { points }; return; }
    const circle = circleThrough(...points);
    if (!circle) { this.bench.say("circle_straight"); return; }
    this.draft = null;
    this.bench.createMark({ shape: "circle", x: rounded(circle.x), y: rounded(circle.y), radius: rounded(circle.radius),
      rim: points.map(roundedPair) }, "fitted", [pt]);
  }

  takeBack() {
    if (!this.draft) return false;
    const points = this.draft.points.slice(0, -1);
    this.draft = points.length ? { points } : null;
    return true;
  }

  paint(overlay) {
    if (!this.draft) return;
    const { points } = this.draft;
    overlay.dots(points);
    if (!this.at) return;
    if (this.variant === "centre") {
      const radius = distance(points[0], this.at);
      if (radius > 0) overlay.circle(points[0], radius, "dashed");
    } else if (points.length === 2) {
      const circle = circleThrough(...points, this.at);
      if (circle && circle.radius < 1e5) overlay.circle([circle.x, circle.y], circle.radius, "dashed");
    }
  }
}

// Lines and rings: point by point, or drawn freehand in one stroke.
class PathTool extends Tool {
  get closed() { return this.name === "ring"; }
  get least() { return this.closed ? 3 : 2; }
  get variants() { return ["points", "freehand"]; }
  get hint() {
    if (this.variant === "freehand") return this.bench.words(this.closed ? "hint_freehand_ring" : "hint_freehand_line");
    const n = this.draft?.points.length ?? 0;
    if (n === 0 && this.name === "cut") return this.bench.words("hint_cut");
    if (n === 0) return this.bench.words(this.closed ? "hint_ring" : "hint_line");
    return this.bench.words(n < this.least ? "hint_path_more" : this.closed ? "hint_ring_finish" : "hint_line_finish");
  }
  get buttons() {
    if (this.draft) return ["finish", "take_back", "cancel"];
    if (this.name === "cut") return ["variant", "cancel"];
    return this.closed ? ["variant", "take_outline"] : ["variant"];
  }

  down(pt, event) {
    if (this.variant === "freehand") return this.stroke(pt);
    const points = this.draft?.points ?? [];
    const twice = this.last && performance.now() - this.last.time < TWICE_MS && distance(pt.screen, this.last.screen) < TWICE_PX;
    if (points.length >= this.least) {
      const { view } = this.bench;
      const atEnd = distance(pt.screen, view.toScreen(points.at(-1))) < grasp(pt.type, 4, 14);
      const atStart = this.closed && distance(pt.screen, view.toScreen(points[0])) < grasp(pt.type, 9, 22);
      if (twice || atEnd || atStart) { this.finish(); return null; }
    } else if (twice) return null;
    return super.down(pt, event);
  }

  hover(pt) { this.at = pt.photo; }

  place(pt) {
    this.last = { time: performance.now(), screen: pt.screen };
    const { draft } = this;
    this.draft = { points: [...(draft?.points ?? []), roundedPair(pt.photo)],
      picks: [...(draft?.picks ?? []), this.bench.pickOf(pt)] };
    this.at = pt.photo;
  }

  stroke(pt) {
    const points = [pt.photo];
    this.free = points;
    return {
      move: (now, event) => {
        const all = event?.getCoalescedEvents?.() ?? [];
        for (const each of all.length ? all : [null]) points.push(each ? this.bench.placeOf(each).photo : now.photo);
        this.bench.repaint();
      },
      up: () => {
        this.free = null;
        const fine = simplified(points, Math.min(0.5, 0.5 / this.bench.view.scale)).map(roundedPair);
        const enough = fine.length >= this.least && pathLength(points) * this.bench.view.scale > 6;
        if (enough) this.make(fine, "freehand", [this.bench.pickOf(pt)]);
        else this.bench.say("stroke_short");
        this.bench.repaint();
      },
      cancel: () => { this.free = null; },
    };
  }

  finish() {
    const { draft } = this;
    if (!draft) return;
    if (draft.points.length < this.least) { this.bench.say(this.closed ? "ring_needs_three" : "line_needs_two"); return; }
    this.last = null;
    this.draft = null;
    this.make(draft.points, "hand", draft.picks);
  }

  make(points, how, picks) {
    if (!this.closed) { this.bench.createMark({ shape: "line", points }, how, picks); return; }
    const [only] = this.bench.kept.chosen;
    const outer = this.bench.kept.chosen.length === 1 ? this.bench.shapeOf(only) : null;
    if (outer?.shape === "ring" && points.every((p) => reach(outer, p).within)) {
      this.bench.putShapes([[only, { ...outer, holes: [...outer.holes, points] }]], how);
      this.bench.say("cut_out");
    } else this.bench.createMark({ shape: "ring", points, holes: [] }, how, picks);
  }

  takeBack() {
    if (!this.draft) return false;
    const points = this.draft.points.slice(0, -1);
    this.draft = points.length ? { points, picks: this.draft.picks.slice(0, -1) } : null;
    return true;
  }

  paint(overlay) {
    if (this.free) overlay.path(this.free, { closed: false });
    if (!this.draft) return;
    const { points } = this.draft;
    overlay.path(points);
    if (this.at) overlay.path(this.closed && points.length > 1 ? [points.at(-1), this.at, points[0]] : [points.at(-1), this.at], { dashed: true });
    overlay.dots(points);
    if (this.closed && points.length >= 3) overlay.dots([points[0]], "first");
    const { plane, view } = this.bench;
    if (plane && this.at && !this.closed) {
      const [x, y] = view.toScreen(this.at);
      overlay.label([x + 16, y + 14], this.bench.words("about_mm", { n: plane.lengthMm([...points, this.at]).toFixed(1) }));
    }
  }
}

// A line across the chosen ring, which then is two or more; a way of working for just that long.
class CutTool extends PathTool {
  async make(points) {
    const { bench } = this;
    const { photo, kept: { chosen: [id] } } = bench;
    const ring = bench.shapeOf(id);
    if (ring?.shape !== "ring") { bench.setMode("choose"); return; }
    const answer = await askBench("rings/split", { ring, line: points });
    if (bench.photo !== photo || !sameShape(bench.shapeOf(id), ring)) return;
    if (!answer?.rings) { bench.sayText(answer?.error, "ring_away"); return; }
    bench.splitInto(id, answer.rings);
    bench.setMode("choose");
  }

  cancel() {
    if (!super.cancel()) this.bench.setMode("choose");
    return true;
  }
}
