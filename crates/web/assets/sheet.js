// The study sheet, live: a typed cell is sent by itself, what follows from it comes back and takes
// the place of what stood there. Nothing typed is lost: what couldn't be sent waits and is tried
// again, and it is kept in the browser until the book has it.
// It is one module with sheet-patch.js, sheet-keys.js and sheet-paste.js, which stand before it.

const PAUSE_MS = 120;
/** Which window this is, so that a person's windows are told apart. */
const windowId = (globalThis.hardtackWindow ??= crypto.randomUUID?.() ?? String(Math.random()));
const sheet = () => document.getElementById("sheet");
const main = () => document.getElementById("main");

/** What waits to be sent: cell by name. */
const waiting = new Map();
/** What this window had seen when a waiting cell was typed in, so that what others did since isn't overwritten unseen. */
const since = new Map();
/** What a cell showed when the book last told, and the text that it was told by, such as 44 for 44.00. */
const known = new WeakMap();
const accepted = new WeakMap();
/** The source of a live part, so that only what differs is touched. */
const shown = new WeakMap();
let timer = 0;
let sending = false;
let tries = 0;
/** Why the program takes nothing now, in its words; empty where it doesn't answer at all. */
let trouble = "";
let idle = [];

const keep = () => `hardtack.waiting.${sheet()?.dataset.thing}`;
const stored = (work) => { try { return work(sessionStorage); } catch { return null; } };

function remember() {
  if (!sheet()) return;
  const kept = [...waiting].map(([name, text]) => [name, text, since.get(name)]);
  stored((s) => kept.length ? s.setItem(keep(), JSON.stringify(kept)) : s.removeItem(keep()));
}

function wait(name, text, seenThen = seen()) {
  waiting.set(name, text);
  if (!since.has(name)) since.set(name, seenThen);
}

function waitNoMore(name) {
  waiting.delete(name);
  since.delete(name);
}

/** What this window shows. */
function seen() {
  const s = sheet();
  return { base: Number(s.dataset.base), counter: Number(s.dataset.counter), window: windowId };
}

/** The least of what was seen when the waiting cells were typed in. */
const oldest = () => [...waiting.keys()].map((name) => since.get(name) ?? seen()).reduce((a, b) => (b.base < a.base || (b.base === a.base && b.counter < a.counter) ? b : a), seen());

/** What the page says of the work that isn't in the book yet. */
function tell() {
  const place = document.getElementById("live-state");
  if (!place) return;
  const n = waiting.size;
  const changes = n === 1 ? "1 change" : `${n} changes`;
  place.classList.toggle("lost", tries > 0);
  place.textContent = tries > 0
    ? `${trouble || "No connection to the program."} ${n ? `${changes} kept here and` : "It is"} tried again by itself.`
    : sending || n ? "keeping…" : "";
}

/** Cells and live parts by name, looked up once for each sheet that is drawn. */
let index = { of: null, cells: new Map(), places: new Map() };
function parts() {
  const s = sheet();
  if (index.of === s) return index;
  index = { of: s, cells: new Map(), places: new Map() };
  for (const cell of s?.querySelectorAll("[data-cell]") ?? []) index.cells.set(cell.dataset.cell, cell);
  for (const place of s?.querySelectorAll("[data-p]") ?? []) index.places.set(place.dataset.p, place);
  return index;
}
const cellNamed = (name) => parts().cells.get(name);

/** A cell was typed in. */
function typed(cell, now = false) {
  typedAt = performance.now();
  const name = cell.dataset.cell;
  clearError(cell);
  const text = cell.value.trim();
  if (text === (known.get(cell) ?? cell.defaultValue) || text === accepted.get(cell)) waitNoMore(name);
  else wait(name, cell.value);
  remember();
  schedule(now ? 0 : PAUSE_MS);
  tell();
}

function schedule(ms) {
  clearTimeout(timer);
  timer = setTimeout(flush, ms);
}

function question(more) {
  const s = sheet();
  return {
    ...(more.cells ? oldest() : seen()),
    per: s.dataset.per,
    rows: s.dataset.rows ? s.dataset.rows.split(",") : [],
    shape: s.dataset.shape,
    open: [...s.querySelectorAll("details[data-why][open]")].map((d) => d.dataset.why),
    ...more,
  };
}

