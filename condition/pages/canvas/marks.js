// The marks of one photo as this tab knows them: the store's, with this tab's unacknowledged changes on top;
// and what undoes and redoes each change, mark by mark.

const STEPS_KEPT_OVER_RELOAD = 200;

class Marks {
  constructor(photoId, kept, changed, told) {
    this.photoId = photoId;
    this.kept = kept;
    this.changed = changed;
    this.told = told;
    this.map = new Map();
    this.versions = new Map();
    this.stirred = 0;
    kept.undo ??= [];
    kept.redo ??= [];
    this.listener = (news) => this.hear(news);
    outbox().listeners.add(this.listener);
    this.channel = new BroadcastChannel("bench.marks");
    this.channel.onmessage = ({ data }) => data === photoId && this.refresh();
  }

  close() {
    outbox().listeners.delete(this.listener);
    this.channel.close();
    this.closed = true;
  }

  get(id) { return this.map.get(id); }
  all() { return [...this.map.values()]; }

  // What Python handed over: enough to show at once; the store's own list follows.
  show(list) {
    for (const given of list) {
      const known = this.map.get(given.id);
      if (!known && this.listed) continue;
      const fresh = !known || (given.version !== undefined && given.version > (this.versions.get(given.id) ?? 0));
      if (known && !fresh) {
        for (const name of ["dimmed", "words"]) if (name in given) known[name] = given[name];
        if (sameShape(known.shape, given.shape))
          for (const name of ["text", "number"]) if (given[name]) known[name] = given[name];
        continue;
      }
      if (outbox().waiting(this.photoId).some((operation) => operation.mark.id === given.id)) continue;
      this.map.set(given.id, { ...given });
      if (given.version !== undefined) this.versions.set(given.id, given.version);
    }
    this.layWaiting();
    this.changed();
  }

  layWaiting() {
    for (const { do: what, mark } of outbox().waiting(this.photoId)) {
      if (what === "remove") this.map.delete(mark.id);
      else this.map.set(mark.id, { ...this.map.get(mark.id), ...mark, waiting: true });
    }
  }

  async refresh() {
    if (this.closed) return;
    const before = this.stirred;
    let list;
    try {
      const response = await fetch(`/bench/marks/${this.photoId}`);
      if (!response.ok) return;
      list = (await response.json()).marks;
    } catch {
      return;
    }
    if (this.closed) return;
    if (before !== this.stirred) return this.refresh();
    this.listed = true;
    const old = this.map;
    this.map = new Map();
    for (const mark of list) {
      this.map.set(mark.id, { dimmed: old.get(mark.id)?.dimmed, ...mark, text: textOf(mark) });
      this.versions.set(mark.id, mark.version);
    }
    this.layWaiting();
    this.changed();
  }

  // One step of work: every change at once on the screen, each its own operation to the store.
  change(changes, how) {
    const step = [];
    for (const { id, after, pick, follows, joined } of changes) {
      const before = this.map.get(id) ?? null;
      const made = after && { ...after, how, pick: pick ?? after.pick ?? null };
      step.push({ id, before: before && essence(before), after: made && essence({ ...made, id }), joined });
      this.send(id, made, before, follows, joined);
    }
    this.kept.undo.push(step);
    this.kept.redo.length = 0;
    this.keepSteps();
    this.stirred++;
    this.changed();
  }

  // `follows` names the mark whose finding, not yet known, this mark shares; a mark that is `joined` to another goes, but
  // its finding stays.
  send(id, after, before, follows = null, joined = false) {
    const mark = {
      id, photo_id: this.photoId,
      finding_id: (after ?? before)?.finding_id ?? null,
      kind: (after ?? before)?.kind,
      shape: (after ?? before)?.shape,
      how: (after ?? before)?.how ?? "hand",
      ...(after?.pick ? { pick_sd_px: after.pick } : {}),
      ...(after && before && after.kind !== before.kind ? { kind_changed: true } : {}),
      ...(!after && joined ? { joined } : {}),
    };
    if (after) {
      const text = before && sameShape(before.shape, after.shape) ? before.text : "";
      this.map.set(id, { ...before, ...after, id, text, waiting: true });
    } else this.map.delete(id);
    const operation = { op: crypto.randomUUID(), do: after ? "put" : "remove", mark, version: this.versions.get(id) ?? 0 };
    outbox().add(operation, mark.finding_id ? null : follows);
  }

