// The same place on two photos: wheel or pinch to come closer, drag to move, click to set a point, drag a point to move it.

const TILE_PX = 512;
const DRAG_PX = 5;
const HOLD_PX = 18;
const NEAR = "#1F5C57";

class Side {
  constructor(owner, index) {
    Object.assign(this, { owner, index, tiles: new Map(), down: new Map(), scale: 0, x: 0, y: 0, cross: null });
    this.canvas = make("canvas", { tabIndex: 0 });
    this.canvas.setAttribute("role", "application");
    this.caption = make("p");
    this.box = make("div", { className: "half" }, this.caption, this.canvas);
    const { canvas } = this;
    canvas.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    canvas.addEventListener("pointerdown", (event) => this.press(event));
    canvas.addEventListener("pointermove", (event) => this.move(event));
    for (const type of ["pointerup", "pointercancel"]) canvas.addEventListener(type, (event) => this.lift(event));
    canvas.addEventListener("keydown", (event) => this.key(event));
    this.sizer = new ResizeObserver(() => this.resize());
    this.sizer.observe(canvas);
  }

  show(photo, label) {
    this.photo = photo;
    this.caption.textContent = label;
    this.canvas.setAttribute("aria-label", label);
    this.resize();
  }

  resize() {
    const { clientWidth: w, clientHeight: h } = this.canvas;
    if (!w || !h || !this.photo) return;
    const density = Math.min(devicePixelRatio || 1, 2);
    if (this.canvas.width !== Math.round(w * density)) Object.assign(this.canvas, { width: Math.round(w * density), height: Math.round(h * density) });
    this.density = density;
    if (!this.scale) {
      this.scale = this.whole = Math.min(w / this.photo.width, h / this.photo.height);
      this.x = (this.photo.width - w / this.scale) / 2;
      this.y = (this.photo.height - h / this.scale) / 2;
    }
    this.paint();
  }

  at(event) {
    const box = this.canvas.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  }
  toPhoto([x, y]) { return [x / this.scale + this.x, y / this.scale + this.y]; }
  toScreen([x, y]) { return [(x - this.x) * this.scale, (y - this.y) * this.scale]; }
  inside([x, y]) { return x >= 0 && y >= 0 && x <= this.photo.width && y <= this.photo.height; }

  zoom(factor, about) {
    const [px, py] = this.toPhoto(about);
    this.scale = Math.min(8, Math.max(this.whole * 0.8, this.scale * factor));
    this.x = px - about[0] / this.scale;
    this.y = py - about[1] / this.scale;
    this.paint();
  }

  wheel(event) {
    event.preventDefault();
    this.zoom(Math.exp(-event.deltaY * 0.0016), this.at(event));
  }

  press(event) {
    event.preventDefault();
    this.canvas.focus({ preventScroll: true });
    this.canvas.setPointerCapture(event.pointerId);
    const at = this.at(event);
    this.down.set(event.pointerId, at);
    const held = this.owner.points(this.index).findIndex((p) => p && Math.hypot(...this.toScreen(p).map((v, i) => v - at[i])) < HOLD_PX);
    this.gesture = { from: at, far: 0, held: this.down.size === 1 ? held : -1 };
  }

  move(event) {
    if (!this.down.has(event.pointerId)) return;
    const before = [...this.down.values()], at = this.at(event), last = this.down.get(event.pointerId);
    this.down.set(event.pointerId, at);
    const after = [...this.down.values()];
    if (after.length === 2) {
      const span = (p) => Math.hypot(p[0][0] - p[1][0], p[0][1] - p[1][1]);
      this.gesture.far = 1e3;
      this.zoom(span(after) / Math.max(1, span(before)), [0, 1].map((i) => (after[0][i] + after[1][i]) / 2));
      return;
    }
    this.gesture.far = Math.max(this.gesture.far, Math.hypot(at[0] - this.gesture.from[0], at[1] - this.gesture.from[1]));
    if (this.gesture.far < DRAG_PX) return;
    if (this.gesture.held >= 0) this.owner.put(this.index, this.gesture.held, this.toPhoto(at), false);
    else { this.x -= (at[0] - last[0]) / this.scale; this.y -= (at[1] - last[1]) / this.scale; this.paint(); }
  }

