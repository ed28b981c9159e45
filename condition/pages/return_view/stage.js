// A pair under the hand: paints both photos, follows mouse, pen, fingers and keys, steps through the changes.

const REST_MS = 140;
const QUICK = 0.5;
const MOST_DENSITY = 1.5;
const HANDLE_PX = 26;
const keptByPair = new Map();

class PairStage {
  constructor(parent) {
    this.host = parent.querySelector(".pair");
    this.words = (id, values = {}) =>
      (this.data?.words[id] ?? id).replace(/\{(\w+)\}/g, (whole, name) => (name in values ? String(values[name]) : whole));
    this.down = new Map();
    this.onSize = () => this.resized();
    addEventListener("resize", this.onSize);
  }

  update({ data, setTriggerValue }) {
    this.trigger = setTriggerValue;
    const entered = !this.pair;
    const first = this.pair?.id !== data.pair.id;
    this.data = data;
    if (first) this.open(data);
    this.findings = data.findings;
    if (data.go_to && data.go_to.nonce !== this.kept.went) {
      this.kept.went = data.go_to.nonce;
      if (data.go_to.box) this.showBox(data.go_to.box);
      else this.choose(data.go_to.change_id, false);
      if (!entered) this.host.scrollIntoView({ block: "nearest" });
    }
    this.goOn();
    if (data.drawing !== this.drawing) { this.drawing = data.drawing; this.draft = []; }
    this.panel.refresh();
    this.repaint();
  }

  open(data) {
    this.close(true);
    this.pair = data.pair;
    if (!keptByPair.has(data.pair.id))
      keptByPair.set(data.pair.id, { look: "side", view: null, wipe: 0.5, relit: true, outlines: true, doubt: false, chosen: null, went: null, blinking: !matchMedia("(prefers-reduced-motion: reduce)").matches });
    this.kept = keptByPair.get(data.pair.id);
    this.flip = false;
    this.asking = this.decided = null;
    this.draft = [];
    this.drawing = data.drawing;
    this.findings = data.findings;
    this.view = new View(data.pair.before);
    this.before = new Tiles(data.pair.before, () => this.repaint());
    this.laid = new Laid(data.pair.after, data.pair.before, data.pair.homography, data.pair.tone, () => this.repaint());
    this.panel = new PairPanel(this, this.host);
    this.context = this.panel.canvas.getContext("2d", { alpha: false });
    this.listen(this.panel.stage);
    this.sizer = new ResizeObserver(() => this.resized());
    this.sizer.observe(this.panel.stage);
    this.resized();
    this.setLook(this.kept.look);
    if (this.turning) this.panel.stage.focus({ preventScroll: true });
    this.turning = false;
    if (!this.changes.length) this.panel.say(this.words("none"));
  }

  // What is shown and stepped through: doubtful places only when they look like damage, are asked for, or chosen.
  get changes() {
    return this.data.changes.filter((one) => one.sure || one.first || this.kept.doubt || one.id === this.kept.chosen);
  }

  get chosen() { return this.data.changes.find((one) => one.id === this.kept.chosen); }

  close(forNext = false) {
    clearInterval(this.blink);
    if (this.pair) {
      this.keepView();
      this.sizer.disconnect();
      this.before.close();
      this.laid.close();
    }
    if (!forNext) { this.closed = true; removeEventListener("resize", this.onSize); }
  }

  keepView() { if (this.view.width > 1) this.kept.view = this.view.kept(); }

  // --- painting

  resized() {
    const { clientWidth: w, clientHeight: h } = this.panel.stage;
    if (!w || !h || this.closed) return;
    this.density = Math.min(devicePixelRatio || 1, MOST_DENSITY);
    this.panel.canvas.width = Math.round(w * this.density);
    this.panel.canvas.height = Math.round(h * this.density);
    this.size = [w, h];
    this.panes = panesOf(this.kept.look, w, h);
    const { width, height } = this.panes[0];
    if (this.view.width > 1) this.view.resize(width, height);
    else {
      Object.assign(this.view, { width, height });
      if (this.kept.view) this.view.restore(this.kept.view);
      else this.view.whole();
    }
    this.repaint();
  }

