// The bench without a sure connection: what is entered is stored on this device first, then sent in its order,
// again and again, until the book has it. A row has a key of its own, so that the book keeps it once.

const STORE = "outbox";
/** Rows sent at once. */
const AT_ONCE = 100;
/** Between two tries, ms: the first pause, and the longest. */
const FIRST_PAUSE = 500;
const LONGEST_PAUSE = 15_000;
/** How long an answer is waited for, ms. */
const PATIENCE = 20_000;

const place = (id) => document.getElementById(id);
const bench = () => place("bench");
const here = () => bench()?.dataset ?? {};

// What lies on this device.

const opened = new Promise((done, failed) => {
  const asked = indexedDB.open("hardtack-bench", 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: "n", autoIncrement: true });
  asked.onsuccess = () => done(asked.result);
  asked.onerror = () => failed(asked.error);
});

/** Does something with what lies here; holds when it is on the disk. */
async function stored(mode, deed) {
  const base = await opened;
  return new Promise((done, failed) => {
    const work = base.transaction(STORE, mode, { durability: "strict" });
    const asked = deed(work.objectStore(STORE));
    work.oncomplete = () => done(asked?.result);
    work.onabort = work.onerror = () => failed(work.error);
  });
}

const all = () => stored("readonly", (store) => store.getAll());
const put = (item) => stored("readwrite", (store) => store.put(item));
const forget = (numbers) => stored("readwrite", (store) => { for (const n of numbers) store.delete(n); });

