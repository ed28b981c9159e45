// Pictures in other light over the photo, faded in by hand, and the marks of the face's other photos, drawn thin.

const FADE_STEP = 0.1;

const LAYER_ACTIONS = [
  { name: "layer", group: "looking", keys: ["y"], can: (b) => b.layers.list.length > 0, run: (b) => b.layers.next(),
    on: (b) => Boolean(b.layers.current) },
  { name: "fade_in", group: "looking", keys: ["h"], can: (b) => Boolean(b.layers.current), run: (b) => b.layers.fade(FADE_STEP) },
  { name: "fade_out", group: "looking", keys: ["Shift+h"], can: (b) => Boolean(b.layers.current), run: (b) => b.layers.fade(-FADE_STEP) },
  { name: "elsewhere", group: "looking", keys: ["m"], can: (b) => b.layers.elsewhere.length > 0, run: (b) => b.flip("hideElsewhere"),
    on: (b) => b.layers.elsewhere.length > 0 && !b.kept.hideElsewhere },
];

class Layers {
  constructor(bench) {
    this.bench = bench;
    this.list = [];
    this.elsewhere = [];
    this.tiles = new Map();
    this.build();
  }

  build() {
    const { words, panel } = this.bench;
    this.choice = make("select", { "aria-label": words("layer_choice"), onchange: () => this.choose(this.choice.value || null) });
    this.fader = make("input", { type: "range", min: 0, max: 100, step: 1, "aria-label": words("layer_fade"),
      oninput: () => this.set(this.fader.valueAsNumber / 100) });
    this.share = make("span", { className: "fade-share" });
    this.box = make("div", { className: "fader", role: "group", "aria-label": words("layers"), hidden: true }, this.choice,
      make("label", {}, this.fader), this.share);
    for (const type of ["pointerdown", "keydown", "wheel"]) this.box.addEventListener(type, (event) => event.stopPropagation());
    panel.stage.parentElement.append(this.box);
    this.drawing = svg("svg", { class: "overlay elsewhere", "aria-hidden": "true" });
    panel.canvas.after(this.drawing);
    this.group = svg("g", {}, this.drawing);
  }

  update(data) {
    const list = data?.list ?? [];
    const known = JSON.stringify([list, data?.elsewhere ?? []]);
    if (known === this.known) return;
    this.known = known;
    this.list = list;
    this.elsewhere = data?.elsewhere ?? [];
    for (const [key, tiles] of this.tiles) if (!list.some((layer) => layer.tiles === key)) { tiles.close(); this.tiles.delete(key); }
    const { words } = this.bench;
    this.choice.replaceChildren(make("option", { value: "", textContent: words("layer_none") }),
      ...list.map((layer) => make("option", { value: layer.id, textContent: layer.label })));
    this.drawn = null;
    this.show();
  }

  get current() { return this.list.find((layer) => layer.id === this.bench.kept.layer) ?? null; }
  get amount() { return this.bench.kept.fade ?? 0.5; }

  tilesOf(layer) {
    if (!this.tiles.has(layer.tiles)) {
      const { width, height } = this.bench.photo;
      this.tiles.set(layer.tiles, new Tiles({ width, height, tiles: layer.tiles }, () => this.bench.repaint()));
    }
    return this.tiles.get(layer.tiles);
  }

  choose(id) {
    this.bench.kept.layer = id;
    this.bench.keep();
    this.show();
    this.bench.repaint();
  }

  next() {
    const ids = [null, ...this.list.map((layer) => layer.id)];
    this.choose(ids[(ids.indexOf(this.current?.id ?? null) + 1) % ids.length]);
    this.bench.whisper(this.current ? "layer_now" : "layer_none", { name: this.current?.label });
  }

  fade(by) { this.set(this.amount + by); this.bench.whisper("fade_now", { n: Math.round(this.amount * 100) }); }

  set(amount) {
    this.bench.kept.fade = clamp(Math.round(amount * 100) / 100, 0, 1);
    this.bench.keep();
    this.show();
    this.bench.repaint();
  }

  show() {
    const { current } = this;
    this.box.hidden = !this.list.length;
    this.choice.value = current?.id ?? "";
    this.fader.parentElement.hidden = this.share.hidden = !current;
    this.fader.value = Math.round(this.amount * 100);
    this.share.textContent = `${Math.round(this.amount * 100)} %`;
    this.bench.host.dataset.layer = current?.id ?? "";
  }

  // Paint the layer over what the context shows of the photo through `view`, within its own border.
  paint(context, view, w, h, density) {
    const { current } = this;
    if (!current || this.amount <= 0) return;
    const tiles = this.tilesOf(current), s = view.scale * density;
    context.save();
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.beginPath();
    current.rim.forEach(([x, y], i) => context[i ? "lineTo" : "moveTo"]((x - view.x) * s, (y - view.y) * s));
    context.closePath();
    context.clip();
    context.beginPath();
    context.rect(-view.x * s, -view.y * s, this.bench.photo.width * s, this.bench.photo.height * s);
    context.clip();
    context.globalAlpha = this.amount;
    const { sharp, tiles: touched } = tiles.paint(context, view, w, h, density);
    context.restore();
    if (view !== this.bench.view) { this.loupe = touched; return; }
    this.bench.host.dataset.layerSharp = String(sharp);
    const base = tiles.touching(tiles.levels - 1, 0, 0, this.bench.photo.width, this.bench.photo.height);
    tiles.want([base, touched, this.bench.close_up ? this.loupe ?? [] : []]);
  }

  // The other photos' marks: thin, in their kind's colour, with their number; they are moved on their own photo only.
  paintElsewhere() {
    const { view, kept, signs } = this.bench;
    this.drawing.style.display = kept.hideElsewhere ? "none" : "";
    if (!this.elsewhere.length && !this.drawn) return;
    if (this.drawn !== this.known) {
      this.drawn = this.known;
      this.group.replaceChildren();
      this.labels = this.elsewhere.map((mark) => {
        const { colour } = signs.of(mark.kind);
        svg("path", { d: shapePath(mark.shape), class: "elsewhere-halo" }, this.group);
        svg("path", { d: shapePath(mark.shape), stroke: colour }, this.group);
        return { mark, at: shapeBounds(mark.shape) };
      });
      for (const label of this.drawing.querySelectorAll("text")) label.remove();
      const numbered = new Map();
      for (const { mark, at } of this.labels) if (!numbered.has(mark.finding_id)) numbered.set(mark.finding_id, { mark, at });
      this.texts = [...numbered.values()].map(({ mark, at }) => {
        const text = svg("text", { fill: signs.of(mark.kind).colour }, this.drawing);
        text.textContent = mark.number;
        return { text, at };
      });
    }
    this.group.setAttribute("transform", `matrix(${view.scale} 0 0 ${view.scale} ${-view.x * view.scale} ${-view.y * view.scale})`);
    for (const { text, at } of this.texts ?? []) {
      const [x, y] = view.toScreen([at[2], at[1]]);
      text.setAttribute("x", (x + 4).toFixed(1));
      text.setAttribute("y", (y + 2).toFixed(1));
    }
  }

  close() {
    for (const tiles of this.tiles.values()) tiles.close();
    this.tiles.clear();
    this.box.remove();
    this.drawing.remove();
  }
}