  lift(event) {
    if (!this.down.delete(event.pointerId) || this.down.size) return;
    const { far, held } = this.gesture;
    if (event.type === "pointerup" && far < DRAG_PX && held < 0) this.owner.add(this.index, this.toPhoto(this.at(event)));
    else if (held >= 0 && far >= DRAG_PX) this.owner.tell();
  }

  // Without a pointer: arrows move a crosshair, Enter sets the point under it.
  key(event) {
    const by = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    const middle = [this.canvas.clientWidth / 2, this.canvas.clientHeight / 2];
    if (by) {
      const step = (event.shiftKey ? 20 : 2) / this.scale;
      this.cross ??= this.toPhoto(middle);
      this.cross = this.cross.map((v, i) => v + by[i] * step);
    } else if (event.key === "Enter" && this.cross) this.owner.add(this.index, this.cross);
    else if (event.key === "+" || event.key === "=") this.zoom(1.4, this.cross ? this.toScreen(this.cross) : middle);
    else if (event.key === "-") this.zoom(1 / 1.4, this.cross ? this.toScreen(this.cross) : middle);
    else return;
    event.preventDefault();
    event.stopPropagation();
    this.paint();
  }

  paint() {
    if (this.frame) return;
    this.frame = requestAnimationFrame(() => { this.frame = null; this.draw(); });
  }

  draw() {
    const { canvas, photo, density } = this;
    if (!this.scale || !photo) return;
    const context = canvas.getContext("2d", { alpha: false }), s = this.scale * density;
    context.fillStyle = "#D9DCD7";
    context.fillRect(0, 0, canvas.width, canvas.height);
    const level = Math.min(photo.levels - 1, Math.max(0, Math.floor(Math.log2(1 / s) + 1e-9)));
    for (let each = photo.levels - 1; each >= level; each--) this.drawLevel(context, each, s, each === level || each === photo.levels - 1);
    this.owner.points(this.index).forEach((point, i) => point && this.drawPoint(context, this.toScreen(point).map((v) => v * density), String(i + 1)));
    if (this.cross) this.drawPoint(context, this.toScreen(this.cross).map((v) => v * density), "");
  }

  drawLevel(context, level, s, fetching) {
    const { photo } = this, span = TILE_PX * 2 ** level;
    const right = this.x + this.canvas.width / s, bottom = this.y + this.canvas.height / s;
    for (let row = Math.max(0, Math.floor(this.y / span)); row * span < Math.min(bottom, photo.height); row++)
      for (let col = Math.max(0, Math.floor(this.x / span)); col * span < Math.min(right, photo.width); col++) {
        const key = `${level}/${col}_${row}`, bitmap = this.tiles.get(key);
        if (bitmap?.width) context.drawImage(bitmap, (col * span - this.x) * s, (row * span - this.y) * s, bitmap.width * 2 ** level * s, bitmap.height * 2 ** level * s);
        else if (!bitmap && fetching) this.fetchTile(key);
      }
  }

  async fetchTile(key) {
    this.tiles.set(key, {});
    try {
      const answer = await fetch(`${this.photo.tiles}${key}.jpg`);
      if (!answer.ok) throw new Error(String(answer.status));
      this.tiles.set(key, await createImageBitmap(await answer.blob()));
    } catch { setTimeout(() => this.tiles.delete(key), 1500); }
    this.paint();
  }

