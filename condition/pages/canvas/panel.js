// Everything around the photo: the ways of working above, words and actions below, sheets over it. All text is set as text.

const MODE_GLYPHS = {
  hand: "M5 9V4.6a1 1 0 0 1 2 0V8V3.4a1 1 0 0 1 2 0V8V4a1 1 0 0 1 2 0v5V6a1 1 0 0 1 2 0v4c0 2.5-1.5 4-4 4-2 0-3-.8-4-2.5L3 9.5c-.6-1 .8-1.8 1.4-1Z",
  choose: "M4 2.5 12.5 8 8.6 8.9 11 13.3 9.4 14 7.2 9.6 4 12Z",
  point: "M8 2v4M8 10v4M2 8h4M10 8h4M8 7.7a.3 .3 0 1 0 .01 0Z",
  circle: "M8 2.8a5.2 5.2 0 1 0 .01 0ZM8 7.7a.3 .3 0 1 0 .01 0Z",
  line: "M2 12 6 5.5 10 9.5 14 3.5",
  ring: "M3.5 5 9 2.8 13.5 7 11 13 4.5 12Z",
  follow: "M2 13C4 11 4 9 6.5 8.5S9 6 10 5s2-1 4-3M2 13h.01M14 2h.01",
  holes: "M2.5 2.5h3M2.5 2.5v3M13.5 13.5h-3M13.5 13.5v-3M6 5.2a1.6 1.6 0 1 0 .01 0ZM10.5 8.2a1.6 1.6 0 1 0 .01 0Z",
  grow: "M8 6.5a1.5 1.5 0 1 0 .01 0M5.5 4.5C8 2.5 12 4 12 8s-4 5.5-6.5 4S3 6.5 5.5 4.5Z",
  undo: "M6 3.5 3 6.5l3 3M3 6.5h6.5a3.5 3.5 0 0 1 0 7H7",
  redo: "M10 3.5 13 6.5l-3 3M13 6.5H6.5a3.5 3.5 0 0 0 0 7H9",
  keys: "M5.8 6a2.2 2.2 0 1 1 3.2 2c-.8.4-1 .9-1 1.7M8 12.3h.01",
  list: "M3 4h.01M6 4h7.5M3 8h.01M6 8h7.5M3 12h.01M6 12h7.5",
  grid: "M2.5 5.5h11M2.5 10.5h11M5.5 2.5v11M10.5 2.5v11",
  texts: "M2.5 5h11v6h-11ZM5 8h6",
  dim: "M8 2.8a5.2 5.2 0 1 0 .01 0ZM8 2.8v10.4M8 5h3.5M8 8h5M8 11h3.5",
  whole: "M3 6V3h3M10 3h3v3M13 10v3h-3M6 13H3v-3",
  closer: "M8 3.5v9M3.5 8h9",
  farther: "M3.5 8h9",
};

function modeGlyph(name) {
  const glyph = svg("svg", { viewBox: "0 0 16 16", width: 18, height: 18, "aria-hidden": "true", class: "glyph" });
  svg("path", { d: MODE_GLYPHS[name], fill: "none", stroke: "currentColor", "stroke-width": 1.5, "stroke-linejoin": "round",
    "stroke-linecap": "round" }, glyph);
  return glyph;
}

class Panel {
  constructor(bench, host) {
    this.bench = bench;
    this.words = bench.words;
    this.build(host);
  }