/** A key that no other row has. */
function newKey() {
  if (crypto.randomUUID) return crypto.randomUUID();
  return [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");
}

// What is shown of it.

const count = (n, one, many) => `${n} ${n === 1 ? one : many}`;
let trouble = "";

async function show() {
  const items = await all();
  const refused = items.filter((i) => i.refused);
  const waiting = items.filter((i) => !i.refused);
  const told = waiting.length ? `${count(waiting.length, "entry waits", "entries wait")} on this device. ${trouble}` : "All entries are in the book.";
  if (place("waits").textContent !== told) place("waits").textContent = told;
  place("as-file").hidden = !items.length;
  place("again").hidden = !refused.length;
  place("refused").replaceChildren(...refused.map((i) => line(i, `not taken: ${i.refused}`)));
  const mine = waiting.filter((i) => i.row.thing === here().thing);
  const list = place("pending");
  if (!list) return;
  const words = new Set([...document.querySelectorAll("[data-enter]")].map((f) => f.dataset.enter));
  list.replaceChildren(...mine.filter((i) => words.has(i.row.what)).reverse().map((i) => line(i, "kept here, waits")));
  for (const output of document.querySelectorAll("output[data-sum]")) {
    const units = JSON.parse(output.dataset.units ?? "{}");
    const more = mine.filter((i) => i.row.what === output.dataset.sum && !i.row.strikes).reduce((sum, i) => sum + Number(i.row.value) * (units[i.row.unit] ?? 1), 0);
    output.textContent = (Number(output.dataset.kept) + more).toFixed(Number(output.dataset.places)).replace(".", here().decimal ?? ".");
  }
  for (const on of document.querySelectorAll("input[data-part]")) {
    const { what, of } = Object.fromEntries(new FormData(on.form));
    const n = Number(on.dataset.from) + mine.filter((i) => i.row.what === what && (i.row.of ?? "") === (of ?? "") && !i.row.strikes).length;
    on.value = `${on.dataset.part}=${n}`;
    const next = on.form.querySelector("[data-next]");
    if (next) next.textContent = n;
  }
  // What is signed is what the book has.
  for (const button of document.querySelectorAll("form[data-last] button")) button.disabled = mine.length > 0;
  tick();
}

/** A row as it is told while it lies here. */
function line(item, state) {
  const li = document.createElement("li");
  li.className = "waits-here";
  li.dataset.key = item.row.key;
  const { of, on, value, unit } = item.row;
  const words = document.createElement("b");
  words.textContent = [item.label, of && !item.label.includes(of) ? of : "", on, item.moment ? "" : value, unit].filter(Boolean).join(" ");
  const time = document.createElement("span");
  time.className = "timer";
  const since = document.createElement("span");
  since.dataset.since = item.row.at;
  time.append(` ${new Date(item.row.at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" })}, ${item.row.who}, ${state}, `, since, " ago");
  li.append(words, time);
  return li;
}

/** Times run on from their moment, whatever happened to the page meanwhile. */
function tick() {
  for (const place of document.querySelectorAll("[data-since]")) {
    const seconds = Math.max(0, Math.floor((Date.now() - Date.parse(place.dataset.since)) / 1000));
    const two = (n) => String(n).padStart(2, "0");
    const hours = Math.floor(seconds / 3600);
    const told = hours > 48 ? `${Math.floor(hours / 24)} days` : `${hours ? `${hours}:` : ""}${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;
    if (place.textContent !== told) place.textContent = told;
  }
}
setInterval(tick, 1000);

// The outbox.

let pause = FIRST_PAUSE;
let timer;
let sending = false;
let more = false;
/** Whether the book has rows that this page doesn't show yet. */
let due = false;

/** One window at a time sends, so that the order holds. */
const alone = (deed) => (navigator.locks ? navigator.locks.request("hardtack-bench", deed) : deed());

async function sendAll() {
  clearTimeout(timer);
  if (sending) { more = true; return; }
  sending = true;
  try {
    while (await alone(sendSome)) { due = true; pause = FIRST_PAUSE; }
    trouble = "";
    // What the book has is shown as the book tells it, and only then no longer as waiting.
    if (due) await renew();
    due = false;
  } catch (error) {
    trouble = `${error.message} It is tried again.`;
    timer = setTimeout(sendAll, pause);
    pause = Math.min(2 * pause, LONGEST_PAUSE);
  }
  sending = false;
  await show();
  if (more) { more = false; sendAll(); }
}

/** Sends the oldest rows; tells whether the book answered to any. */
async function sendSome() {
  const some = (await all()).filter((i) => !i.refused).slice(0, AT_ONCE);
  if (!some.length) return false;
  const response = await fetch("/bench/entries", {
    method: "POST",
    headers: { "content-type": "application/json", accept: "application/json" },
    body: JSON.stringify(some.map((i) => i.row)),
    signal: AbortSignal.timeout?.(PATIENCE),
  }).catch(() => { throw new Error("The program can’t be reached."); });
  if (response.redirected || response.status === 401 || response.status === 403) throw new Error("This device isn’t let in; pair it again.");
  if (!response.ok) throw new Error((await response.json().catch(() => null))?.what ?? "The program can’t take them now.");
  const told = new Map((await response.json()).map((t) => [t.key, t]));
  const kept = some.filter((i) => ["kept", "kept-already"].includes(told.get(i.row.key)?.state));
  await forget(kept.map((i) => i.n));
  for (const item of some) {
    const answer = told.get(item.row.key);
    if (answer?.state === "refused") await put({ ...item, refused: answer.way_out });
  }
  if (!told.size) throw new Error("The program’s answer can’t be read.");
  return true;
}

/** Puts what the book has now in place of what stands here, and leaves what is being typed. */
async function renew() {
  const response = await fetch(location.href, { headers: { accept: "text/html" } }).catch(() => { throw new Error("The program can’t be reached."); });
  if (!response.ok || response.redirected) return;
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  const fresh = page.getElementById("bench");
  const old = bench();
  if (!fresh || !old || fresh.dataset.thing !== old.dataset.thing) return;
  const name = (form) => [form.dataset.enter, form.elements.of?.type === "hidden" ? form.elements.of.value : "", form.elements.strikes?.value ?? ""].join("\n");
  const forms = new Map([...fresh.querySelectorAll("form[data-enter]")].map((f) => [name(f), f]));
  const focused = document.activeElement;
  let focus;
  for (const form of old.querySelectorAll("form[data-enter]")) {
    const to = forms.get(name(form));
    if (!to) continue;
    for (const field of form.elements) {
      const same = field.name && field.type !== "hidden" && to.elements[field.name];
      if (!same || field.tagName === "BUTTON") continue;
      if (field.tagName === "SELECT" || field.value !== field.defaultValue) same.value = field.value;
      if (field === focused) focus = same;
    }
    const [why, freshWhy] = [form.querySelector(".why"), to.querySelector(".why")];
    if (why && freshWhy) freshWhy.hidden = why.hidden;
    to.querySelector(":scope > .wrong")?.replaceChildren(...(form.querySelector(":scope > .wrong")?.childNodes ?? []));
    if (form.closest("details")?.open) to.closest("details").open = true;
  }
  // What is told of waiting stays the same place for who listens.
  fresh.querySelector(".outbox").replaceWith(old.querySelector(".outbox"));
  fresh.querySelector("#pending")?.replaceWith(old.querySelector("#pending"));
  old.replaceWith(fresh);
  focus?.focus();
}

// What is entered.

/** The number that was typed, in plain form; nothing where it is none. */
function plain(text) {
  const point = here().decimal === "," ? text.trim().replace(",", ".") : text.trim();
  return /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(point) ? point.replace(/^\+/, "") : null;
}

document.addEventListener("submit", async (event) => {
  const form = event.target.closest?.("form[data-enter]");
  if (!form) return;
  event.preventDefault();
  const data = Object.fromEntries([...new FormData(form, event.submitter)].map(([k, v]) => [k, v.trim()]));
  const wrong = form.querySelector(":scope > .wrong");
  const tell = (text) => { if (wrong) wrong.textContent = text; };
  const moment = form.elements.value?.type === "hidden";
  const number = form.elements.value?.inputMode === "decimal" || event.submitter?.name === "value";
  if (number && !data.strikes) {
    const value = plain(data.value);
    if (value === null) return tell(`‘${data.value}’ isn’t a number. Write it in figures.`);
    data.value = value;
    const limits = form.elements.unit?.selectedOptions?.[0] ?? form.querySelector("[data-low]");
    const [low, high] = [Number(limits?.dataset.low), Number(limits?.dataset.high)];
    if (!data.why && (Number(value) < low || Number(value) > high)) {
      const reach = (n) => (Math.abs(n) > 1e300 ? "…" : String(Number(n.toPrecision(6))));
      form.querySelector(".why").hidden = false;
      form.querySelector(".why input").focus();
      return tell(`${value} lies beyond ${reach(low)} to ${reach(high)}. If it is so, say why, and it is kept with a mark.`);
    }
  }
  const { what, of, on, value, unit, strikes, why } = data;
  const row = { key: newKey(), kind: "batch", thing: here().thing, at: new Date().toISOString(), who: here().who, what };
  for (const [name, text] of Object.entries({ of, on, value: strikes && value ? plain(value) ?? value : value, unit: value ? unit : "", strikes, why })) if (text) row[name] = text;
  try {
    await put({ row, label: form.dataset.label, moment });
  } catch (error) {
    return tell(`This device can’t store it (${error?.message ?? "its storage is closed"}). It stays in the field; write it down.`);
  }
  tell("");
  for (const field of form.elements) if (["value", "why"].includes(field.name) && field.type !== "hidden" && field.tagName !== "BUTTON") field.value = "";
  const asked = form.querySelector(".why");
  if (asked) asked.hidden = true;
  const details = form.closest("details");
  if (details) details.open = false;
  await show();
  navigator.storage?.persist?.();
  pause = FIRST_PAUSE;
  sendAll();
});

document.addEventListener("click", async (event) => {
  if (event.target.id === "again") {
    for (const { refused, ...item } of await all()) if (refused) await put(item);
    sendAll();
  }
  if (event.target.id === "as-file") {
    const rows = (await all()).map((i) => i.row);
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([JSON.stringify(rows, null, 1)], { type: "application/json" }));
    link.download = `bench-entries-${new Date().toISOString().slice(0, 19).replaceAll(":", "")}.json`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
  }
});

// A screen that stays on while somebody works at it, where the browser can.
const awake = () => { if (document.visibilityState === "visible" && here().thing) navigator.wakeLock?.request("screen").catch(() => {}); };
document.addEventListener("visibilitychange", () => { awake(); if (document.visibilityState === "visible") sendAll(); });
addEventListener("online", () => { pause = FIRST_PAUSE; sendAll(); });
addEventListener("pageshow", () => { show(); });
awake();
show().then(sendAll).catch(() => { place("waits").textContent = "This browser can’t store anything on the device; entries are sent at once instead, and need the connection."; });
document.documentElement.classList.add("live");
