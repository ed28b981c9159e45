// The list of findings: arrows go from one to the next, Space ticks, a click goes to the mark.

const NEXT_MS = 160;
const SVG = "http://www.w3.org/2000/svg";

function glyph({ lines, areas, colour }) {
  const drawing = document.createElementNS(SVG, "svg");
  for (const [key, value] of Object.entries({ viewBox: "-10 -10 20 20", width: 20, height: 20, "aria-hidden": "true" }))
    drawing.setAttribute(key, value);
  for (const [d, fill] of [[areas, colour], [lines, "none"]]) {
    if (!d) continue;
    const path = document.createElementNS(SVG, "path");
    for (const [key, value] of Object.entries({ d, fill, stroke: colour, "stroke-width": 1.5, "stroke-linejoin": "round" }))
      path.setAttribute(key, value);
    drawing.append(path);
  }
  return drawing;
}

class FindingList {
  constructor(parent) {
    this.host = parent.querySelector(".findings");
    this.list = make("ul");
    this.keys = make("p", { className: "keys" });
    this.host.replaceChildren(this.list, this.keys);
    this.host.addEventListener("keydown", (event) => this.key(event));
    this.anywhere = (event) => this.keyAnywhere(event);
    addEventListener("keydown", this.anywhere, true);
  }

  update({ data, setTriggerValue }) {
    this.trigger = setTriggerValue;
    const moved = this.chosen !== data.chosen;
    this.data = data;
    this.words = data.words;
    this.ticked = new Set(data.ticked);
    this.chosen = data.chosen;
    this.list.setAttribute("aria-label", this.words.label);
    this.keys.textContent = this.words.keys;
    const held = this.focusedId();
    this.list.replaceChildren(...data.rows.map((row) => this.row(row)));
    if (held) this.buttonOf(held)?.focus({ preventScroll: true });
    if (moved && data.chosen) this.bringIntoSight(this.buttonOf(data.chosen)?.parentElement);
  }

  row(row) {
    const chosen = row.id === this.chosen;
    const tick = make("input", { type: "checkbox", checked: this.ticked.has(row.id), onchange: () => this.tick(row.id),
      "aria-label": this.words.tick.replace("{number}", row.number) });
    const first = make("span", { className: "first" }, make("b", { textContent: row.number }), glyph(row),
      make("span", { className: "kind", textContent: row.kind }), make("span", { className: "measured", textContent: row.measured }));
    const place = row.place ? make("span", { className: row.proposed ? "place proposed" : "place", textContent: row.place,
      title: row.proposed ? this.words.proposed : "" }) : null;
    const chips = [row.doubtful ? make("span", { className: "chip doubtful", textContent: this.words.doubtful }) : null,
      row.decision ? make("span", { className: "chip", textContent: row.decision }) : null,
      row.shown ? null : make("span", { className: "chip absent", textContent: this.words.no_photo })];
    const rest = make("span", { className: "rest" }, place, ...chips);
    const button = make("button", { type: "button", onclick: () => { this.choose(row.id); this.showPicture(); } }, first,
      place || chips.some(Boolean) ? rest : null);
    button.dataset.id = row.id;
    if (chosen) button.setAttribute("aria-current", "true");
    if (row.shown && !row.here) button.title = this.words.elsewhere;
    return make("li", { className: `${chosen ? "chosen" : ""}${row.here || !row.shown ? "" : " away"}` },
      make("label", {}, tick), button);
  }

  buttonOf(id) { return this.list.querySelector(`button[data-id="${id}"]`); }
  focusedId() { return this.host.getRootNode().activeElement?.closest?.("button[data-id]")?.dataset.id; }

  bringIntoSight(item) {
    if (!item) return;
    const { list } = this;
    const top = item.offsetTop - list.offsetTop;
    if (top < list.scrollTop) list.scrollTop = top;
    else if (top + item.offsetHeight > list.scrollTop + list.clientHeight) list.scrollTop = top + item.offsetHeight - list.clientHeight;
  }

  choose(id) {
    clearTimeout(this.going);
    this.show(id);
    this.trigger("chosen", { finding_id: id, at: Date.now() });
  }

  // Where the list stands below the picture, a click brings the picture back into sight.
  showPicture() {
    const picture = document.querySelector('[class*="st-key-canvas-"]');
    if (picture && picture.getBoundingClientRect().bottom <= this.list.getBoundingClientRect().top)
      picture.scrollIntoView({ block: "nearest", behavior: matchMedia("(prefers-reduced-motion: reduce)").matches ? "auto" : "smooth" });
  }

  show(id) {
    this.chosen = id;
    for (const button of this.list.querySelectorAll("button[data-id]")) {
      const here = button.dataset.id === id;
      button.toggleAttribute("aria-current", false);
      if (here) button.setAttribute("aria-current", "true");
      button.parentElement.classList.toggle("chosen", here);
    }
  }

  tick(id) {
    if (this.ticked.has(id)) this.ticked.delete(id);
    else this.ticked.add(id);
    this.tellTicked();
  }

  tellTicked() {
    for (const row of this.data.rows) this.buttonOf(row.id).parentElement.querySelector("input").checked = this.ticked.has(row.id);
    clearTimeout(this.telling);
    this.telling = setTimeout(() => this.trigger("ticked", { ids: [...this.ticked], at: Date.now() }), NEXT_MS);
  }

  // To the next one or the one before; the page follows when the keys rest.
  step(by, focus) {
    const ids = this.data.rows.map((row) => row.id);
    if (!ids.length) return;
    const at = ids.indexOf(this.chosen);
    const id = ids[at < 0 ? (by > 0 ? 0 : ids.length - 1) : Math.min(ids.length - 1, Math.max(0, at + by))];
    this.show(id);
    this.bringIntoSight(this.buttonOf(id).parentElement);
    if (focus) this.buttonOf(id).focus({ preventScroll: true });
    clearTimeout(this.going);
    this.going = setTimeout(() => this.choose(id), NEXT_MS);
  }

  key(event) {
    const id = this.focusedId();
    const steps = { ArrowDown: 1, ArrowUp: -1, Home: -1e6, End: 1e6 };
    if (event.key in steps && !event.altKey) this.step(steps[event.key], true);
    else if (event.key === " " && id) this.tick(id);
    else if (event.key === "Escape" && this.ticked.size) { this.ticked.clear(); this.tellTicked(); }
    else if (event.key.length > 1 || event.ctrlKey || event.metaKey || event.altKey) return;
    event.stopPropagation();
    if (event.key in steps || event.key === " ") event.preventDefault();
  }

  keyAnywhere(event) {
    const by = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (!by || !event.altKey || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    event.stopPropagation();
    this.step(by, false);
  }

  close() {
    removeEventListener("keydown", this.anywhere, true);
    clearTimeout(this.going);
    clearTimeout(this.telling);
  }
}

const lists = new WeakMap();

export default function mount(component) {
  const { parentElement } = component;
  let list = lists.get(parentElement);
  if (!list) lists.set(parentElement, (list = new FindingList(parentElement)));
  list.update(component);
  return () => { list.close(); lists.delete(parentElement); };
}
