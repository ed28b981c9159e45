// The pair's controls: ways to look, steps through the changes, zoom; and what is told in words.

class PairPanel {
  constructor(pair, host) {
    this.pair = pair;
    const w = pair.words;
    host.replaceChildren();
    const make = (tag, name, parent, text) => {
      const one = document.createElement(tag);
      if (name) one.className = name;
      if (text) one.textContent = text;
      parent.append(one);
      return one;
    };
    const button = (parent, id, act, key, values) => {
      const one = make("button", "", parent, w(id, values));
      one.type = "button";
      one.title = key ? `${w(`${id}_help`)} (${key})` : w(`${id}_help`);
      one.dataset.id = id;
      one.addEventListener("click", act);
      return one;
    };
    const top = make("div", "strip", host);
    const looks = make("div", "looks", top);
    looks.setAttribute("role", "group");
    looks.setAttribute("aria-label", w("looks"));
    this.looks = LOOKS.map((look, i) => button(looks, look, () => pair.setLook(look), String(i + 1)));
    this.relit = button(top, "relit", () => pair.toggle("relit"), "L");
    this.outlines = button(top, "outlines", () => pair.toggle("outlines"), "O");
    this.doubt = button(top, "doubt", () => pair.toggle("doubt"), "D");
    this.blinking = button(top, "blinking", () => pair.toggle("blinking"));
    this.turn = button(top, "turn", () => pair.other(), w("space"));
    const zoom = make("div", "zoom", top);
    button(zoom, "closer", () => pair.change((v) => v.zoomBy(1.25, v.middle)), "+").setAttribute("aria-label", w("closer_help"));
    button(zoom, "farther", () => pair.change((v) => v.zoomBy(0.8, v.middle)), "-").setAttribute("aria-label", w("farther_help"));
    button(zoom, "whole", () => pair.change((v) => v.whole()), "0");
    const well = make("div", "well", host);
    well.style.height = `${pair.data.height}px`;
    this.stage = make("div", "stage", well);
    this.stage.tabIndex = 0;
    this.stage.setAttribute("role", "application");
    this.stage.setAttribute("aria-label", w("stage", { before: pair.data.pair.before.name, after: pair.data.pair.after.name }));
    this.canvas = make("canvas", "photo", this.stage);
    this.names = [make("div", "name", this.stage), make("div", "name", this.stage)];
    this.legend = make("div", "legend", this.stage);
    for (const [what, colour] of [["darker", DARKER], ["lighter", LIGHTER]]) {
      const entry = make("span", "", this.legend);
      make("i", "", entry).style.background = `rgb(${colour.join(",")})`;
      entry.append(w(what));
    }
    this.form = make("form", "ask strip", host);
    this.form.hidden = true;
    this.form.onsubmit = (event) => { event.preventDefault(); pair.decide(this.why.value, this.kind.value); };
    this.kind = make("select", "", this.form);
    this.kind.setAttribute("aria-label", w("kind"));
    for (const { code, label } of pair.data.kinds) make("option", "", this.kind, label).value = code;
    this.kind.value = "dent";
    this.why = make("input", "", this.form);
    this.why.maxLength = 500;
    button(this.form, "keep", () => {}, "Enter").type = "submit";
    button(this.form, "cancel", () => pair.ask(pair.asking), "Esc");
    const foot = make("div", "strip foot", host);
    const steps = make("div", "steps", foot);
    this.back = button(steps, "back", () => pair.step(-1), "P");
    this.next = button(steps, "next", () => pair.step(1), "N");
    this.decide = make("div", "steps", foot);
    this.decide.setAttribute("role", "group");
    this.decide.setAttribute("aria-label", w("decide"));
    this.asks = ["accept", "explain", "dismiss"].map((act) => button(this.decide, act, () => pair.ask(act), { accept: "A", explain: "E", dismiss: "X" }[act]));
    this.reopen = button(this.decide, "reopen", () => pair.reopen(), "R");
    this.undo = button(this.decide, "undo", () => pair.takeBack(), "U");
    this.draw = make("div", "steps", foot);
    button(this.draw, "region_done", () => pair.finishRegion(), "Enter");
    button(this.draw, "region_undo", () => pair.undoPoint(), "Backspace");
    this.live = make("div", "told", foot);
    this.live.setAttribute("role", "status");
    this.residue = make("div", "residue", host, pair.data.residue);
  }

  say(text) { this.live.textContent = text; }

  // The reason said last is offered again: many places often have one.
  openForm() {
    const { asking, words } = this.pair;
    this.kind.hidden = asking !== "accept";
    this.why.placeholder = words(`${asking}_words`);
    this.why.setAttribute("aria-label", this.why.placeholder);
    this.why.value = asking === "accept" ? "" : (this.said?.[asking] ?? "");
    this.why.focus({ preventScroll: true });
    this.why.select();
  }

  formKey(event) {
    if (event.key !== "Escape") return;
    event.preventDefault();
    this.pair.ask(this.pair.asking);
  }

  refresh() {
    const { kept, flip, drawing, data } = this.pair;
    this.looks.forEach((one, i) => one.setAttribute("aria-pressed", String(LOOKS[i] === kept.look)));
    this.relit.setAttribute("aria-pressed", String(kept.relit));
    this.outlines.setAttribute("aria-pressed", String(kept.outlines));
    this.doubt.setAttribute("aria-pressed", String(kept.doubt));
    this.doubt.hidden = !data.changes.some((one) => !one.sure);
    this.blinking.setAttribute("aria-pressed", String(kept.blinking));
    this.blinking.hidden = this.turn.hidden = kept.look !== "blink";
    this.relit.hidden = kept.look === "difference";
    this.legend.hidden = kept.look !== "difference";
    const chosen = this.pair.chosen, open = chosen?.decision === "open";
    this.asks.forEach((one) => {
      one.disabled = !open;
      one.setAttribute("aria-pressed", String(this.pair.asking === one.dataset.id));
    });
    this.reopen.hidden = !chosen || open;
    this.undo.disabled = !data.undo;
    this.decide.hidden = drawing;
    this.form.hidden = !this.pair.asking || !open;
    this.draw.hidden = !drawing;
    if (drawing) this.say(this.pair.words("draw_now", { n: this.pair.draft.length }));
    const { before, after } = data.pair;
    const [one, two] = this.names;
    const names = { side: [before.name, after.name], wipe: [before.name, after.name], blink: [flip ? after.name : before.name, ""], difference: [this.pair.words("difference_of"), ""] }[kept.look];
    one.textContent = names[0];
    two.textContent = names[1];
    two.hidden = !names[1];
    this.back.disabled = this.next.disabled = !this.pair.changes.length && !data.turns;
  }

  paint() {
    const second = this.pair.panes[1];
    this.names[1].style.left = second && !second.top ? `${second.left + 8}px` : "";
    this.names[1].style.right = second ? "" : "8px";
    if (second?.top) this.names[1].style.left = "8px";
    this.names[1].style.top = second?.top ? `${second.top + 8}px` : "8px";
  }
}