async function post(body) {
  const response = await fetch(`/study/${sheet().dataset.thing}/sheet`, {
    method: "POST",
    headers: { "content-type": "application/json", accept: "application/json" },
    body: JSON.stringify(body),
  });
  const kind = response.headers.get("content-type") ?? "";
  const told = kind.includes("json") ? await response.json() : { what: await response.text() };
  if (!response.ok) throw Object.assign(new Error([told.what, told.way_out].filter(Boolean).join(" ")), { told: true, status: response.status });
  return told;
}

/** Whether a refusal is about the program and not about what was sent, which then is kept and tried again. */
const passing = (status) => status >= 500 || [401, 403, 408, 425, 429].includes(status);

/** Sends what waits; one question at a time, so that no answer is older than what is shown. */
async function flush() {
  clearTimeout(timer);
  if (sending) return;
  if (!sheet() || !waiting.size) { done(); return; }
  const cells = Object.fromEntries(waiting);
  await ask({ cells });
}

/** Asks the program and shows its answer. */
async function ask(more) {
  sending = true;
  tell();
  const sent = more.cells ?? {};
  try {
    const answer = await post(question(more));
    tries = 0;
    trouble = "";
    for (const [name, text] of Object.entries(sent)) if (waiting.get(name) === text) {
      // Who is still typing hasn't looked at what was refused: what follows is sent under what was seen before it.
      const typing = name in answer.errors && grid.editing === cellNamed(name);
      if (typing) waiting.delete(name); else waitNoMore(name);
    }
    show(answer, sent);
    return answer;
  } catch (error) {
    const passes = error.told && passing(error.status);
    if (error.told && !(passes && more.cells)) {
      // Refused as a whole: the cells keep what was typed and say why.
      for (const name of Object.keys(sent)) { waitNoMore(name); setError(name, error.message); }
      say(error.message);
      return { said: error.message };
    }
    trouble = passes ? error.message : "";
    tries += 1;
    schedule(Math.min(10_000, 500 * 2 ** tries));
    return null;
  } finally {
    sending = false;
    remember();
    tell();
    if (waiting.size && !tries) schedule(0);
    else if (!waiting.size) done();
  }
}

function done() {
  const resolve = idle;
  idle = [];
  for (const r of resolve) r();
}

/** Waits until everything typed is in the book. */
function settled() {
  flush();
  return sending || waiting.size ? new Promise((resolve) => idle.push(resolve)) : Promise.resolve();
}

function say(text) {
  const place = document.getElementById("said");
  if (place) place.textContent = text ?? "";
}

/** Puts an answer in place of what was there. */
function show(answer, sent = {}) {
  const s = sheet();
  if (!s) return;
  const stood = `${s.dataset.base} ${s.dataset.counter}`;
  s.dataset.base = answer.base;
  s.dataset.counter = answer.counter;
  s.classList.toggle("stale", answer.broken);
  head(answer.head);
  moved.clear();
  if (answer.sheet) {
    whole(answer.sheet);
  } else {
    for (const [key, html] of Object.entries(answer.pieces)) piece(key, html);
    for (const [name, text] of Object.entries(answer.values)) value(name, text, name in answer.errors);
    markMoved(sent);
  }
  for (const [name, text] of Object.entries(sent)) {
    const cell = cellNamed(name);
    if (cell && !(name in answer.errors)) accepted.set(cell, text.trim());
  }
  for (const [name, why] of Object.entries(answer.errors)) {
    const cell = cellNamed(name);
    if (cell && name in sent && cell.value !== sent[name] && !waiting.has(name)) cell.value = sent[name];
    setError(name, why);
    if (answer.clashes?.[name]) settleAt(name, answer.clashes[name]);
  }
  say(Object.keys(answer.errors).length ? "" : answer.said);
  document.dispatchEvent(new CustomEvent("hardtack:sheet"));
  fold();
  // A look at what would change leaves the reasons as they are.
  if (answer.sheet || stood !== `${answer.base} ${answer.counter}`) { unsure(); reasons(); }
}

/** Asks why, for the figures that are open: what makes them differ, then what to try; then how sure the answers are.
 * What takes longer waits until nobody types. */