  build(host) {
    const { words } = this;
    this.buttons = new Map();
    this.ways = make("div", { className: "ways", role: "toolbar", "aria-label": words("ways") },
      ...["hand", "choose"].map((m) => this.button(m, "way")), make("span", { className: "parting" }),
      ...["point", "circle", "line", "ring"].map((m) => this.button(m, "way")), make("span", { className: "parting" }),
      ...["follow", "holes", "grow"].map((m) => this.button(m, "way")));
    this.kind = make("button", { type: "button", className: "kind", onclick: () => this.openKinds() });
    this.side = make("div", { className: "side", role: "toolbar", "aria-label": words("more_actions") },
      ...["undo", "redo", "list", "keys"].map((m) => this.button(m, "small")));
    this.top = make("div", { className: "strip top" }, this.ways, make("div", { className: "right" }, this.kind, this.side));
    this.stage = make("div", { className: "stage", tabIndex: 0, role: "application", "aria-label": words("stage") });
    this.canvas = make("canvas", { className: "photo", "aria-hidden": "true" });
    this.loupe = make("canvas", { className: "loupe", hidden: true, "aria-hidden": "true" });
    this.rule = make("div", { className: "rule", role: "img", hidden: true });
    this.zoom = make("div", { className: "zoom", role: "toolbar", "aria-label": words("zoom") },
      ...["texts", "dim", "grid"].map((m) => this.button(m, "small")), make("span", { className: "parting" }),
      this.button("farther", "small"), this.button("each_pixel", "percent"), this.button("closer", "small"), this.button("whole", "small"));
    this.notice = make("div", { className: "notice", hidden: true });
    this.sheet = make("div", { className: "sheet", hidden: true, role: "dialog" });
    this.sheet.addEventListener("keydown", (event) => this.sheetKey(event));
    this.hint = make("p", { className: "hint" });
    this.live = make("p", { className: "hidden-words", role: "status", "aria-live": "polite" });
    this.doing = make("div", { className: "doing", role: "toolbar", "aria-label": words("actions_now") });
    this.place = make("span", { className: "place" });
    this.saved = make("span", { className: "saved", role: "status", "aria-live": "polite" });
    this.foot = make("div", { className: "strip foot" }, this.hint, this.doing, make("div", { className: "readout" }, this.place, this.saved));
    this.stage.append(this.canvas);
    host.replaceChildren(this.top, make("div", { className: "well" }, this.stage, this.rule, this.zoom, this.loupe, this.notice, this.sheet),
      this.foot, this.live);
    for (const bar of [this.ways, this.side, this.zoom, this.doing]) bar.addEventListener("keydown", (event) => this.barKey(event, bar));
  }

  button(name, style) {
    const action = actionOf(name);
    const label = this.words(`do_${name}`);
    const short = this.bench.data.words[`now_${name}`] ?? label;
    const key = shownKey(action.keys[0]);
    const button = make("button", { type: "button", className: style, title: `${label}  (${key})`, "aria-label": label,
      "aria-keyshortcuts": action.keys[0], onclick: (event) => this.pressed(action, style, event) });
    button.dataset.action = name;
    if (MODE_GLYPHS[name]) button.append(modeGlyph(name));
    if (style === "way") button.append(make("span", { className: "label", textContent: label, "data-short": this.words(`short_${name}`) }));
    if (style === "now") button.append(make("span", { className: "label", textContent: short }));
    if (style === "way" || style === "now") button.append(make("kbd", { textContent: key }));
    if (style !== "now") this.buttons.set(name, { button, action });
    return button;
  }

  // Back to the photo after a button, so that the keys go on working there; the keyboard stays where it was.
  pressed(action, style, event) {
    if (!(action.can?.(this.bench) ?? true)) return;
    action.run(this.bench);
    if (this.sheet.hidden && (event.detail > 0 || style !== "small")) this.stage.focus({ preventScroll: true });
  }

  // Left and right go along a toolbar, as the ARIA practice for toolbars has it.
  barKey(event, bar) {
    const by = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    if (!by || event.target.type === "range") return;
    const all = [...bar.querySelectorAll("button:not(:disabled)")];
    const next = all[(all.indexOf(event.target.closest("button")) + by + all.length) % all.length];
    next?.focus();
    event.preventDefault();
  }

  paint() {
    const { bench } = this;
    const { kept, tool, view, signs } = bench;
    for (const { button, action } of this.buttons.values()) {
      if (action.on) button.setAttribute("aria-pressed", String(Boolean(action.on(bench))));
      button.disabled = !(action.can?.(bench) ?? true);
    }
    const percent = view.scale * 100;
    this.buttons.get("each_pixel").button.textContent = this.words("percent", { n: percent < 10 ? percent.toFixed(1) : Math.round(percent) });
    this.stage.style.cursor = bench.panning ? "grabbing" : bench.spaceHeld ? "grab" : tool.cursor;
    const hint = tool.hint;
    if (this.hint.textContent !== hint) this.hint.textContent = hint;
    this.paintKind(signs, kept);
    this.paintDoing(tool);
    this.paintSaved();
    const at = bench.cross ?? bench.under;
    this.place.textContent = at ? bench.placeText(at) : "";
    this.rule.hidden = !bench.plane;
    if (bench.plane) drawRule(this.rule, bench.plane, view, this.words);
  }

  // The boxes on the stage that the rule and the zoom stand in: no place for a tag.
  corners() {
    return [this.rule, this.zoom].filter((each) => !each.hidden)
      .map((each) => [each.offsetLeft, each.offsetTop, each.offsetLeft + each.offsetWidth, each.offsetTop + each.offsetHeight]);
  }