  repaint() {
    if (this.frame || this.closed) return;
    this.frame = requestAnimationFrame(() => { this.frame = null; this.paint(); });
  }

  moving() {
    this.quick = true;
    clearTimeout(this.resting);
    this.resting = setTimeout(() => { this.quick = false; this.repaint(); }, REST_MS);
    this.repaint();
  }

  paint() {
    if (this.closed || this.view.width <= 1) return;
    const { context, kept, view, density } = this;
    const [first, second] = this.panes;
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.fillStyle = "#FAFAF7";
    context.fillRect(0, 0, this.panel.canvas.width, this.panel.canvas.height);
    const one = this.beforePicture(first.width, first.height, this.kept.look === "difference" && this.quick ? QUICK : density);
    const laid = this.laid.picture(view, first.width, first.height, density * (this.quick ? QUICK : 1), kept.relit);
    this.before.want([one.base, one.tiles]);
    this.laid.tiles.want(laid.wanted);
    const put = (picture, pane, from = 0, to = 1) => this.put(picture, pane, from, to);
    if (kept.look === "side") { put(one.canvas, first); put(laid.out, second); }
    else if (kept.look === "wipe") { put(one.canvas, first); put(laid.out, first, kept.wipe, 1); this.paintHandle(); }
    else if (kept.look === "blink") put(this.flip ? laid.out : one.canvas, first);
    else put(this.difference(one, laid, first), first);
    if (kept.outlines)
      for (const pane of this.panes) this.clipped(pane, () =>
        paintOutlines(context, this.paneView(pane), density, pane.left, { changes: this.changes, findings: this.findings, chosen: kept.chosen }));
    if (this.drawing) this.clipped(first, () => this.paintDraft());
    this.panel.paint();
    this.host.dataset.sharp = String(one.sharp && laid.sharp && !this.quick);
  }

  paneView(pane) {
    return pane.top ? { scale: this.view.scale, x: this.view.x, y: this.view.y - pane.top / this.view.scale } : this.view;
  }

  clipped(pane, paint) {
    const { context, density } = this;
    context.save();
    context.beginPath();
    context.rect(pane.left * density, (pane.top ?? 0) * density, pane.width * density, pane.height * density);
    context.clip();
    paint();
    context.restore();
  }

  beforePicture(width, height, density) {
    this.front ??= document.createElement("canvas");
    const w = Math.max(1, Math.round(width * density)), h = Math.max(1, Math.round(height * density));
    if (this.front.width !== w || this.front.height !== h) { this.front.width = w; this.front.height = h; }
    const context = this.front.getContext("2d", { willReadFrequently: true, alpha: false });
    context.fillStyle = `rgb(${GROUND.join(",")})`;
    context.fillRect(0, 0, w, h);
    const { sharp, tiles } = this.before.paint(context, this.view, width, height, density);
    const base = this.before.touching(this.before.levels - 1, 0, 0, this.pair.before.width, this.pair.before.height);
    return { canvas: this.front, context, sharp, tiles, base };
  }

  difference(one, laid, pane) {
    const same = this.laid.picture(this.view, pane.width, pane.height, one.canvas.width / pane.width, true);
    const { width, height } = same.out;
    return differenceOf(one.context.getImageData(0, 0, width, height), same.out);
  }

  put(picture, pane, from, to) {
    const { context, density } = this;
    if (picture instanceof ImageData) {
      this.copy ??= document.createElement("canvas");
      this.copy.width = picture.width;
      this.copy.height = picture.height;
      this.copy.getContext("2d").putImageData(picture, 0, 0);
      picture = this.copy;
    }
    const x = pane.left * density, y = (pane.top ?? 0) * density, w = pane.width * density, h = pane.height * density;
    const sx = picture.width * from;
    context.imageSmoothingEnabled = true;
    context.fillStyle = `rgb(${GROUND.join(",")})`;
    context.fillRect(x + w * from, y, w * (to - from), h);
    context.drawImage(picture, sx, 0, picture.width * (to - from), picture.height, x + w * from, y, w * (to - from), h);
  }