let round = 0;
let howSure = false;
const PATIENCE_MS = 1200;
const LOOK_AGAIN_MS = 400;
const pause = (ms) => new Promise((done) => setTimeout(done, ms));
async function reasons() {
  const mine = ++round;
  const current = () => mine === round && sheet();
  const patient = async () => { while (current() && (sending || waiting.size || !idleSince(PATIENCE_MS))) await pause(PATIENCE_MS); return current(); };
  for (const more of ["causes", "tries"]) {
    const asks = () => current() && sheet().querySelector("details[data-why][open]");
    if (more === "tries" && !(await patient())) return;
    if (!asks()) continue;
    let answer = null;
    // What takes longer than a page may wait is there when it is asked for again.
    for (let tries = 0; !answer && tries < 12 && asks(); tries += 1) {
      answer = await post(question({ act: "why", fields: { more } })).catch((error) => (error.status === 503 ? null : {}));
    }
    if (!current()) return;
    for (const [key, html] of Object.entries(answer?.pieces ?? {})) reason(key, html);
  }
  while (await patient()) {
    const fields = { more: "sure", strip: howSure ? "all" : "open" };
    const answer = await post(question({ act: "why", fields })).catch(() => null);
    if (!answer || !current()) return;
    markSure(answer.sure);
    for (const [key, html] of Object.entries(answer.pieces)) reason(key, html);
    if (answer.sure >= 1) return;
    await pause(LOOK_AGAIN_MS);
  }
}

/** Whether nothing was typed for so long. */
let typedAt = -Infinity;
const idleSince = (ms) => performance.now() - typedAt >= ms;

/** A reason in its place; what was unfolded in it stays unfolded. */
function reason(key, html) {
  const unfolded = parts().places.get(key)?.querySelector(".stands")?.open;
  piece(key, html);
  const stands = parts().places.get(key)?.querySelector(".stands");
  if (stands && unfolded) stands.open = true;
}

document.addEventListener("toggle", (event) => {
  if (event.target.matches?.("details[data-why][open]")) reasons();
}, true);

function head(html) {
  const old = document.getElementById("study");
  if (!old) return;
  const box = document.createElement("template");
  box.innerHTML = html;
  const fresh = box.content.getElementById("study");
  if (!fresh || fresh.isEqualNode(old)) return;
  const why = old.querySelector("[name=why]");
  const text = why?.value;
  const active = document.activeElement;
  const key = old.contains(active) ? active.dataset?.key : null;
  for (const { name, value } of fresh.attributes) if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  patch(old, fresh);
  const there = old.querySelector("[name=why]");
  if (there && there !== why) {
    there.value = text ?? "";
    if (active === why) there.focus();
  } else if (key && !active.isConnected) old.querySelector(`[data-key="${key}"]`)?.focus();
}

/** Columns that an answer moved. */
const moved = new Set();
function markMoved(sent) {
  if (!Object.keys(sent).length) return;
  const typedIn = new Set(Object.keys(sent).map((name) => name.split(":")[1]));
  for (const head of sheet().querySelectorAll(".study-table thead [popovertarget^=t-]")) {
    const column = head.getAttribute("popovertarget").slice(2);
    head.closest("th").classList.toggle("moved", moved.has(column) && !typedIn.has(column));
  }
}

function piece(key, html) {
  const place = parts().places.get(key);
  if (!place || shown.get(place) === html) return;
  const box = document.createElement("template");
  box.innerHTML = html;
  shown.set(place, html);
  if (box.innerHTML === place.innerHTML) return;
  patch(place, box.content);
  if (/^[fv]\./.test(key)) moved.add(key.split(".").at(key.startsWith("f.") ? -1 : 1));
  settle(place);
}

/** A changed figure settles, for who doesn't want things to keep still. */
const still = matchMedia("(prefers-reduced-motion: reduce)");
function settle(place) {
  if (place.matches("td, span") && !still.matches) place.animate([{ color: "var(--accent)" }, {}], { duration: 150, easing: "ease-out" });
}

