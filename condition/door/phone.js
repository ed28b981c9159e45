// Takes photos and notes on the phone and sends them to the bench one after the other, as often as it takes.

import { newId, openWaiting } from "./waiting.js";

const RETRY_MS = [1500, 3000, 6000, 12000, 20000];
const STATE_EVERY_MS = 15000;
const ANSWER_MS = 8000;
const NO_PROGRESS_MS = 30000;
const JUDGING_MS = 150000;
const SHOWN = 60;

const $ = (id) => document.getElementById(id);
const spoken = JSON.parse($("spoken").textContent);
const words = (code, values = {}) =>
  Object.entries(values).reduce((text, [name, value]) => text.replaceAll(`{${name}}`, String(value)), spoken[code]);

const token = location.hash.slice(1) || sessionStorage.getItem("pass") || "";
if (token) sessionStorage.setItem("pass", token);
if (location.hash) history.replaceState(null, "", location.pathname);

let waiting;
let face = "";
let faces = [];
let ended = false;
let busy = false;
let tries = 0;
let timer = 0;

function tell(text, bad = false) {
  $("state").textContent = text;
  $("state").classList.toggle("bad", bad);
}

async function ask(path, options = {}) {
  const answer = await fetch(path, {
    ...options,
    headers: { Authorization: `Bearer ${token}`, ...(options.headers || {}) },
    cache: "no-store",
    signal: AbortSignal.timeout(ANSWER_MS),
  });
  if (answer.status === 401) {
    ended = true;
    const told = await answer.json().catch(() => ({}));
    $("work").hidden = true;
    tell(told.error || words("ended"), true);
    throw new Error("ended");
  }
  return answer;
}

async function refresh() {
  if (ended) return;
  try {
    const answer = await ask("/state");
    const state = await answer.json();
    $("title").textContent = state.title;
    const until = new Date(state.expires_at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
    $("about").textContent = [state.job, state.occasion, words("until", { time: until })].join(" · ");
    $("work").hidden = false;
    if (JSON.stringify(state.faces) !== JSON.stringify(faces)) {
      faces = state.faces;
      if (!face && state.view) face = state.view;
      showFaces();
    }
    showLook(state.look);
    if (!busy) await tellHowMany(state.photos);
  } catch (error) {
    if (!ended) tell(words("no_answer"), true);
  }
}

async function tellHowMany(inJob) {
  const left = (await waiting.all()).length;
  tell(left ? words("left", { n: left }) : words("photos_in", { n: inJob }));
}

let lookTouched = false;

function showLook(look) {
  const form = $("look");
  form.hidden = !look;
  if (!look || lookTouched) return;
  for (const [name, text] of Object.entries(look)) form.elements[name].value = text;
}

function showFaces() {
  const list = $("face-list");
  list.replaceChildren();
  for (const one of [{ id: "", name: words("any_face"), earlier: null }, ...faces]) {
    const label = document.createElement("label");
    const radio = document.createElement("input");
    radio.type = "radio";
    radio.name = "face";
    radio.value = one.id;
    radio.checked = one.id === face;
    radio.addEventListener("change", () => {
      face = one.id;
      showEarlier();
    });
    label.append(radio, document.createTextNode(one.name));
    list.append(label);
  }
  showEarlier();
}

async function showEarlier() {
  const chosen = faces.find((one) => one.id === face);
  $("earlier").hidden = true;
  if (!chosen || !chosen.earlier) return;
  const wanted = face;
  try {
    const answer = await ask(`/pictures/${chosen.earlier}`);
    if (!answer.ok || wanted !== face) return;
    const old = $("earlier-picture").src;
    $("earlier-picture").src = URL.createObjectURL(await answer.blob());
    if (old.startsWith("blob:")) URL.revokeObjectURL(old);
    $("earlier").hidden = false;
  } catch {
    $("earlier").hidden = true;
  }
}

function row(item) {
  const known = document.querySelector(`[data-op="${item.op}"]`);
  if (known) return known;
  const li = document.createElement("li");
  li.dataset.op = item.op;
  const text = document.createElement("div");
  if (item.file) {
    const picture = document.createElement("img");
    picture.alt = item.name;
    picture.src = URL.createObjectURL(item.file);
    picture.addEventListener("load", () => URL.revokeObjectURL(picture.src), { once: true });
    li.append(picture);
  } else {
    li.append(document.createElement("span"));
  }
  li.append(text);
  $("sent").prepend(li);
  while ($("sent").children.length > SHOWN) $("sent").lastElementChild.remove();
  return li;
}

function say(item, sort, headline, lines = [], progress = null) {
  const li = row(item);
  li.className = sort;
  const text = li.lastElementChild;
  text.replaceChildren();
  const told = document.createElement("p");
  told.className = "told";
  told.textContent = headline;
  text.append(told);
  if (item.name) {
    const name = document.createElement("p");
    name.textContent = item.name;
    text.append(name);
  }
  if (lines.length) {
    const list = document.createElement("ul");
    for (const line of lines) {
      const entry = document.createElement("li");
      entry.textContent = line;
      list.append(entry);
    }
    text.append(list);
  }
  if (progress !== null) {
    const bar = document.createElement("progress");
    bar.max = 1;
    bar.value = progress;
    text.append(bar);
  }
  return text;
}

async function add(files) {
  for (const file of files) {
    const item = { op: newId(), file, name: file.name || "phone.jpg", face, at: Date.now() };
    try {
      await waiting.put(item);
    } catch {
      say(item, "bad", words("no_room"));
      continue;
    }
    say(item, "", words("waiting"));
  }
  work();
}

function send(item) {
  if (!item.file) {
    return ask(item.look ? "/look" : "/notes", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(item.look || { op: item.op, words: item.words }),
    }).then(async (answer) => ({ status: answer.status, told: await answer.json().catch(() => ({})) }));
  }
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open("POST", item.receipt ? "/receipt" : "/photos");
    request.setRequestHeader("Authorization", `Bearer ${token}`);
    request.setRequestHeader("Content-Type", "application/octet-stream");
    request.setRequestHeader("X-File-Name", encodeURIComponent(item.name));
    if (item.face) request.setRequestHeader("X-Face", item.face);
    let stalled = 0;
    const patience = (ms) => {
      clearTimeout(stalled);
      stalled = setTimeout(() => request.abort(), ms);
    };
    request.onloadend = () => clearTimeout(stalled);
    request.upload.onload = () => patience(JUDGING_MS);
    request.upload.onprogress = (event) => {
      patience(NO_PROGRESS_MS);
      if (event.lengthComputable) say(item, "", words("sending"), [], event.loaded / event.total);
    };
    request.onload = () => {
      let told = {};
      try {
        told = JSON.parse(request.responseText);
      } catch {
        told = {};
      }
      resolve({ status: request.status, told });
    };
    request.onerror = () => reject(new Error("network"));
    request.onabort = () => reject(new Error("network"));
    patience(NO_PROGRESS_MS);
    request.send(item.file);
  });
}