  paintHandle() {
    const { context, density } = this;
    const x = this.kept.wipe * this.size[0] * density, h = this.size[1] * density;
    context.strokeStyle = "#fff";
    context.lineWidth = 4 * density;
    context.beginPath(); context.moveTo(x, 0); context.lineTo(x, h); context.stroke();
    context.strokeStyle = "#1F5C57";
    context.lineWidth = 2 * density;
    context.stroke();
    context.beginPath(); context.arc(x, h / 2, 15 * density, 0, 7);
    context.fillStyle = "#fff"; context.fill(); context.stroke();
    context.beginPath();
    for (const s of [-1, 1]) { context.moveTo(x + s * 4 * density, h / 2 - 5 * density); context.lineTo(x + s * 9 * density, h / 2); context.lineTo(x + s * 4 * density, h / 2 + 5 * density); }
    context.stroke();
  }

  paintDraft() {
    const { context, density } = this;
    if (!this.draft.length) return;
    tracePath(context, this.draft, this.view, density, 0);
    strokeTwice(context, "#1F5C57", 2.2, density, []);
    for (const [x, y] of this.draft) {
      context.beginPath();
      context.arc((x - this.view.x) * this.view.scale * density, (y - this.view.y) * this.view.scale * density, 4 * density, 0, 7);
      context.fillStyle = "#1F5C57";
      context.fill();
    }
  }

  // --- looking

  setLook(look) {
    this.kept.look = look;
    clearInterval(this.blink);
    this.flip = false;
    if (look === "blink" && this.kept.blinking) this.blink = setInterval(() => { this.flip = !this.flip; this.panel.refresh(); this.repaint(); }, BLINK_MS);
    this.resized();
    this.panel.refresh();
  }

  toggle(what) {
    this.kept[what] = !this.kept[what];
    if (what === "blinking") this.setLook(this.kept.look);
    this.panel.refresh();
    this.repaint();
  }

  other() { this.flip = !this.flip; this.panel.refresh(); this.repaint(); }

  change(act) { act(this.view); this.keepView(); this.moving(); }

  // --- changes

  step(by) {
    if (!this.changes.length && this.data.turns) { this.turnTo(by); return; }
    if (!this.changes.length) { this.panel.say(this.words("none")); return; }
    const at = this.changes.findIndex((one) => one.id === this.kept.chosen);
    if (this.data.turns && (at + by < 0 ? at >= 0 : at + by >= this.changes.length)) { this.turnTo(by); return; }
    const next = at < 0 ? (by > 0 ? 0 : this.changes.length - 1) : (at + by + this.changes.length) % this.changes.length;
    this.choose(this.changes[next].id, true);
  }

  // The next or the last pair of photos, from the end of this one's changes.
  turnTo(by) {
    this.turning = true;
    this.trigger("turned", { by, at: Date.now() });
  }

  showBox([x0, y0, x1, y1]) {
    const across = Math.max(x1 - x0, y1 - y0) * 4 + 60;
    this.view.scale = clamp(Math.min(this.view.width, this.view.height) / across, this.view.wholeScale, 4);
    this.view.centreOn([(x0 + x1) / 2, (y0 + y1) / 2]);
    this.keepView();
    this.repaint();
  }

  choose(id, tell) {
    if (!this.data.changes.some((one) => one.id === id)) return;
    if (this.kept.chosen !== id) this.asking = null;
    this.kept.chosen = id;
    const at = this.changes.findIndex((one) => one.id === id);
    this.showBox(loopBounds(this.changes[at].ring));
    this.panel.say(this.words("at", { n: at + 1, of: this.changes.length, what: this.changes[at].told }));
    this.panel.refresh();
    this.repaint();
    if (tell) {
      clearTimeout(this.telling);
      this.telling = setTimeout(() => this.trigger("chosen", { change_id: id, at: Date.now() }), 250);
    }
  }