  drawPoint(context, [x, y], label) {
    const r = 9 * this.density;
    for (const [colour, width] of [["#fff", 5], [NEAR, 2]]) {
      context.strokeStyle = colour;
      context.lineWidth = width * this.density;
      context.beginPath();
      context.arc(x, y, r, 0, 7);
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) { context.moveTo(x + dx * r * 0.4, y + dy * r * 0.4); context.lineTo(x + dx * r * 1.7, y + dy * r * 1.7); }
      context.stroke();
    }
    context.font = `650 ${13 * this.density}px system-ui`;
    context.lineWidth = 4 * this.density;
    context.strokeStyle = "#fff";
    context.strokeText(label, x + r * 1.3, y - r * 0.9);
    context.fillStyle = NEAR;
    context.fillText(label, x + r * 1.3, y - r * 0.9);
  }

  close() {
    this.sizer.disconnect();
    for (const bitmap of this.tiles.values()) bitmap.close?.();
  }
}

class Pairs {
  constructor(parent) {
    this.pairs = [];
    this.sides = [new Side(this, 0), new Side(this, 1)];
    this.hint = make("p", { className: "hint" });
    this.hint.setAttribute("role", "status");
    this.remove = make("button", { type: "button", onclick: () => { this.pairs.pop(); this.changed(); } });
    this.clear = make("button", { type: "button", onclick: () => { this.pairs = []; this.changed(); } });
    parent.querySelector(".pairs").replaceChildren(make("div", { className: "halves" }, ...this.sides.map((side) => side.box)),
      make("div", { className: "foot" }, this.hint, this.remove, this.clear));
  }

  update({ data, setTriggerValue }) {
    this.trigger = setTriggerValue;
    this.words = data.words;
    this.most = data.most;
    const given = JSON.stringify(data.pairs);
    if (given !== this.given) {
      this.given = given;
      const open = this.pairs.filter((pair) => !(pair[0] && pair[1]));
      this.pairs = [...data.pairs.map((pair) => [...pair]), ...open];
    }
    this.remove.textContent = this.words.pairs_remove;
    this.clear.textContent = this.words.pairs_clear;
    this.sides.forEach((side, i) => side.show(data.photos[i], `${this.words[i ? "pairs_base" : "pairs_photo"]} ${data.photos[i].name}`));
    this.refresh();
  }

  points(side) { return this.pairs.map((pair) => pair[side]); }

  // A click goes to the first pair that lacks this side, else it begins a new one.
  add(side, place) {
    if (!this.sides[side].inside(place)) return;
    const open = this.pairs.find((pair) => !pair[side]);
    if (open) open[side] = place;
    else if (this.pairs.length < this.most) this.pairs.push(side ? [null, place] : [place, null]);
    this.changed();
  }

  put(side, index, place, told = true) {
    if (!this.sides[side].inside(place)) return;
    this.pairs[index][side] = place;
    if (told) this.changed();
    else this.refresh();
  }

  changed() { this.refresh(); this.tell(); }

  tell() {
    const whole = this.pairs.filter((pair) => pair[0] && pair[1]).map((pair) => pair.map((p) => p.map((v) => Math.round(v * 100) / 100)));
    const told = JSON.stringify(whole);
    if (told === this.given) return;
    this.given = told;
    this.trigger("pairs", { pairs: whole, at: Date.now() });
  }

  refresh() {
    const open = this.pairs.find((pair) => !(pair[0] && pair[1]));
    const n = open ? this.pairs.indexOf(open) + 1 : this.pairs.length + 1;
    this.hint.textContent = this.words[open && open[0] ? "pairs_next_base" : open ? "pairs_next_photo" : "pairs_place"].replace("{n}", n);
    this.remove.disabled = this.clear.disabled = !this.pairs.length;
    for (const side of this.sides) side.paint();
  }

  close() { for (const side of this.sides) side.close(); }
}

const shown = new WeakMap();

export default function mount(component) {
  const { parentElement } = component;
  let pairs = shown.get(parentElement);
  if (!pairs) shown.set(parentElement, (pairs = new Pairs(parentElement)));
  pairs.update(component);
  return () => { pairs.close(); shown.delete(parentElement); };
}
