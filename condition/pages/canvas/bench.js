// The bench: one photo under the hand. Joins view, tiles, marks, tools and panel; one instance a mounted component.

const LOUPE_PX = 156;
const LOUPE_ZOOM = 6;
const KEEP_MS = 200;
const LEAST_HEIGHT_PX = 400;
const TELL_PYTHON_MS = 350;

// What a tab remembers of each photo while the page lives, whatever Streamlit remounts meanwhile.
const keptByPhoto = new Map();

function keptOf(photoId) {
  if (!keptByPhoto.has(photoId)) {
    const kept = { mode: "choose", chosen: [], grip: null, drafts: {}, variants: {}, texts: true, grid: false, dim: true,
      amount: 0.5, taking: false, kind: null, finding: null, view: null, closing: [], undo: [], redo: [] };
    for (const key of ["page", "steps"])
      try {
        Object.assign(kept, JSON.parse(sessionStorage.getItem(`bench.${key}.${photoId}`) ?? "{}"));
      } catch {
        sessionStorage.removeItem(`bench.${key}.${photoId}`);
      }
    keptByPhoto.set(photoId, kept);
  }
  return keptByPhoto.get(photoId);
}

// How far the page round an element has been scrolled; asked through shadow roots.
function scrolledOff(element) {
  let off = 0;
  for (let each = element; each; each = each.parentNode ?? each.host) off += each.scrollTop ?? 0;
  return off;
}

class Bench {
  constructor(parent) {
    this.host = parent.querySelector(".bench");
    this.words = (id, values = {}) =>
      (this.data?.words[id] ?? id).replace(/\{(\w+)\}/g, (whole, name) => (name in values ? String(values[name]) : whole));
    this.lifted = new Map();
    this.cross = null;
    this.under = null;
    this.times = {};
    this.onHide = () => { this.endNudge(); this.keep(true); };
    this.onSize = () => this.fitHeight();
    this.onFocus = () => this.marks.refresh();
    addEventListener("pagehide", this.onHide);
    addEventListener("resize", this.onSize);
    addEventListener("focus", this.onFocus);
  }

  update({ data, setTriggerValue }) {
    this.trigger = setTriggerValue;
    const first = !this.photo || this.photo.id !== data.photo.id;
    const before = this.data;
    this.data = data;
    if (first) this.openPhoto(data);
    if (first || data.height !== before.height) this.fitHeight();
    this.plane = data.plane ? new Plane(data.plane) : null;
    this.takeGiven(data);
    this.layers.update(data.layers);
    this.marks.show(data.marks);
    if (first || !sameShape(before.marks, data.marks)) this.marks.refresh();
    const { go_to: goTo } = data;
    if (goTo && goTo.nonce !== this.kept.went) {
      this.kept.went = goTo.nonce;
      this.goTo(goTo);
    }
    this.repaint();
  }

  // What the page gives for the next marks counts when it changes; in between counts what was chosen here.
  takeGiven({ kind, finding_id: finding }) {
    const given = `${kind}|${finding ?? ""}`;
    if (this.kept.given === given && this.kept.kind) return;
    Object.assign(this.kept, { given, kind, finding: finding ?? null });
  }

  openPhoto(data) {
    this.closePhoto();
    this.mounted = performance.now();
    const { photo } = data;
    this.photo = photo;
    this.kept = keptOf(photo.id);
    this.signs = new Signs(data.legend);
    this.view = new View(photo);
    this.tiles = new Tiles(photo, () => this.repaint());
    this.marks = new Marks(photo.id, this.kept, () => this.repaint(), (news) => this.heard(news));
    this.panel = new Panel(this, this.host);
    this.fitHeight();
    this.layers = new Layers(this);
    this.overlay = new Overlay(this, this.panel.stage);
    tagFamily = getComputedStyle(this.host).fontFamily;
    this.overlay.zoomed.setAttribute("aria-label", this.words("marks_group"));
    this.pointers = new Pointers(this, this.panel.stage);
    this.tools = {
      hand: new HandTool(this, "hand"), choose: new ChooseTool(this, "choose"), point: new PointTool(this, "point"),
      circle: new CircleTool(this, "circle"), line: new PathTool(this, "line"), ring: new PathTool(this, "ring"),
      cut: new CutTool(this, "cut"),
      follow: new FollowTool(this, "follow"), holes: new HolesTool(this, "holes"), grow: new GrowTool(this, "grow"),
    };
    this.panel.stage.addEventListener("focusin", (event) => this.focused(event));
    this.panel.stage.addEventListener("keydown", (event) => this.key(event));
    this.panel.stage.addEventListener("keyup", (event) => this.keyUp(event));
    this.host.onkeydown = (event) => this.strayKey(event);
    this.sizer = new ResizeObserver(() => this.resized());
    this.sizer.observe(this.panel.stage);
    this.context = this.panel.canvas.getContext("2d", { alpha: false });
    this.resized();
    this.readyAssists();
    this.revive();
    if (outbox().queue.some((entry) => entry.recovered && entry.operation.mark.photo_id === photo.id)) this.tell("recovering");
  }