  pick(place) {
    const reach = 8 / this.view.scale;
    const hit = [...this.changes].reverse().find((one) => {
      const [x0, y0, x1, y1] = loopBounds(one.ring);
      return place[0] > x0 - reach && place[0] < x1 + reach && place[1] > y0 - reach && place[1] < y1 + reach;
    });
    if (hit) this.choose(hit.id, true);
  }

  // --- decisions: asked in the panel, kept by the page

  ask(what) {
    if (this.chosen?.decision !== "open") { this.panel.say(this.words("choose_open")); return; }
    this.asking = this.asking === what ? null : what;
    this.panel.refresh();
    if (this.asking) this.panel.openForm();
    else this.panel.stage.focus({ preventScroll: true });
  }

  decide(words, kind) {
    if (this.asking !== "accept" && !words.trim()) { this.panel.say(this.words("say_why")); return; }
    const change = this.chosen;
    this.panel.said = { ...this.panel.said, [this.asking]: words.trim() };
    this.decided = { id: change.id, from: this.changes.map((one) => one.id) };
    this.trigger("decided", { change_id: change.id, act: this.asking, words: words.trim(), kind, at: Date.now() });
    this.asking = null;
    this.panel.refresh();
    this.panel.stage.focus({ preventScroll: true });
  }

  reopen() {
    if (!this.chosen || this.chosen.decision === "open") return;
    this.trigger("decided", { change_id: this.chosen.id, act: "reopen", words: "", kind: "", at: Date.now() });
  }

  takeBack() { if (this.data.undo) this.trigger("decided", { change_id: "", act: "undo", words: "", kind: "", at: Date.now() }); }

  // Once the page has kept a decision, on to the next place that nobody decided.
  goOn() {
    if (!this.decided) return;
    const done = this.data.changes.find((one) => one.id === this.decided.id);
    if (done && done.decision === "open") return;
    const { id, from } = this.decided;
    this.decided = null;
    const order = [...from.slice(from.indexOf(id) + 1), ...from.slice(0, Math.max(0, from.indexOf(id)))];
    const open = new Set(this.data.changes.filter((one) => one.decision === "open" && !one.known).map((one) => one.id));
    const next = order.find((one) => open.has(one));
    if (next) this.choose(next, false);
    else this.panel.say(this.words("all_decided"));
  }

  // --- a region drawn on the earlier photo

  finishRegion() {
    if (this.draft.length < 3) { this.panel.say(this.words("three_points")); return; }
    this.trigger("drew", { ring: this.draft.map(roundedPair), photo_id: this.pair.before.id, at: Date.now() });
    this.draft = [];
    this.panel.refresh();
    this.repaint();
  }

  undoPoint() { this.draft.pop(); this.panel.refresh(); this.repaint(); }

  // --- pointers

  placeOf(event) {
    const box = this.panel.stage.getBoundingClientRect();
    const at = [event.clientX - box.left, event.clientY - box.top];
    const pane = this.panes.find((p) => at[0] >= p.left && at[0] <= p.left + p.width && at[1] >= (p.top ?? 0) && at[1] <= (p.top ?? 0) + p.height) ?? this.panes[0];
    const screen = [at[0] - pane.left, at[1] - (pane.top ?? 0)];
    return { at, screen, photo: this.view.toPhoto(screen) };
  }

  listen(stage) {
    const on = (name, act, options) => stage.addEventListener(name, act, options);
    on("pointerdown", (event) => this.press(event));
    on("pointermove", (event) => this.move(event));
    for (const name of ["pointerup", "pointercancel", "lostpointercapture"]) on(name, (event) => this.release(event, name === "pointerup"));
    on("wheel", (event) => this.wheel(event), { passive: false });
    on("contextmenu", (event) => event.preventDefault());
    this.host.onkeydown = (event) => this.key(event);
  }

  press(event) {
    event.preventDefault();
    this.panel.stage.focus({ preventScroll: true });
    this.panel.stage.setPointerCapture(event.pointerId);
    const place = this.placeOf(event);
    this.down.set(event.pointerId, place);
    this.gone = 0;
    this.wiping = this.kept.look === "wipe" && Math.abs(place.at[0] - this.kept.wipe * this.size[0]) < HANDLE_PX;
    if (this.down.size === 2) this.pinch = this.twoFingers();
  }