function value(name, text, wrong) {
  if (name.startsWith("w:")) {
    const field = sheet().querySelector(`[data-live="${CSS.escape(name)}"]`);
    if (field && document.activeElement !== field && field.value !== text) field.value = field.defaultValue = text;
    return;
  }
  const cell = cellNamed(name);
  if (!cell) return;
  if (known.get(cell) !== text) accepted.delete(cell);
  known.set(cell, text);
  // Even the same text would have the cell styled again.
  if (cell.defaultValue !== text) cell.defaultValue = text;
  if (wrong || waiting.has(name)) return;
  clearError(cell);
  // What somebody is typing in stays as typed; it reads the same.
  if (document.activeElement === cell && grid.editing === cell) return;
  if (cell.value !== text) { cell.value = text; }
}

/** The whole sheet anew, with the place where one was. */
function whole(html) {
  const old = sheet();
  const box = document.createElement("template");
  box.innerHTML = html;
  const fresh = box.content.getElementById("sheet");
  const active = document.activeElement;
  const name = active?.dataset?.cell ?? null;
  const row = active?.matches?.("[name=row]");
  const typedText = name && grid.editing === active ? active.value : null;
  const scroll = old.querySelector(".study-box");
  const [left, top] = [scroll?.scrollLeft ?? 0, scroll?.scrollTop ?? 0];
  const open = new Set([...old.querySelectorAll("details[open]")].map((d) => d.dataset.why));
  const errors = [...old.querySelectorAll("[data-cell][aria-invalid]")].map((c) => [c.dataset.cell, c.value, c.title]);
  old.replaceWith(fresh);
  for (const d of fresh.querySelectorAll("details[data-why]")) d.open = open.has(d.dataset.why);
  const now = fresh.querySelector(".study-box");
  if (now) { now.scrollLeft = left; now.scrollTop = top; }
  for (const [cell, text, why] of errors) { const c = cellNamed(cell); if (c) { c.value = text; setError(cell, why); } }
  for (const [cell, text] of waiting) { const c = cellNamed(cell); if (c) c.value = text; }
  if (name) {
    const cell = cellNamed(name) ?? cellsOf()[0]?.[0];
    cell?.focus({ preventScroll: true });
    if (cell && typedText !== null && cell.dataset.cell === name) { cell.value = typedText; grid.editing = cell; }
  } else if (row) fresh.querySelector(".add-material [name=row]")?.focus();
  ready();
}

function setError(name, why) {
  const cell = cellNamed(name);
  if (!cell) return;
  cell.setAttribute("aria-invalid", "true");
  cell.title = why;
  let words = cell.parentElement.querySelector(".wrong");
  if (!words) {
    words = document.createElement("span");
    words.className = "wrong";
    words.setAttribute("role", "alert");
    cell.after(words);
  }
  words.textContent = why;
}

/** Another window wrote in this cell: what stands there now, or what was typed. */
function settleAt(name, { stands, typed: mine }) {
  const words = cellNamed(name)?.parentElement.querySelector(".wrong");
  if (!words) return;
  for (const [text, taken] of [[stands, false], [mine, true]]) {
    const button = document.createElement("button");
    button.type = "button";
    button.dataset.settle = taken ? "typed" : "stands";
    button.textContent = `${taken ? "Put" : "Keep"} ${text || "nothing"}`;
    button.addEventListener("click", () => {
      const cell = cellNamed(name);
      waitNoMore(name);
      clearError(cell);
      cell.value = text;
      grid.editing = null;
      if (taken) typed(cell, true); else remember();
      cell.focus();
    });
    words.append(" ", button);
  }
  words.scrollIntoView({ block: "nearest", inline: "nearest" });
}

function clearError(cell) {
  cell.removeAttribute("aria-invalid");
  cell.removeAttribute("title");
  cell.parentElement.querySelector(".wrong")?.remove();
}

/** Changes a form asks for, in place. */
async function sendForm(form, submitter) {
  await settled();
  const data = new FormData(form, submitter);
  const fields = {};
  let act = "";
  for (const [key, value] of data) {
    if (key === "act") act = value;
    else if (!["base", "counter", "per", "rows", "room"].includes(key)) fields[key] = value;
  }
  const words = form.querySelector(".word-back");
  if (words) words.textContent = "";
  const over = form.closest("[popover]");
  const answer = await ask({ act, fields });
  if (!answer) { if (words) words.textContent = "The program doesn’t answer; nothing was changed. Try again."; return; }
  if (answer.preview) { const place = form.querySelector(".preview"); if (place) place.innerHTML = answer.preview; return; }
  if (answer.said) { if (words?.isConnected) { words.textContent = answer.said; say(""); } return; }
  if (over?.isConnected && over.matches(":popover-open")) over.hidePopover();
}