  closePhoto() {
    if (!this.photo) return;
    this.endNudge();
    this.keep(true);
    this.sizer.disconnect();
    this.tool.left?.();
    this.marks.close();
    this.layers.close();
    this.tiles.close();
  }

  close() {
    this.closePhoto();
    removeEventListener("pagehide", this.onHide);
    removeEventListener("resize", this.onSize);
    removeEventListener("focus", this.onFocus);
    this.closed = true;
  }

  get tool() { return this.tools[this.kept.mode]; }

  // A draft that came back from a reload asks again for what the server had not answered.
  revive() {
    const { follow, holes, grow } = this.kept.drafts;
    follow?.pieces.forEach((piece, i) => piece.straight && this.tools.follow.tracePiece(i));
    for (const draft of this.kept.closing) {
      draft.pieces.forEach((piece, i) => piece.straight && this.tools.follow.tracePiece(i, draft));
      this.tools.follow.close(draft);
    }
    if (holes?.asking) this.tools.holes.ask([holes.box[0], holes.box[1]], [holes.box[0] + holes.box[2], holes.box[1] + holes.box[3]]);
    if (grow) this.tools.grow.growAll(grow.steps.filter((step) => !step.result));
    if (Object.keys(this.kept.drafts).length) this.say("draft_kept");
  }

  // --- seeing

  // As high as asked, but with the strip below it still in sight of the window the page is read in.
  fitHeight() {
    const { top, foot, stage } = this.panel;
    const above = Math.max(0, this.host.getBoundingClientRect().top + scrolledOff(this.host));
    const room = innerHeight - above - top.offsetHeight - foot.offsetHeight - 16;
    stage.parentElement.style.height = `${clamp(room, Math.min(LEAST_HEIGHT_PX, this.data.height), this.data.height)}px`;
  }

  resized() {
    const { clientWidth: w, clientHeight: h } = this.panel.stage;
    if (!w || !h) return;
    const density = Math.min(devicePixelRatio || 1, 2);
    if (this.view.width === w && this.view.height === h && this.density === density) return;
    this.density = density;
    this.panel.canvas.width = Math.round(w * density);
    this.panel.canvas.height = Math.round(h * density);
    const known = this.view.width > 1;
    if (known) this.view.resize(w, h);
    else {
      Object.assign(this.view, { width: w, height: h });
      if (this.kept.view) this.view.restore(this.kept.view);
      else this.view.whole();
    }
    this.paint();
  }

  repaint() {
    if (this.frame || this.closed) return;
    this.frame = requestAnimationFrame(() => { this.frame = null; this.paint(); });
  }

  paint() {
    if (this.closed || this.view.width <= 1) return;
    const { context, view, density } = this;
    context.fillStyle = "#D9DCD7";
    context.fillRect(0, 0, this.panel.canvas.width, this.panel.canvas.height);
    const { sharp, tiles } = this.tiles.paint(context, view, view.width, view.height, density);
    this.layers.paint(context, view, view.width, view.height, density);
    this.host.dataset.sharp = String(sharp);
    if (sharp) this.tiles.firstCovered ??= performance.now();
    const base = this.tiles.touching(this.tiles.levels - 1, 0, 0, this.photo.width, this.photo.height);
    this.tiles.want([base, this.loupeTiles(), tiles]);
    this.layers.paintElsewhere();
    this.overlay.paint();
    this.paintLoupe();
    this.panel.paint();
  }

  changeView(change) {
    change(this.view);
    this.keep();
    this.repaint();
  }

  corner() {
    const box = this.panel.stage.getBoundingClientRect();
    return [box.left, box.top];
  }

  placeOf(event) {
    const [left, top] = this.corner();
    const screen = [event.clientX - left, event.clientY - top];
    return { screen, photo: this.view.toPhoto(screen), type: event.pointerType || "mouse" };
  }

  focusPlace() {
    const at = this.cross ?? this.under;
    return at ? this.view.toScreen(at) : this.view.middle;
  }

  // --- the loupe

  lookClosely(pt) {
    this.close_up = pt;
    this.repaint();
  }