async function work() {
  if (busy || ended) return;
  busy = true;
  clearTimeout(timer);
  try {
    for (;;) {
      const [item] = (await waiting.all()).sort((a, b) => a.at - b.at);
      if (!item || ended) break;
      say(item, "", words("sending"));
      const { status, told } = await send(item);
      if (status === 401) {
        ended = true;
        $("work").hidden = true;
        tell(told.error || words("ended"), true);
        break;
      }
      if (status >= 500 || status === 0) throw new Error("network");
      tries = 0;
      await waiting.remove(item.op);
      outcome(item, status, told);
    }
    if (!ended) await refreshSoon();
  } catch {
    if (ended) return;
    const left = await waiting.all();
    for (const item of left) say(item, "", words("waiting"));
    tell(words("no_answer"), true);
    timer = setTimeout(() => {
      busy = false;
      work();
    }, RETRY_MS[Math.min(tries, RETRY_MS.length - 1)]);
    tries += 1;
    return;
  } finally {
    busy = false;
  }
}

async function refreshSoon() {
  busy = false;
  await refresh();
}

function outcome(item, status, told) {
  if (status !== 200) {
    const text = say(item, "bad", words("not_taken"), [told.error || ""]);
    if (item.file) {
      const away = document.createElement("button");
      away.type = "button";
      away.textContent = words("away");
      away.addEventListener("click", () => row(item).remove());
      text.append(away);
    }
    return;
  }
  if (item.look || item.receipt) {
    say(item, "good", words(item.receipt ? "receipt_kept" : "look_kept"));
    return;
  }
  if (!item.file) {
    say(item, "good", words("note_kept"), [item.words]);
    return;
  }
  const advice = told.advice || [];
  const cards = told.cards ? [words("cards", { n: told.cards })] : [];
  const headline = told.already_here ? words("already_here") : advice.length ? words("kept") : words("good");
  say(item, advice.length ? "look" : "good", headline, [...cards, ...advice]);
}

for (const id of ["take", "pick"]) {
  $(id).addEventListener("change", async (event) => {
    const files = [...event.target.files];
    event.target.value = "";
    await add(files);
  });
}
$("note").addEventListener("submit", async (event) => {
  event.preventDefault();
  const text = $("words").value.trim();
  if (!text) return;
  const item = { op: newId(), words: text, at: Date.now() };
  await waiting.put(item);
  $("words").value = "";
  say(item, "", words("waiting"), [text]);
  work();
});
$("look").addEventListener("input", () => {
  lookTouched = true;
});
$("look").addEventListener("submit", async (event) => {
  event.preventDefault();
  const look = Object.fromEntries([...new FormData($("look"))].filter(([, value]) => typeof value === "string"));
  const item = { op: newId(), look, at: Date.now() };
  await waiting.put(item);
  lookTouched = false;
  say(item, "", words("waiting"));
  work();
});
$("receipt").addEventListener("change", async (event) => {
  const [file] = event.target.files;
  event.target.value = "";
  if (!file) return;
  const item = { op: newId(), file, name: file.name || "receipt.jpg", receipt: true, at: Date.now() };
  await waiting.put(item);
  say(item, "", words("waiting"));
  work();
});
$("sheet").addEventListener("click", async () => {
  tell(words("making_sheet"));
  try {
    const answer = await fetch("/sheet", { headers: { Authorization: `Bearer ${token}` }, cache: "no-store" });
    if (!answer.ok) {
      tell((await answer.json()).error, true);
      return;
    }
    const link = document.createElement("a");
    link.href = URL.createObjectURL(await answer.blob());
    link.download = `${$("title").textContent}.pdf`;
    link.click();
    tell(words("sheet_made"));
  } catch {
    tell(words("no_answer"), true);
  }
});
addEventListener("online", work);
document.addEventListener("visibilitychange", () => {
  if (!document.hidden) {
    refresh();
    work();
  }
});

waiting = await openWaiting();
for (const item of await waiting.all()) say(item, "", words("waiting"), item.words ? [item.words] : []);
await refresh();
work();
setInterval(refresh, STATE_EVERY_MS);