  twoFingers() {
    const [a, b] = [...this.down.values()].map((place) => place.screen);
    return { apart: Math.max(distance(a, b), 1), middle: between(a, b, 0.5) };
  }

  move(event) {
    const before = this.down.get(event.pointerId);
    if (!before) return;
    const place = this.placeOf(event);
    this.down.set(event.pointerId, place);
    this.gone += distance(place.at, before.at);
    if (this.down.size === 2) {
      const now = this.twoFingers();
      this.change((view) => {
        view.panBy(now.middle[0] - this.pinch.middle[0], now.middle[1] - this.pinch.middle[1]);
        view.zoomBy(now.apart / this.pinch.apart, now.middle);
      });
      this.pinch = now;
    } else if (this.wiping) { this.kept.wipe = clamp(place.at[0] / this.size[0], 0, 1); this.repaint(); }
    else if (this.down.size === 1) this.change((view) => view.panBy(place.at[0] - before.at[0], place.at[1] - before.at[1]));
  }

  release(event, whole) {
    const place = this.down.get(event.pointerId);
    if (!place) return;
    this.down.delete(event.pointerId);
    if (!whole || this.gone > 6 || this.wiping || this.down.size) return;
    if (this.drawing) { this.draft.push(place.photo); this.panel.refresh(); this.repaint(); }
    else this.pick(place.photo);
  }

  wheel(event) {
    event.preventDefault();
    const lines = event.deltaMode === 1 ? 16 : event.deltaMode === 2 ? 400 : 1;
    const { screen } = this.placeOf(event);
    this.change((view) => view.zoomBy(Math.exp(-clamp(event.deltaY * lines, -400, 400) * 0.0016), screen));
  }

  // --- keys

  key(event) {
    event.stopPropagation();
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.closest?.(".ask")) { this.panel.formKey(event); return; }
    const onStage = event.target === this.panel.stage;
    const acts = {
      n: () => this.step(1), ".": () => this.step(1), p: () => this.step(-1), ",": () => this.step(-1),
      1: () => this.setLook("side"), 2: () => this.setLook("wipe"), 3: () => this.setLook("blink"), 4: () => this.setLook("difference"),
      a: () => this.ask("accept"), e: () => this.ask("explain"), x: () => this.ask("dismiss"), r: () => this.reopen(), u: () => this.takeBack(),
      "]": () => this.data.turns && this.turnTo(1), "[": () => this.data.turns && this.turnTo(-1),
      d: () => this.toggle("doubt"), l: () => this.toggle("relit"), o: () => this.toggle("outlines"),
      "+": () => this.change((v) => v.zoomBy(1.25, v.middle)), "=": () => this.change((v) => v.zoomBy(1.25, v.middle)),
      "-": () => this.change((v) => v.zoomBy(0.8, v.middle)), 0: () => this.change((v) => v.whole()),
      ...(onStage ? {
        " ": () => this.other(),
        ArrowLeft: () => this.arrow(1, 0), ArrowRight: () => this.arrow(-1, 0), ArrowUp: () => this.arrow(0, 1), ArrowDown: () => this.arrow(0, -1),
        Enter: () => this.drawing && this.finishRegion(), Backspace: () => this.drawing && this.undoPoint(),
      } : {}),
    };
    const act = acts[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    if (!act) return;
    event.preventDefault();
    act();
  }

  arrow(dx, dy) {
    if (this.kept.look === "wipe" && dx && !dy) { this.kept.wipe = clamp(this.kept.wipe - dx * 0.02, 0, 1); this.repaint(); }
    else this.change((view) => view.panBy((dx * view.width) / 8, (dy * view.height) / 8));
  }
}

const stages = new WeakMap();

export default function mount(component) {
  const { parentElement } = component;
  let stage = stages.get(parentElement);
  if (!stage) {
    stage = new PairStage(parentElement);
    stages.set(parentElement, stage);
    if (component.data.watched) globalThis.watchedPair = stage;
  }
  stage.update(component);
  return () => { stage.close(); stages.delete(parentElement); };
}
