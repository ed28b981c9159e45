// Changes on their way to the store. Each waits here and in localStorage until it is acknowledged, so that neither a
// reload nor a stopped server loses it; the store applies an operation once however often it arrives.

const OUTBOX_PREFIX = "bench.change|";
const TAB_KEY = "bench.tab";
const BACKOFF_MS = [400, 800, 1600, 3000, 5000];
const ADOPT_EVERY_MS = 4000;
const STUCK_AFTER = 3;

const posted = (path, body, signal) => fetch(`/bench/${path}`, {
  method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body), signal,
});

class Outbox {
  constructor() {
    this.queue = [];
    this.listeners = new Set();
    this.sending = false;
    this.tries = 0;
    this.trouble = null;
    this.count = 0;
    this.tab = sessionStorage.getItem(TAB_KEY) ?? crypto.randomUUID();
    this.settled = this.claimTab();
    addEventListener("online", () => this.hurry());
    addEventListener("visibilitychange", () => document.visibilityState === "visible" && this.hurry());
    setInterval(() => this.adopt(), ADOPT_EVERY_MS);
  }

  // A tab's name is held by a lock, so that a copied or closed tab's changes find exactly one sender.
  async claimTab() {
    if (navigator.locks) {
      const held = (await navigator.locks.query()).held.some((lock) => lock.name === `bench.tab.${this.tab}`);
      if (held && !performance.getEntriesByType("navigation").some((n) => n.type === "reload"))
        this.tab = crypto.randomUUID();
      navigator.locks.request(`bench.tab.${this.tab}`, () => new Promise(() => {}));
    }
    sessionStorage.setItem(TAB_KEY, this.tab);
    await this.adopt();
  }

  // Take over what an earlier life of this tab, or a closed tab, has left unsent.
  async adopt() {
    const live = new Set();
    if (navigator.locks)
      for (const lock of (await navigator.locks.query()).held) live.add(lock.name.replace("bench.tab.", ""));
    const known = new Set(this.queue.map((entry) => entry.operation.op));
    const found = [];
    for (let i = 0; i < localStorage.length; i++) {
      const key = localStorage.key(i);
      if (!key.startsWith(OUTBOX_PREFIX)) continue;
      const owner = key.split("|")[1];
      if (owner !== this.tab && live.has(owner)) continue;
      try {
        const entry = { ...JSON.parse(localStorage.getItem(key)), key, recovered: true };
        if (!known.has(entry.operation.op)) found.push(entry);
      } catch {
        localStorage.removeItem(key);
      }
    }
    if (!found.length) return;
    found.sort((a, b) => a.at - b.at);
    this.queue = [...found, ...this.queue];
    this.count = Math.max(this.count, ...found.map((entry) => entry.at + 1));
    this.tell({ what: "adopted" });
    this.send();
  }

  // `follows`: the mark whose finding this one shares as soon as the store has numbered it.
  add(operation, follows = null) {
    this.count = Math.max(this.count + 1, Date.now() * 16);
    const entry = { operation, follows, at: this.count, key: `${OUTBOX_PREFIX}${this.tab}|${this.count}` };
    this.queue.push(entry);
    this.store(entry);
    this.tell({ what: "queue" });
    this.send();
  }

  store({ key, operation, follows, at }) {
    try {
      localStorage.setItem(key, JSON.stringify({ operation, follows, at }));
    } catch {
      this.trouble = "full";
    }
  }

  waiting(photoId) {
    return this.queue.filter((entry) => entry.operation.mark.photo_id === photoId).map((entry) => entry.operation);
  }

  hurry() {
    clearTimeout(this.timer);
    this.tries = 0;
    this.send();
  }

  async send() {
    if (this.sending) return;
    this.sending = true;
    clearTimeout(this.timer);
    while (this.queue.length) {
      const entry = this.queue[0];
      let answer;
      try {
        const response = await posted("marks", entry.operation);
        if (response.status >= 500) throw new Error("fault");
        answer = await response.json();
        if (response.status === 403 || typeof answer.ok !== "boolean") throw new Error(answer.error ?? "fault");
      } catch (error) {
        const trouble = error instanceof TypeError || error instanceof SyntaxError ? "away" : String(error.message);
        if (trouble !== this.trouble && trouble !== "away") this.tell({ what: "trouble", answer: trouble });
        this.trouble = trouble;
        if (trouble === "fault" && this.tries >= STUCK_AFTER) this.letOthersPass();
        const wait = BACKOFF_MS[Math.min(this.tries++, BACKOFF_MS.length - 1)];
        this.timer = setTimeout(() => this.send(), wait);
        break;
      }
      this.recovering ||= this.trouble !== null || entry.recovered === true;
      this.trouble = null;
      this.tries = 0;
      this.settle(entry, answer);
    }
    this.sending = false;
    if (this.recovering && !this.queue.length) {
      this.recovering = false;
      this.tell({ what: "recovered" });
    }
    this.tell({ what: "queue" });
  }

  // One change that the server cannot take must not hold up those of other marks.
  letOthersPass() {
    const { id } = this.queue[0].operation.mark;
    const stuck = this.queue.filter((entry) => entry.operation.mark.id === id || entry.follows === id);
    this.queue = [...this.queue.filter((entry) => !stuck.includes(entry)), ...stuck];
  }

  // What follows on the same mark is rebased and stored again before the acknowledged change is let go.
  settle(entry, answer) {
    const { mark } = entry.operation;
    this.queue.shift();
    const later = this.queue.filter((other) => other.operation.mark.id === mark.id);
    if (answer.ok) {
      for (const other of this.queue.filter((each) => each.follows === mark.id)) {
        other.operation.mark.finding_id ??= answer.mark?.finding_id ?? null;
        this.store(other);
      }
      for (const other of later) {
        other.operation.version = answer.mark?.version ?? 0;
        other.operation.mark.finding_id ??= answer.mark?.finding_id ?? null;
        this.store(other);
      }
    } else {
      this.queue = this.queue.filter((other) => !later.includes(other));
      for (const other of later) localStorage.removeItem(other.key);
    }
    localStorage.removeItem(entry.key);
    const lost = later.at(-1)?.operation ?? entry.operation;
    this.tell({ what: answer.ok ? "saved" : "refused", operation: entry.operation, lost, answer,
      more: answer.ok && later.length > 0 });
  }

  tell(news) {
    for (const listener of this.listeners) listener(news);
  }
}

let theOutbox = null;
const outbox = () => (theOutbox ??= new Outbox());