  paintKind(signs, kept) {
    const target = kept.finding ? findingNumber(this.bench, kept.finding) : null;
    const key = `${kept.kind}|${kept.finding}|${target}`;
    if (this.kind.dataset.drawn === key) return;
    this.kind.dataset.drawn = key;
    const sign = signs.of(kept.kind);
    const goes = kept.finding ? this.words("goes_to", { number: target ?? "…" }) : this.words("new_finding");
    this.kind.replaceChildren(symbolGlyph(sign, 18),
      make("span", { className: "kind-words" }, make("b", { textContent: sign.label }), make("small", { textContent: goes })),
      make("kbd", { textContent: "K" }));
    this.kind.setAttribute("aria-label", this.words("kind_button", { kind: sign.label, goes }));
    this.kind.setAttribute("aria-haspopup", "dialog");
  }

  paintDoing(tool) {
    const names = tool.buttons.filter((name) => ["amount", "brush"].includes(name) || (actionOf(name).can?.(this.bench) ?? true));
    const key = [this.bench.kept.mode, ...names].join();
    if (this.doing.dataset.drawn !== key) {
      const focused = this.doing.contains(this.doing.getRootNode().activeElement);
      this.doing.dataset.drawn = key;
      this.doing.replaceChildren(...names.map((name) => name === "amount" ? this.amountSlider() : name === "brush" ? this.brushSlider() : this.button(name, "now")));
      if (focused) this.stage.focus({ preventScroll: true });
    }
    for (const button of this.doing.querySelectorAll("button")) {
      const action = actionOf(button.dataset.action);
      if (action.on) button.setAttribute("aria-pressed", String(Boolean(action.on(this.bench))));
      if (button.dataset.action === "variant")
        button.querySelector(".label").textContent = this.words(`variant_${tool.name}_${tool.variant}`);
    }
    if (this.slider) this.slider.value = String(this.bench.kept.amount);
    if (this.brushSize) this.brushSize.value = String(this.bench.kept.brush ?? 14);
  }

  amountSlider() {
    this.slider = make("input", { type: "range", min: "0", max: "1", step: "0.01", value: String(this.bench.kept.amount),
      "aria-label": this.words("amount"), oninput: (event) => this.bench.setAmount(Number(event.target.value)) });
    return make("label", { className: "slide" }, make("span", { textContent: this.words("amount") }), this.slider);
  }

  brushSlider() {
    this.brushSize = make("input", { type: "range", min: "3", max: "80", step: "1", value: String(this.bench.kept.brush ?? 14),
      "aria-label": this.words("brush"), oninput: (event) => { this.bench.kept.brush = Number(event.target.value); this.bench.repaint(); } });
    return make("label", { className: "slide" }, make("span", { textContent: this.words("brush") }), this.brushSize);
  }

  paintSaved() {
    const { queue, trouble } = outbox();
    const n = queue.length;
    const slow = n && (trouble || performance.now() - (this.waitingSince ??= performance.now()) > 700);
    if (!n) this.waitingSince = null;
    const text = !n ? this.words("all_saved") : this.words(n === 1 ? "unsaved_one" : "unsaved_many", { n });
    this.saved.classList.toggle("waiting", Boolean(slow));
    if (n && !slow) { setTimeout(() => this.bench.repaint(), 750); return; }
    if (this.saved.textContent !== text) this.saved.textContent = text;
    const known = { away: "server_away", full: "tab_full", fault: "server_fault" }[trouble];
    this.saved.title = n && trouble ? (known ? this.words(known) : trouble) : "";
  }

  // A calm line over the photo, with what can be done about it.
  tell(text, actions = [], lasting = false) {
    clearTimeout(this.noticeTimer);
    this.live.textContent = text;
    this.notice.hidden = false;
    this.notice.replaceChildren(make("span", { textContent: text }),
      ...actions.map(([label, run]) => make("button", { type: "button", textContent: label, onclick: () => { this.hush(); run(); } })),
      make("button", { type: "button", className: "close", textContent: "×", "aria-label": this.words("close"), onclick: () => this.hush() }));
    if (!lasting) this.noticeTimer = setTimeout(() => this.hush(), 7000);
  }

  hush() { this.notice.hidden = true; }

  open(title, ...content) {
    const heading = make("h2", { textContent: title });
    this.sheet.replaceChildren(make("div", { className: "sheet-head" }, heading,
      make("button", { type: "button", className: "close", textContent: "×", "aria-label": this.words("close"), onclick: () => this.shut() })), ...content);
    this.sheet.setAttribute("aria-label", title);
    this.sheet.hidden = false;
    (this.sheet.querySelector("[aria-selected=true], [data-first]") ?? this.sheet.querySelector("button")).focus();
  }