async function goTo(address) {
  await settled();
  try {
    const response = await fetch(address, { headers: { "hardtack-part": "main" } });
    const box = document.createElement("template");
    box.innerHTML = await response.text();
    const fresh = box.content.getElementById("sheet");
    if (!response.ok || !fresh) { location.href = address; return false; }
    history.replaceState(null, "", address);
    whole(fresh.outerHTML);
    return true;
  } catch { tries = 1; tell(); return false; }
}

document.addEventListener("input", (event) => {
  if (event.target.matches?.("#sheet [data-cell]")) { grid.editing = event.target; typed(event.target); }
});

document.addEventListener("focusout", (event) => {
  if (event.target.matches?.("#sheet [data-cell]")) {
    grid.editing = null;
    if (waiting.has(event.target.dataset.cell)) schedule(0);
    else since.delete(event.target.dataset.cell);
  }
});

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!sheet()) return;
  const path = new URL(form.action).pathname;
  if (form.id === "cells") { event.preventDefault(); flush(); return; }
  if (form.matches("#sheet .edit")) { event.preventDefault(); sendForm(form, event.submitter); return; }
  if (form.matches(".add-material")) {
    event.preventDefault();
    const query = new URLSearchParams(new FormData(form));
    const rows = [query.get("rows"), query.get("row")].filter(Boolean).join(",");
    const before = new Set([...sheet().querySelectorAll("tr[data-row]")].map((r) => r.dataset.row));
    query.delete("row");
    query.set("rows", rows);
    const address = location.href;
    if (await goTo(`${path}?${query}`)) {
      const fresh = [...sheet().querySelectorAll("tr[data-row]")].find((r) => !before.has(r.dataset.row));
      if (fresh) fresh.querySelector("[data-cell]")?.focus();
      else {
        history.replaceState(null, "", address);
        say("There is no such material, or it stands in the sheet already. Choose one from the list.");
      }
    }
    return;
  }
  if (/\/(undo|redo)$/.test(path)) { event.preventDefault(); step(path.endsWith("undo") ? "undo" : "redo"); return; }
  // Saving and dropping the draft wait until what was typed is in the draft.
  if ((sending || waiting.size) && /\/(save|discard)$/.test(path)) {
    event.preventDefault();
    event.stopImmediatePropagation();
    const submitter = event.submitter;
    await settled();
    const fresh = document.querySelector(`form[action="${path}"]`);
    fresh?.requestSubmit(submitter?.isConnected ? submitter : undefined);
  }
}, true);

/** One step back or forth. */
async function step(act) {
  await settled();
  grid.editing = grid.before = null;
  await ask({ act });
}

document.addEventListener("click", (event) => {
  const link = event.target.closest?.("#sheet a[data-per]");
  if (link && !event.ctrlKey && !event.metaKey && !event.shiftKey) { event.preventDefault(); goTo(link.getAttribute("href")); return; }
  const button = event.target.closest?.("#sheet [data-do]");
  if (button?.dataset.do === "print") print();
  if (button?.dataset.do === "fold") {
    try { localStorage.setItem("hardtack.fold", folds() ? "no" : "yes"); } catch { /* then it folds no longer than this */ }
    fold();
  }
  if (button?.dataset.do === "sure") {
    howSure = button.closest(".tools") ? !howSure : true;
    markSure();
    reasons();
  }
  if (button?.dataset.do === "swap") {
    button.closest("[popover]")?.hidePopover();
    openSwap(button.dataset.out);
  }
});

function openSwap(out) {
  const over = document.getElementById("swap");
  over.querySelector("[name=out]").value = out;
  over.showPopover();
  over.querySelector("[name=with]").focus();
}

window.addEventListener("beforeunload", (event) => { if (waiting.size) { flush(); event.preventDefault(); } });
window.addEventListener("online", () => { tries = 0; flush(); });