  undo() { return this.step(this.kept.undo, this.kept.redo, "after", "before"); }
  redo() { return this.step(this.kept.redo, this.kept.undo, "before", "after"); }

  // A mark that someone else changed since stays as they left it: only the marks still as this tab left them move.
  step(from, to, expected, wanted) {
    const step = from.pop();
    if (!step) return null;
    const own = step.filter((change) => sameWork(this.map.get(change.id) ?? null, change[expected]));
    for (const change of own)
      this.send(change.id, change[wanted], this.map.get(change.id) ?? change[expected], null, change.joined);
    if (own.length) to.push(own);
    this.keepSteps();
    this.stirred++;
    this.changed();
    return { done: own, foreign: step.length - own.length };
  }

  keepSteps() {
    try {
      sessionStorage.setItem(`bench.steps.${this.photoId}`, JSON.stringify({
        undo: this.kept.undo.slice(-STEPS_KEPT_OVER_RELOAD), redo: this.kept.redo.slice(-STEPS_KEPT_OVER_RELOAD),
      }));
    } catch {
      sessionStorage.removeItem(`bench.steps.${this.photoId}`);
    }
  }

  hear(news) {
    if (news.what === "queue") return this.changed();
    if (news.what === "adopted") {
      this.layWaiting();
      return this.changed();
    }
    if (news.what === "recovered") this.refresh();
    if (["recovered", "trouble"].includes(news.what)) return this.told(news);
    const { operation, answer } = news;
    if (operation.mark.photo_id !== this.photoId) return;
    this.stirred++;
    const { id } = operation.mark;
    const now = answer.mark ?? null;
    if (now?.version !== undefined) this.versions.set(id, now.version);
    else this.versions.delete(id);
    if (answer.ok) this.takeSaved(id, operation, now, news.more);
    else {
      if (now) this.map.set(id, { ...now, text: textOf(now) });
      else this.map.delete(id);
      this.forget(operation.mark);
      if (!("mark" in answer)) this.refresh();
    }
    this.channel.postMessage(this.photoId);
    this.told(news);
    this.changed();
  }

  // A change the store turned away is nothing to undo.
  forget({ id, shape }) {
    const { undo } = this.kept;
    const at = undo.findLastIndex((step) => step.some((change) => change.id === id && change.after && sameShape(change.after.shape, shape)));
    if (at < 0) return;
    undo[at] = undo[at].filter((change) => change.id !== id);
    if (!undo[at].length) undo.splice(at, 1);
    this.keepSteps();
  }

  takeSaved(id, operation, now, more) {
    const local = this.map.get(id);
    if (operation.do === "put" && now && (local || !more)) {
      const { finding_id, number } = now;
      this.map.set(id, more ? { ...local, finding_id, number }
        : { ...local, ...now, text: textOf(now), waiting: false });
      for (const step of [...this.kept.undo, ...this.kept.redo])
        for (const change of step)
          for (const side of ["before", "after"])
            if (change.id === id && change[side]) {
              change[side].finding_id ??= finding_id;
              change[side].number ??= number;
            }
      this.keepSteps();
    }
    if (operation.mark.kind_changed) this.refresh();
  }
}

const essence = ({ id, finding_id, number, kind, shape, how, pick }) =>
  structuredClone({ id, finding_id: finding_id ?? null, number, kind, shape, how, pick });

const sameWork = (a, b) => (a === null || b === null ? a === b : a.kind === b.kind && sameShape(a.shape, b.shape));

const textOf = (mark) =>
  mark.text ?? (mark.measurements ?? []).map((measurement) => measurement.text).join("  ·  ");