  shut() {
    if (this.sheet.hidden) return false;
    this.sheet.hidden = true;
    this.stage.focus({ preventScroll: true });
    return true;
  }

  sheetKey(event) {
    event.stopPropagation();
    if (event.key === "Escape" || event.key === "?") { event.preventDefault(); this.shut(); return; }
    const items = [...this.sheet.querySelectorAll("button")];
    const at = items.indexOf(this.sheet.getRootNode().activeElement);
    const columns = Number(this.sheet.querySelector("[data-columns]")?.dataset.columns ?? 1);
    const by = { ArrowDown: columns, ArrowUp: -columns, ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (by) { event.preventDefault(); items[clamp(at + by, 0, items.length - 1)].focus(); }
    else if (event.key === "Tab") {
      event.preventDefault();
      items[(at + (event.shiftKey ? -1 : 1) + items.length) % items.length].focus();
    }
  }

  openKinds(ofChosen = false) {
    const { bench } = this;
    const now = ofChosen ? bench.marks.get(bench.kept.chosen[0])?.kind : bench.kept.kind;
    const grid = make("div", { className: "kinds", role: "listbox", "aria-label": this.words(ofChosen ? "kind_of_chosen" : "kind_next") });
    grid.dataset.columns = "2";
    for (const entry of bench.signs.byKind.values()) {
      if (entry.hidden) continue;
      const option = make("button", { type: "button", role: "option", "aria-selected": String(entry.kind === now), onclick: () => {
        this.shut();
        ofChosen ? bench.giveKind(entry.kind) : bench.setKind(entry.kind);
      } }, symbolGlyph(entry, 20), make("span", { textContent: entry.label }));
      grid.append(option);
    }
    const belongs = bench.kept.finding && !ofChosen
      ? [make("button", { type: "button", className: "wide", textContent: this.words("new_finding_each"), onclick: () => { this.shut(); bench.belong(null); } })] : [];
    this.open(this.words(ofChosen ? "kind_of_chosen" : "kind_next"), ...belongs, grid);
  }

  openCopy() {
    const { bench } = this;
    const list = make("div", { className: "rows" });
    list.append(make("button", { type: "button", textContent: this.words("copy_new", { kind: bench.signs.label(bench.kept.kind) }),
      onclick: () => { this.shut(); bench.copyTo(null); } }));
    for (const finding of bench.findings()) {
      const sign = bench.signs.of(finding.kind);
      list.append(make("button", { type: "button", onclick: () => { this.shut(); bench.copyTo(finding); } },
        symbolGlyph(sign, 18), make("b", { textContent: String(finding.number ?? "…") }), make("span", { textContent: finding.words || sign.label })));
    }
    this.open(this.words("copy_to"), list);
  }

  openList() {
    const { bench } = this;
    const list = make("div", { className: "rows" });
    const marks = bench.marks.all().sort((a, b) => (a.number ?? 1e9) - (b.number ?? 1e9));
    for (const mark of marks) {
      const sign = bench.signs.of(mark.kind);
      list.append(make("button", { type: "button", "aria-selected": String(bench.kept.chosen.includes(mark.id)),
        onclick: () => { this.shut(); bench.choose([mark.id]); bench.showChosen(); } },
      symbolGlyph(sign, 18), make("b", { textContent: String(mark.number ?? "…") }),
      make("span", { textContent: sign.label }), make("small", { textContent: mark.text || mark.not_measured || "" })));
    }
    if (!marks.length) list.append(make("p", { textContent: this.words("no_marks") }));
    this.open(this.words("marks_here", { n: marks.length }), list);
  }

  openKeys() {
    const table = make("div", { className: "keys" });
    for (const group of KEY_GROUPS) {
      const section = make("section", {}, make("h3", { textContent: this.words(`keys_${group}`) }));
      for (const action of ACTIONS.filter((a) => a.group === group))
        section.append(make("div", { className: "key-row" },
          make("span", { className: "caps" }, ...action.keys.map((key) => make("kbd", { textContent: shownKey(key) }))),
          make("span", { textContent: this.words(`do_${action.name}`) })));
      table.append(section);
    }
    const moves = make("section", {}, make("h3", { textContent: this.words("keys_moves") }));
    for (const name of MOVES)
      moves.append(make("div", { className: "key-row" }, make("span", { className: "caps" }, make("kbd", { textContent: this.words(`key_${name}`) })),
        make("span", { textContent: this.words(`move_${name}`) })));
    table.append(moves);
    this.open(this.words("do_keys"), table);
    this.sheet.scrollTop = 0;
  }
}

const findingNumber = (bench, findingId) =>
  bench.findings().find((finding) => finding.id === findingId)?.number ?? null;