  loupeView() {
    const pt = this.close_up;
    if (!pt) return null;
    const scale = Math.max(LOUPE_ZOOM, this.view.scale * 2.5);
    return { scale, x: pt.photo[0] - LOUPE_PX / 2 / scale, y: pt.photo[1] - LOUPE_PX / 2 / scale };
  }

  loupeTiles() {
    const view = this.loupeView();
    if (!view) return [];
    const across = LOUPE_PX / view.scale;
    return this.tiles.touching(this.tiles.levelFor(view.scale * this.density), view.x, view.y, across, across);
  }

  paintLoupe() {
    const { loupe } = this.panel;
    const view = this.loupeView();
    loupe.hidden = !view;
    if (!view) return;
    const size = LOUPE_PX * this.density;
    if (loupe.width !== size) loupe.width = loupe.height = size;
    const context = loupe.getContext("2d", { alpha: false });
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.fillStyle = "#D9DCD7";
    context.fillRect(0, 0, size, size);
    this.tiles.paint(context, view, LOUPE_PX, LOUPE_PX, this.density);
    this.layers.paint(context, view, LOUPE_PX, LOUPE_PX, this.density);
    this.paintLoupeMarks(context, view);
    this.placeLoupe(loupe);
  }

  paintLoupeMarks(context, view) {
    const s = view.scale * this.density;
    context.setTransform(s, 0, 0, s, -view.x * s, -view.y * s);
    context.lineWidth = (1.5 * this.density) / s;
    for (const mark of this.marks.all()) {
      context.strokeStyle = this.signs.of(mark.kind).colour;
      context.stroke(new Path2D(shapePath(this.lifted.get(mark.id) ?? mark.shape)));
    }
    const { points } = this.tool.draft ?? {};
    if (points?.length) {
      context.strokeStyle = "#1F5C57";
      context.stroke(new Path2D(loopPath([...points, this.close_up.photo], false)));
    }
    const middle = (LOUPE_PX * this.density) / 2, gap = 5 * this.density, arm = 24 * this.density;
    context.setTransform(1, 0, 0, 1, 0, 0);
    for (const [colour, width] of [["rgba(255,255,255,.9)", 4], ["#1D2628", 2]]) {
      context.strokeStyle = colour;
      context.lineWidth = width * this.density;
      context.beginPath();
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
        context.moveTo(middle + dx * gap, middle + dy * gap);
        context.lineTo(middle + dx * arm, middle + dy * arm);
      }
      context.stroke();
    }
  }

  // Above the finger or beside the pointer, on the side where there is room, never under the hand.
  placeLoupe(loupe) {
    const [x, y] = this.view.toScreen(this.close_up.photo);
    const touch = this.close_up.type === "touch";
    const away = touch ? 56 : 30;
    let left = touch ? x - LOUPE_PX / 2 : x + away, top = y - LOUPE_PX - away;
    if (top < 4) { top = touch ? 4 : y + away; if (touch) left = x > this.view.width / 2 ? x - LOUPE_PX - away : x + away; }
    if (left + LOUPE_PX > this.view.width - 4) left = touch ? this.view.width - LOUPE_PX - 4 : x - LOUPE_PX - away;
    loupe.style.transform = `translate(${clamp(left, 4, Math.max(4, this.view.width - LOUPE_PX - 4)).toFixed(1)}px, ${clamp(top, 4, Math.max(4, this.view.height - LOUPE_PX - 4)).toFixed(1)}px)`;
  }

  // --- remembering

  keep(now = false) {
    clearTimeout(this.keeping);
    if (!now) { this.keeping = setTimeout(() => this.keep(true), KEEP_MS); return; }
    if (this.view.width > 1) this.kept.view = this.view.kept();
    const { undo, redo, chosen, grip, joining, went, ...page } = this.kept;
    try {
      sessionStorage.setItem(`bench.page.${this.photo.id}`, JSON.stringify({ ...page, chosen, went }));
    } catch {
      sessionStorage.removeItem(`bench.page.${this.photo.id}`);
    }
  }

  // --- telling

  say(id, values) { this.panel.tell(this.words(id, values)); }
  sayText(text, otherwise) { this.panel.tell(text || this.words(otherwise)); }
  tell(id, values, actions, lasting) { this.panel.tell(this.words(id, values), actions, lasting); }
  whisper(id, values) { this.panel.live.textContent = this.words(id, values); }

  describe(mark) {
    const label = this.signs.label(mark.kind);
    const number = mark.number ?? this.words("not_numbered");
    return this.words(mark.text ? "mark_says_size" : "mark_says", { number, kind: label, shape: this.words(`shape_${mark.shape.shape}`), text: mark.text });
  }

  placeText([x, y]) {
    if (x < 0 || y < 0 || x > this.photo.width || y > this.photo.height) return "";
    const digits = this.view.scale > 4 ? 1 : 0;
    return this.words("place", { x: x.toFixed(digits), y: y.toFixed(digits) });
  }

  sizeText(px, at, what) {
    if (!this.plane) return this.words(`${what}_px`, { n: px.toFixed(1) });
    return this.words(`${what}_mm`, { n: (px / this.plane.pxPerMmAt(at)).toFixed(2) });
  }

  timed(what, ms) { (this.times[what] ??= []).push(ms); }

  heard({ what, operation, answer, lost }) {
    if (what === "refused") this.refused(operation, answer, lost);
    else if (what === "saved" && answer.unmarked) this.say(operation.mark.joined ? "joined_unmarked" : "unmarked", { number: answer.unmarked });
    else if (what === "recovered") this.say("recovered");
    else if (what === "trouble") {
      const sentence = answer === "fault" ? null : answer;
      this.sayText(sentence, "server_fault");
      return;
    }
    this.tellPython();
  }

  // The store kept another version of a mark: it is shown, and the work that was turned away can be put back over it.
  refused(operation, answer, lost) {
    const mine = answer.stale && lost.do === "put" ? lost.mark : null;
    const actions = mine ? [[this.words("put_mine_back"), () => {
      this.marks.change([{ id: mine.id, after: { ...mine, finding_id: this.marks.get(mine.id)?.finding_id ?? mine.finding_id } }], mine.how);
    }]] : [];
    this.panel.tell(answer.error || this.words("refused"), actions, true);
    if (!this.marks.get(operation.mark.id)) this.kept.chosen = this.kept.chosen.filter((id) => id !== operation.mark.id);
  }

  tellPython() {
    clearTimeout(this.telling);
    this.telling = setTimeout(() => {
      if (outbox().queue.length) this.tellPython();
      else if (!this.closed) this.trigger("saved", { photo_id: this.photo.id, at: Date.now() });
    }, TELL_PYTHON_MS);
  }

  // --- keys

  key(event) {
    event.stopPropagation();
    if (event.target !== this.panel.stage && !event.target.closest(".mark")) return;
    if (event.key === " ") {
      event.preventDefault();
      if (!event.repeat) { this.spaceHeld = true; this.spaceUsed = false; }
      this.repaint();
      return;
    }
    if (ARROWS[event.key]) { event.preventDefault(); this.arrow(event); return; }
    if (event.key === "Enter" && this.enter(event)) { event.preventDefault(); return; }
    if (event.key === "Tab" || event.altKey) return;
    if (runKey(this, event)) event.preventDefault();
    this.repaint();
  }

  keyUp(event) {
    if (event.key !== " ") return;
    this.spaceHeld = false;
    if (!this.spaceUsed && this.cross) this.placeCross();
    this.repaint();
  }

  // Keys pressed on a button: shortcuts work there too, and none of them reaches the page around the canvas.
  strayKey(event) {
    event.stopPropagation();
    if (event.defaultPrevented || event.target.closest("input")) return;
    const shortcut = !["Enter", " ", "Tab", "Backspace"].includes(event.key) && !ARROWS[event.key];
    if (shortcut && !event.altKey && runKey(this, event)) { event.preventDefault(); this.repaint(); }
  }

  // Enter places the crosshair's point while it stands somewhere new; otherwise it finishes what is being made.
  enter(event) {
    const mark = event.target.closest(".mark");
    if (mark && this.kept.mode === "choose") { this.chooseByKey(mark.dataset.id, event.shiftKey); return true; }
    if (this.cross && this.tool.places && !this.crossPlaced) { this.placeCross(); return true; }
    return false;
  }

  placeCross() {
    if (!this.tool.places) return;
    const pt = { photo: this.cross.slice(), screen: this.view.toScreen(this.cross), type: "keys" };
    this.crossPlaced = true;
    this.tool.hover(pt);
    this.tool.place(pt);
    this.lookClosely(null);
    this.whisper("placed", { x: pt.photo[0].toFixed(1), y: pt.photo[1].toFixed(1) });
    this.keep();
    this.repaint();
  }

  arrow(event) {
    const [dx, dy] = ARROWS[event.key];
    const step = event.altKey ? FINE_STEP_PX : event.shiftKey ? BIG_STEP_PX : STEP_PX;
    if (this.tool.places) this.moveCross(dx, dy, event.ctrlKey ? null : step);
    else if (this.kept.mode === "choose" && this.kept.chosen.length && !event.ctrlKey) this.nudge(dx * step, dy * step);
    else this.changeView((v) => v.panBy((-dx * v.width) / 8, (-dy * v.height) / 8));
  }

  moveCross(dx, dy, step) {
    const { view } = this;
    const px = step ?? Math.max(1, Math.round(view.width / 12 / view.scale));
    const from = this.cross ?? this.under ?? view.toPhoto(view.middle).map((v) => Math.floor(v) + 0.5);
    this.cross = [clamp(from[0] + dx * px, 0, this.photo.width), clamp(from[1] + dy * px, 0, this.photo.height)].map(rounded);
    this.crossPlaced = false;
    view.follow(this.cross, 40);
    const pt = { photo: this.cross, screen: view.toScreen(this.cross), type: "keys" };
    this.tool.hover(pt);
    this.lookClosely(pt);
    this.keep();
  }

  // Nudges show at once and are saved as one step when the key rests.
  nudge(dx, dy) {
    const grip = this.kept.grip;
    const { chosen } = this.kept;
    this.nudging ??= chosen.map((id) => [id, this.shapeOf(id)]);
    this.nudging = this.nudging.map(([id, shape]) => {
      const held = grip && chosen.length === 1 && gripsOf(shape).find((g) => g.role === grip.role && g.loop === grip.loop && g.i === grip.i);
      return [id, held ? withGripAt(shape, held, [held.at[0] + dx, held.at[1] + dy]) : movedShape(shape, dx, dy)];
    });
    this.lift(...this.nudging.flat());
    const [, shape] = this.nudging[0];
    const held = grip && gripsOf(shape).find((g) => g.role === grip.role && g.loop === grip.loop && g.i === grip.i);
    if (held) this.lookClosely({ photo: held.at, type: "keys" });
    clearTimeout(this.nudgeTimer);
    this.nudgeTimer = setTimeout(() => this.endNudge(), 450);
  }

  endNudge() {
    if (!this.nudging) return;
    clearTimeout(this.nudgeTimer);
    const shapes = this.nudging;
    this.nudging = null;
    this.lookClosely(null);
    this.putShapes(shapes, "hand");
  }

  // --- ways of working

  setMode(mode) {
    if (mode === this.kept.mode) return;
    this.endNudge();
    this.tool.left?.();
    this.kept.mode = mode;
    this.kept.grip = this.kept.joining = null;
    this.lookClosely(null);
    if (!this.tool.places) this.cross = null;
    this.readyAssists();
    this.whisper("mode_now", { mode: this.words(`do_${mode}`) });
    this.keep();
    this.repaint();
  }

  // The first assist on a photo waits for its pixels: have them fetched while the pointer is still on its way.
  readyAssists() {
    if (this.kept.mode === "follow") this.tools.follow.ways.fetchSketch();
    if (!["follow", "holes", "grow"].includes(this.kept.mode) || this.readied === this.photo.id) return;
    this.readied = this.photo.id;
    askAssist("ready", { photo_id: this.photo.id });
  }

  nextVariant() {
    const { tool } = this;
    if (tool.draft && !tool.turnsFreely) { this.say("variant_busy"); return; }
    const all = tool.variants;
    this.kept.variants[tool.name] = all[(all.indexOf(tool.variant) + 1) % all.length];
    tool.variantChanged();
    this.whisper(`variant_${tool.name}_${tool.variant}`);
    this.keep();
    this.repaint();
  }

  finish() { this.tool.finish(); this.keep(true); this.repaint(); }
  takeBack() { this.tool.takeBack(); this.keep(); this.repaint(); }

  cancel() {
    if (this.panel.shut()) return;
    this.pointers.gesture?.cancel?.();
    this.pointers.gesture = null;
    this.lift();
    this.lookClosely(null);
    if (this.cross && !this.tool.busy) this.cross = null;
    else if (!this.tool.cancel() && this.kept.chosen.length) this.choose([]);
    this.panel.hush();
    this.keep();
    this.repaint();
  }

  flip(name) {
    this.kept[name] = !this.kept[name];
    this.keep();
    this.repaint();
  }

  setAmount(value) {
    this.kept.amount = clamp(Math.round(value * 100) / 100, 0, 1);
    this.tools.grow.amountChanged();
    this.whisper("amount_now", { n: Math.round(this.kept.amount * 100) });
    this.repaint();
  }

  setBrush(factor) {
    this.kept.brush = clamp(Math.round((this.kept.brush ?? 14) * factor), 3, 80);
    this.repaint();
  }

  panGesture() {
    let last = null, far = 0;
    this.panning = true;
    const from = [...this.pointers.down.values()][0];
    last = from;
    return {
      moved: () => far > DRAG_PX,
      move: (now, event) => {
        const at = [event.clientX, event.clientY];
        far = Math.max(far, distance(at, from));
        this.view.panBy(at[0] - last[0], at[1] - last[1]);
        last = at;
      },
      up: () => { this.panning = false; },
      cancel: () => { this.panning = false; },
    };
  }

  // --- marks

  shapeOf(id) { return this.lifted.get(id) ?? this.marks.get(id)?.shape ?? null; }

  lift(...pairs) {
    this.lifted.clear();
    for (let i = 0; i < pairs.length; i += 2) this.lifted.set(pairs[i], pairs[i + 1]);
    this.repaint();
  }

  // The standard deviation of one placed point, in photo pixels: what a hand resolves on the screen at this zoom.
  pickOf(pt) {
    if (pt.type === "keys") return 0.5;
    return rounded(Math.max(0.25, PICK_SCREEN_PX * grasp(pt.type, 1, 2) / this.view.scale));
  }

  createMark(shape, how, picks = [], { usual = null, more = [] } = {}) {
    const free = !this.kept.finding && !this.signs.of(this.kept.kind).hidden;
    const kind = usual && free && !usual.includes(this.kept.kind) ? usual[0] : this.kept.kind;
    const ids = [shape, ...more].map(() => crypto.randomUUID());
    const known = picks.map((p) => (typeof p === "number" ? p : this.pickOf(p)));
    const pick = known.length ? rounded(Math.sqrt(known.reduce((sum, p) => sum + p * p, 0) / known.length)) : null;
    this.marks.change([shape, ...more].map((each, i) => ({ id: ids[i], after: { finding_id: this.kept.finding, kind, shape: each },
      pick, follows: i ? ids[0] : null })), how);
    this.kept.chosen = [ids[0]];
    this.kept.grip = null;
    this.whisper("made", { shape: this.words(`shape_${shape.shape}`), kind: this.signs.label(kind) });
    this.keep();
    this.repaint();
  }

  // The outline of what fills the photo, put down as one ring to be corrected by dragging.
  async takeOutline() {
    const { photo } = this;
    this.tell("outline_asking", {}, [], true);
    const answer = await askAssist("outline", { photo_id: photo.id });
    if (this.photo !== photo || this.closed) return;
    if (!answer?.ring) { this.sayText(answer?.error, "assist_away"); return; }
    this.createMark({ shape: "ring", points: answer.ring.map(roundedPair), holes: [] }, "fitted");
    this.setMode("choose");
    if (answer.advice) this.panel.tell(answer.advice, [], true);
    else this.say("outline_taken");
  }

  putShapes(pairs, how, more = [], pick = null) {
    this.lift();
    const changes = pairs.filter(([id, shape]) => this.marks.get(id) && !sameShape(this.marks.get(id).shape, shape))
      .map(([id, shape]) => ({ id, after: { ...this.marks.get(id), shape }, pick }));
    for (const shape of more) {
      const { finding_id, kind } = this.marks.get(pairs[0][0]);
      changes.push({ id: crypto.randomUUID(), after: { finding_id, kind, shape }, pick, follows: pairs[0][0] });
    }
    if (changes.length) this.marks.change(changes, how);
  }

  removeMarks(ids) {
    const present = ids.filter((id) => this.marks.get(id));
    if (!present.length) return;
    this.marks.change(present.map((id) => ({ id, after: null })), "hand");
    this.kept.chosen = this.kept.chosen.filter((id) => !present.includes(id));
    this.kept.grip = null;
    this.whisper(present.length === 1 ? "removed_one" : "removed_many", { n: present.length });
  }

  heldCorner() {
    const { kept } = this;
    return kept.mode === "choose" && kept.chosen.length === 1 && kept.grip?.role === "corner" ? kept.grip : null;
  }

  removeHeld() {
    this.endNudge();
    const grip = this.heldCorner();
    const [id] = this.kept.chosen;
    const shape = grip && this.shapeOf(id);
    if (grip && shape.shape !== "point") {
      const less = withoutCorner(shape, grip);
      if (!less) { this.say(shape.shape === "line" ? "line_needs_two" : "ring_needs_three"); return; }
      this.kept.grip = null;
      this.putShapes([[id, less]], "hand");
      return;
    }
    this.removeMarks(this.kept.chosen);
  }

  addCorner() {
    const grip = this.heldCorner();
    const [id] = this.kept.chosen;
    const middle = gripsOf(this.shapeOf(id)).find((g) => g.role === "middle" && g.loop === grip.loop && g.i === grip.i + 1);
    if (!middle) return;
    this.kept.grip = { role: "corner", loop: middle.loop, i: middle.i };
    this.putShapes([[id, withGripAt(this.shapeOf(id), middle, middle.at)]], "hand");
  }

  split() {
    const [id] = this.kept.chosen;
    const mark = this.marks.get(id);
    const [one, two] = splitLine(mark.shape, this.heldCorner().i);
    const other = crypto.randomUUID();
    this.marks.change([{ id, after: { ...mark, shape: one } },
      { id: other, after: { finding_id: mark.finding_id, kind: mark.kind, shape: two }, follows: id }], "hand");
    this.kept.grip = null;
    this.whisper("split_done");
  }

  splitInto(id, rings) {
    const mark = this.marks.get(id);
    const [first, ...others] = rings.map(roundedRing);
    this.putShapes([[id, first]], "hand", others, mark.pick ?? null);
    this.kept.grip = null;
    this.whisper("split_ring_done", { n: rings.length });
  }

  // Two lines, or two rings.
  twoAlike() {
    const shapes = this.kept.chosen.map((id) => this.marks.get(id)?.shape.shape);
    return shapes.length === 2 && shapes[0] === shapes[1] && ["line", "ring"].includes(shapes[0]);
  }

  join() {
    if (this.twoAlike()) { this.joinPair(...this.kept.chosen); return; }
    this.setMode("choose");
    this.kept.joining = this.kept.chosen[0];
    this.repaint();
  }

  joinWith(id) {
    const first = this.kept.joining;
    if (id === first) return;
    if (this.marks.get(id)?.shape.shape !== this.marks.get(first)?.shape.shape) { this.say("join_alike_only"); return; }
    this.kept.joining = null;
    this.joinPair(first, id);
  }

  async joinPair(first, second) {
    const mark = this.marks.get(first), other = this.marks.get(second);
    let shape;
    if (mark.shape.shape === "line") shape = joinedLines(mark.shape, other.shape);
    else {
      const { photo } = this;
      const answer = await askBench("rings/join", { rings: [mark.shape, other.shape] });
      const stand = this.photo === photo && [mark, other].every(({ id, shape: was }) => sameShape(this.marks.get(id)?.shape, was));
      if (!stand) return;
      if (!answer?.rings) { this.sayText(answer?.error, "ring_away"); return; }
      shape = roundedRing(answer.rings[0]);
    }
    this.marks.change([{ id: first, after: { ...mark, shape } }, { id: second, after: null, joined: true }], "hand");
    this.choose([first]);
    this.say(shape.shape === "line" ? "join_done" : "join_rings_done");
  }

  copyTo(finding) {
    const [id] = this.kept.chosen;
    const mark = this.marks.get(id);
    const copy = crypto.randomUUID();
    this.marks.change([{ id: copy, after: { finding_id: finding?.id ?? null, kind: finding?.kind ?? this.kept.kind,
      shape: structuredClone(mark.shape) } }], "hand");
    this.choose([copy]);
    this.say("copied", { number: finding?.number ?? this.words("new_one") });
  }

  giveKind(kind) {
    const ids = this.kept.chosen.filter((id) => this.marks.get(id)?.kind !== kind);
    if (ids.length) this.marks.change(ids.map((id) => ({ id, after: { ...this.marks.get(id), kind } })), "hand");
  }

  setKind(kind) {
    this.kept.kind = kind;
    this.kept.finding = null;
    this.keep();
    this.repaint();
  }

  // The next marks go to the chosen mark's finding, or each to a new one again.
  belong(to) {
    const chosen = this.marks.get(this.kept.chosen[0]);
    if (to === null || this.kept.finding || !chosen?.finding_id) this.kept.finding = null;
    else {
      this.kept.finding = chosen.finding_id;
      this.kept.kind = chosen.kind;
    }
    this.whisper(this.kept.finding ? "goes_to" : "new_finding", { number: chosen?.number });
    this.keep();
    this.repaint();
  }

  findings() {
    const known = new Map((this.data.findings ?? []).map((finding) => [finding.id, finding]));
    for (const mark of this.marks.all())
      if (mark.finding_id && !known.has(mark.finding_id)) known.set(mark.finding_id, { id: mark.finding_id, number: mark.number, kind: mark.kind });
    return [...known.values()].sort((a, b) => (a.number ?? 1e9) - (b.number ?? 1e9));
  }

  // While something is being drawn, undo takes back its last point; then come the steps before it.
  undo() {
    if (this.tool.busy && this.tool.takeBack()) this.keep();
    else this.stepped(this.marks.undo(), "undone");
  }

  redo() { this.stepped(this.marks.redo(), "redone"); }

  stepped(result, word) {
    this.kept.grip = null;
    this.kept.chosen = this.kept.chosen.filter((id) => this.marks.get(id));
    if (!result) { this.whisper(`nothing_${word}`); return; }
    if (result.foreign) this.say("changed_elsewhere", { n: result.foreign });
    else this.whisper(word);
  }

  // --- choosing

  markAt(pt) {
    const slack = grasp(pt.type, 7, 18) / this.view.scale;
    let best = null;
    for (const mark of this.marks.all()) {
      const box = shapeBounds(mark.shape);
      const far = mark.shape.shape === "point" ? slack + 8 / this.view.scale : slack;
      if (pt.photo[0] < box[0] - far || pt.photo[0] > box[2] + far || pt.photo[1] < box[1] - far || pt.photo[1] > box[3] + far) continue;
      const { away, within } = reach(mark.shape, pt.photo);
      if (away > far && !within) continue;
      const rank = away <= far ? away * this.view.scale : 1000 + shapeArea(mark.shape);
      if (!best || rank < best.rank) best = { mark, rank };
    }
    return best?.mark ?? this.tagUnder(pt);
  }

  tagUnder(pt) {
    for (const [id, { tag, place }] of this.overlay.drawn) {
      if (!place) continue;
      const [x, y] = tagAt(place, tag.size, this.view);
      if (pt.screen[0] >= x && pt.screen[0] <= x + tag.size[0] && pt.screen[1] >= y && pt.screen[1] <= y + tag.size[1]) return this.marks.get(id);
    }
    return null;
  }

  choose(ids) {
    this.endNudge();
    this.kept.chosen = ids;
    this.kept.grip = null;
    const mark = this.marks.get(ids[0]);
    if (mark) this.panel.live.textContent = this.describe(mark);
    if (this.data.tell_chosen)
      this.trigger("chosen", { photo_id: this.photo.id, mark_id: mark?.id ?? null, finding_id: mark?.finding_id ?? null });
    this.keep();
    this.repaint();
  }

  chooseByKey(id, more) {
    if (this.kept.joining) { this.joinWith(id); return; }
    this.choose(more ? [...new Set([...this.kept.chosen, id])] : [id]);
  }

  focused(event) {
    const id = event.target.closest(".mark")?.dataset.id;
    if (!id || !event.target.matches(":focus-visible")) return;
    this.view.show(shapeBounds(this.shapeOf(id)));
    if (this.kept.mode === "choose" && !this.kept.joining && !this.kept.chosen.includes(id)) this.choose([id]);
    this.repaint();
  }

  stepMark(by) {
    const marks = this.marks.all().sort((a, b) => (a.number ?? 1e9) - (b.number ?? 1e9) || (a.id < b.id ? -1 : 1));
    if (!marks.length) { this.whisper("no_marks"); return; }
    const at = marks.findIndex((mark) => mark.id === this.kept.chosen[0]);
    const next = marks[at < 0 ? (by > 0 ? 0 : marks.length - 1) : (at + by + marks.length) % marks.length];
    if (this.kept.joining) { this.kept.chosen = [next.id]; this.joinWith(next.id); return; }
    this.choose([next.id]);
    this.showChosen();
  }

  stepGrip(by) {
    const grips = gripsOf(this.shapeOf(this.kept.chosen[0])).filter((g) => g.role !== "middle");
    const { grip } = this.kept;
    const at = grip ? grips.findIndex((g) => g.role === grip.role && g.loop === grip.loop && g.i === grip.i) : by > 0 ? -1 : 0;
    const next = grips[(at + by + grips.length) % grips.length];
    this.kept.grip = { role: next.role, loop: next.loop, i: next.i };
    this.view.follow(next.at, 40);
    this.whisper("corner_now", { n: grips.indexOf(next) + 1, of: grips.length });
  }

  showChosen() {
    const boxes = this.kept.chosen.map((id) => this.shapeOf(id)).filter(Boolean).map(shapeBounds);
    if (!boxes.length) return;
    this.changeView((v) => v.show([Math.min(...boxes.map((b) => b[0])), Math.min(...boxes.map((b) => b[1])),
      Math.max(...boxes.map((b) => b[2])), Math.max(...boxes.map((b) => b[3]))]));
  }

  goTo({ finding_id: findingId, mark_id: markId }) {
    const ids = this.marks.all().filter((mark) => mark.id === markId || (findingId && mark.finding_id === findingId)).map((mark) => mark.id);
    if (!ids.length) return;
    this.kept.chosen = ids;
    this.kept.grip = null;
    this.showChosen();
  }
}

const benches = new WeakMap();

export default function mount(component) {
  const { parentElement } = component;
  let bench = benches.get(parentElement);
  if (!bench) {
    bench = new Bench(parentElement);
    benches.set(parentElement, bench);
    if (component.data.watched) globalThis.watchedBench = bench;
  }
  bench.update(component);
  return () => {
    bench.close();
    benches.delete(parentElement);
  };
}