/** What was typed and not sent before the page went away comes back. */
function bringBack() {
  const kept = stored((s) => s.getItem(keep()));
  if (!kept) return;
  for (const [name, text, seenThen] of JSON.parse(kept)) {
    const cell = cellNamed(name);
    if (cell && cell.value !== text) { cell.value = text; wait(name, text, seenThen); }
  }
  if (waiting.size) schedule(0);
  remember();
}

/** Whether all limits are shown, and how far the work is that tells them. */
function markSure(done = 1) {
  const button = sheet()?.querySelector(".tools [data-do=sure]");
  if (!button) return;
  button.setAttribute("aria-pressed", String(howSure));
  button.textContent = done < 1 ? `How sure: ${Math.floor(100 * done)} % worked out` : "How sure";
}

/** Limits of numbers that stand there no longer. */
function unsure() {
  for (const place of sheet()?.querySelectorAll(".strip .open") ?? []) { place.replaceChildren(); shown.delete(place); }
}

/** Small lines that stand under each other, under one line with their sum, for who wants the formula short. */
const SMALL = 1;
const FEWEST_SMALL = 3;
const folds = () => { try { return localStorage.getItem("hardtack.fold") === "yes"; } catch { return false; } };
function fold() {
  const s = sheet();
  if (!s) return;
  for (const row of s.querySelectorAll("tr.fold")) row.remove();
  for (const row of s.querySelectorAll("tr[data-row][hidden]")) row.hidden = false;
  const button = s.querySelector("[data-do=fold]");
  button?.setAttribute("aria-pressed", String(folds()));
  if (!folds()) return;
  const mark = s.dataset.decimal;
  const texts = (row) => [...row.querySelectorAll("[data-cell], [data-told]")].map((c) => (c.value ?? c.textContent).trim());
  const number = (text) => (/\d/.test(text) ? Number(text.replace(mark, ".").replace("−", "-")) : 0);
  const small = (row) => texts(row).every((t) => number(t) < SMALL) && !row.contains(document.activeElement);
  for (const body of s.querySelectorAll("tbody.formula")) {
    let run = [];
    for (const row of [...body.children, null]) {
      if (row?.dataset.row && small(row)) { run.push(row); continue; }
      if (run.length >= FEWEST_SMALL) underOne(run, texts, number, mark);
      run = [];
    }
  }
}

function underOne(run, texts, number, mark) {
  const line = document.createElement("tr");
  line.className = "fold";
  const head = document.createElement("th");
  head.className = "row-head";
  head.scope = "row";
  head.textContent = `${run.length} small lines`;
  line.append(head);
  const columns = run.map(texts);
  const places = Math.max(0, ...columns.flat().map((t) => t.split(mark)[1]?.length ?? 0));
  columns[0].forEach((_, i) => {
    const cell = document.createElement("td");
    cell.className = i ? "figure" : "figure control";
    const sum = columns.reduce((all, texts) => all + number(texts[i]), 0);
    const told = document.createElement("span");
    told.className = "told";
    told.textContent = sum ? sum.toFixed(places).replace(".", mark) : "–";
    cell.append(told);
    line.append(cell);
    if (i) { const gap = document.createElement("td"); gap.className = "change"; line.append(gap); }
  });
  run[0].before(line);
  for (const row of run) row.hidden = true;
}

function ready() {
  markSure();
  fold();
  document.documentElement.classList.add("live");
  reasons();
  for (const cell of sheet()?.querySelectorAll("[data-cell]") ?? []) known.set(cell, cell.defaultValue);
  restored();
}

/** Asks how a pasted block reads, for a place in the sheet. */
async function read(block, from) {
  await settled();
  const answer = await ask({ act: "paste", fields: { block, from } });
  if (!answer) say("The program doesn’t answer; nothing was pasted. Try again.");
  return answer;
}

/** Takes a list as it was looked at and chosen. */
async function take(fields) {
  await settled();
  return ask({ act: "lay", fields });
}

/** Says something once what waits is in the book, since an answer clears what was said. */
const tellThen = (words) => settled().then(() => say(words));

install({ typed, flush, step, clearError, known, settled, read, take, cellNamed, tell: tellThen, waits: (cell) => waiting.has(cell.dataset.cell) });
document.addEventListener("hardtack:shown", ready);
if (sheet()) { ready(); bringBack(); }
if (main()) tell();
