// The study sheet, live: a typed cell is sent by itself, what follows from it comes back and takes
// the place of what stood there. Nothing typed is lost: what couldn't be sent waits and is tried
// again, and it is kept in the browser until the book has it.

import { about, asQuery, every, field, find, fragment, must, need, pause, wordsOf } from "./dom.js";
import { say, windowId } from "./live.js";
import { cellsOf, clearSelection, grid, listenToKeys, typable } from "./sheet-keys.js";
import { watchLots } from "./sheet-lots.js";
import { listenToPastes } from "./sheet-paste.js";
import { patch } from "./sheet-patch.js";

/** @typedef {{ base: number, counter: number, window: string }} Seen What a window shows: a revision, the step since, which window. */
/** @typedef {Record<string, string>} Texts Texts by the names of cells or parts. */

/**
 * What the sheet asks for: what was typed in cells, or a deed with its fields.
 * @typedef {{ cells?: Texts, act?: string, fields?: Record<string, FormDataEntryValue> }} Asked
 */

/**
 * What comes back: pieces of the page, values and errors of cells, cells that another window changed meanwhile, words, and the
 * whole sheet where its shape changed.
 * @typedef {{
 *   base: number, counter: number, broken: boolean, pieces: Texts, values: Texts, errors: Texts,
 *   clashes: Record<string, { stands: string, typed: string }>, said: string | null, note: string | null, head: string, sheet: string | null,
 *   preview: string | null, readings: import("./sheet-paste.js").Reading[], which: string | null, sure: number | null,
 * }} Answer
 */

/** A refusal of the program, in its words. */
class Refused extends Error {
  /**
   * @param {Refusal} told
   * @param {number} status
   */
  constructor(told, status) {
    super([told.what, told.way_out].filter(Boolean).join(" "));
    this.status = status;
  }
}

const PAUSE_MS = 120;
const sheet = () => document.getElementById("sheet");
/** The sheet where there must be one. */
const theSheet = () => must(sheet(), "sheet");
const main = () => document.getElementById("main");

/**
 * What waits to be sent: cell by name.
 * @type {Map<string, string>}
 */
const waiting = new Map();
/**
 * What this window had seen when a waiting cell was typed in, so that what others did since isn't overwritten unseen.
 * @type {Map<string, Seen>}
 */
const since = new Map();
/**
 * What a cell showed when the book last told.
 * @type {WeakMap<HTMLInputElement, string>}
 */
const known = new WeakMap();
/**
 * The text that a cell was told by, such as 44 for 44.00.
 * @type {WeakMap<HTMLInputElement, string>}
 */
const accepted = new WeakMap();
/**
 * The source of a live part, so that only what differs is touched.
 * @type {WeakMap<Element, string>}
 */
const shown = new WeakMap();
let timer = 0;
let sending = false;
let tries = 0;
/** Why the program takes nothing now, in its words; empty where it doesn't answer at all. */
let trouble = "";
/** @type {(() => void)[]} */
let idle = [];

const keep = () => `hardtack.waiting.${sheet()?.dataset.thing}`;
/** @type {(work: (store: Storage) => string | null | void) => string | null | void} */
const stored = (work) => { try { return work(sessionStorage); } catch { return null; } };

function remember() {
  if (!sheet()) return;
  const kept = [...waiting].map(([name, text]) => [name, text, since.get(name)]);
  stored((s) => kept.length ? s.setItem(keep(), JSON.stringify(kept)) : s.removeItem(keep()));
}

/**
 * What was typed in a cell waits.
 * @param {string} name
 * @param {string} text
 * @param {Seen} [seenThen]
 */
function wait(name, text, seenThen = seen()) {
  waiting.set(name, text);
  if (!since.has(name)) since.set(name, seenThen);
}

/** @param {string} name */
function waitNoMore(name) {
  waiting.delete(name);
  since.delete(name);
}

/**
 * What this window shows.
 * @returns {Seen}
 */
function seen() {
  const s = theSheet();
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

/**
 * Cells and live parts by name, looked up once for each sheet that is drawn.
 * @type {{ of: HTMLElement | null, cells: Map<string, HTMLInputElement>, places: Map<string, HTMLElement> }}
 */
let index = { of: null, cells: new Map(), places: new Map() };
function parts() {
  const s = sheet();
  if (index.of === s) return index;
  index = { of: s, cells: new Map(), places: new Map() };
  for (const cell of every(HTMLInputElement, "[data-cell]", s)) index.cells.set(nameOf(cell), cell);
  for (const place of every(HTMLElement, "[data-p]", s)) index.places.set(place.dataset.p ?? "", place);
  return index;
}
/** @param {HTMLInputElement} cell */
const nameOf = (cell) => cell.dataset.cell ?? "";
/** @param {string} name */
const cellNamed = (name) => parts().cells.get(name);

/**
 * A cell was typed in.
 * @param {HTMLInputElement} cell
 * @param {boolean} [now]
 */
function typed(cell, now = false) {
  typedAt = performance.now();
  const name = nameOf(cell);
  clearError(cell);
  const text = cell.value.trim();
  if (text === (known.get(cell) ?? cell.defaultValue) || text === accepted.get(cell)) waitNoMore(name);
  else wait(name, cell.value);
  remember();
  schedule(now ? 0 : PAUSE_MS);
  tell();
}

/** @param {number} ms */
function schedule(ms) {
  clearTimeout(timer);
  timer = setTimeout(flush, ms);
}

/**
 * A question as the program reads it.
 * @param {Asked} more
 */
function question(more) {
  const s = theSheet();
  return {
    ...(more.cells ? oldest() : seen()),
    per: s.dataset.per,
    rows: s.dataset.rows ? s.dataset.rows.split(",") : [],
    shape: s.dataset.shape,
    open: every(HTMLElement, "details[data-why][open]", s).map((d) => d.dataset.why),
    ...more,
  };
}

/**
 * Asks the program.
 * @param {ReturnType<typeof question>} body
 * @returns {Promise<Answer>}
 */
async function post(body) {
  const response = await fetch(`/study/${theSheet().dataset.thing}/sheet`, {
    method: "POST",
    headers: { "content-type": "application/json", accept: "application/json" },
    body: JSON.stringify(body),
  });
  const kind = response.headers.get("content-type") ?? "";
  const told = kind.includes("json") ? await response.json() : { what: await response.text() };
  if (!response.ok) throw new Refused(told, response.status);
  return told;
}

/**
 * Whether a refusal is about the program and not about what was sent, which then is kept and tried again.
 * @param {number} status
 */
const passing = (status) => status >= 500 || [401, 403, 408, 425, 429].includes(status);

/** Sends what waits; one question at a time, so that no answer is older than what is shown. */
async function flush() {
  clearTimeout(timer);
  if (sending) return;
  if (!sheet() || !waiting.size) { done(); return; }
  const cells = Object.fromEntries(waiting);
  await ask({ cells });
}

/**
 * Asks the program and shows its answer; of a refusal it gives what was said, and nothing where there was no answer.
 * @param {Asked} more
 * @returns {Promise<Partial<Answer> | null>}
 */
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
    const refused = error instanceof Refused ? error : null;
    const passes = refused && passing(refused.status);
    if (refused && !(passes && more.cells)) {
      // Refused as a whole: the cells keep what was typed and say why.
      for (const name of Object.keys(sent)) { waitNoMore(name); setError(name, refused.message); }
      say(refused.message);
      return { said: refused.message };
    }
    trouble = passes ? wordsOf(error) : "";
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

/**
 * Waits until everything typed is in the book.
 * @returns {Promise<void>}
 */
function settled() {
  flush();
  return sending || waiting.size ? new Promise((resolve) => idle.push(resolve)) : Promise.resolve();
}

/**
 * Puts an answer in place of what was there.
 * @param {Answer} answer
 * @param {Texts} [sent]
 */
function show(answer, sent = {}) {
  const s = sheet();
  if (!s) return;
  const stood = `${s.dataset.base} ${s.dataset.counter}`;
  s.dataset.base = String(answer.base);
  s.dataset.counter = String(answer.counter);
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
async function reasons() {
  const mine = ++round;
  const current = () => mine === round && sheet();
  const patient = async () => { while (current() && (sending || waiting.size || !idleSince(PATIENCE_MS))) await pause(PATIENCE_MS); return current(); };
  for (const more of ["causes", "tries"]) {
    const asks = () => current() && theSheet().querySelector("details[data-why][open]");
    if (more === "tries" && !(await patient())) return;
    if (!asks()) continue;
    /** @type {Partial<Answer> | null} */
    let answer = null;
    // What takes longer than a page may wait is there when it is asked for again.
    for (let tries = 0; !answer && tries < 12 && asks(); tries += 1) {
      answer = await post(question({ act: "why", fields: { more } })).catch((error) => (error instanceof Refused && error.status === 503 ? null : {}));
    }
    if (!current()) return;
    for (const [key, html] of Object.entries(answer?.pieces ?? {})) reason(key, html);
  }
  while (await patient()) {
    const fields = { more: "sure", strip: howSure ? "all" : "open" };
    const answer = await post(question({ act: "why", fields })).catch(() => null);
    if (!answer || !current()) return;
    const sure = answer.sure ?? 0;
    markSure(sure);
    for (const [key, html] of Object.entries(answer.pieces)) reason(key, html);
    if (sure >= 1) return;
    await pause(LOOK_AGAIN_MS);
  }
}

/** Whether nothing was typed for so long. */
let typedAt = -Infinity;
/** @param {number} ms */
const idleSince = (ms) => performance.now() - typedAt >= ms;

/**
 * A reason in its place; what was unfolded in it stays unfolded.
 * @param {string} key
 * @param {string} html
 */
function reason(key, html) {
  const standing = () => find(HTMLDetailsElement, ".stands", parts().places.get(key) ?? null);
  const unfolded = standing()?.open;
  piece(key, html);
  const stands = standing();
  if (stands && unfolded) stands.open = true;
}

document.addEventListener("toggle", ({ target }) => {
  if (target instanceof Element && target.matches("details[data-why][open]")) reasons();
}, true);

/**
 * The head of the page, with the reason that somebody is typing.
 * @param {string} html
 */
function head(html) {
  const old = document.getElementById("study");
  if (!old) return;
  const fresh = fragment(html).getElementById("study");
  if (!fresh || fresh.isEqualNode(old)) return;
  const why = find(HTMLInputElement, "[name=why]", old);
  const text = why?.value;
  const active = document.activeElement;
  const key = active instanceof HTMLElement && old.contains(active) ? active.dataset.key : null;
  for (const { name, value } of fresh.attributes) if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  patch(old, fresh);
  const there = find(HTMLInputElement, "[name=why]", old);
  if (there && there !== why) {
    there.value = text ?? "";
    if (active === why) there.focus();
  } else if (key && !active?.isConnected) find(HTMLElement, `[data-key="${key}"]`, old)?.focus();
}

/**
 * Columns that an answer moved.
 * @type {Set<string | undefined>}
 */
const moved = new Set();
/** @param {Texts} sent */
function markMoved(sent) {
  if (!Object.keys(sent).length) return;
  const typedIn = new Set(Object.keys(sent).map((name) => name.split(":")[1]));
  for (const head of theSheet().querySelectorAll(".study-table thead [popovertarget^=t-]")) {
    const column = head.getAttribute("popovertarget")?.slice(2);
    head.closest("th")?.classList.toggle("moved", moved.has(column) && !typedIn.has(column ?? ""));
  }
}

/**
 * A live part anew.
 * @param {string} key
 * @param {string} html
 */
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
/** @param {Element} place */
function settle(place) {
  if (place.matches("td, span") && !still.matches) place.animate([{ color: "var(--accent)" }, {}], { duration: 150, easing: "ease-out" });
}

/**
 * The value of a cell, as the book tells it.
 * @param {string} name
 * @param {string} text
 * @param {boolean} wrong
 */
function value(name, text, wrong) {
  if (name.startsWith("w:")) {
    const field = find(HTMLInputElement, `[data-live="${CSS.escape(name)}"]`, sheet());
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

/**
 * The whole sheet anew, with the place where one was.
 * @param {string} html
 */
function whole(html) {
  const old = theSheet();
  const fresh = must(fragment(html).getElementById("sheet"), "sheet");
  const active = document.activeElement;
  const writing = typable(active);
  const name = writing ? nameOf(writing) : null;
  const row = active?.matches("[name=row]");
  const typedText = writing && grid.editing === writing ? writing.value : null;
  const scroll = old.querySelector(".study-box");
  const [left, top] = [scroll?.scrollLeft ?? 0, scroll?.scrollTop ?? 0];
  const open = new Set(every(HTMLDetailsElement, "details[open]", old).map((d) => d.dataset.why));
  const errors = every(HTMLInputElement, "[data-cell][aria-invalid]", old).map((c) => [nameOf(c), c.value, c.title]);
  old.replaceWith(fresh);
  for (const d of every(HTMLDetailsElement, "details[data-why]", fresh)) d.open = open.has(d.dataset.why);
  const now = fresh.querySelector(".study-box");
  if (now) { now.scrollLeft = left; now.scrollTop = top; }
  for (const [cell, text, why] of errors) { const c = cellNamed(cell); if (c) { c.value = text; setError(cell, why); } }
  for (const [cell, text] of waiting) { const c = cellNamed(cell); if (c) c.value = text; }
  if (name) {
    const cell = cellNamed(name);
    (cell ?? cellsOf()[0]?.[0])?.focus({ preventScroll: true });
    if (cell && typedText !== null) { cell.value = typedText; grid.editing = cell; }
  } else if (row) find(HTMLElement, ".add-material [name=row]", fresh)?.focus();
  ready();
}

/**
 * What is wrong with a cell, beside it.
 * @param {string} name
 * @param {string} why
 */
function setError(name, why) {
  const cell = cellNamed(name);
  if (!cell) return;
  cell.setAttribute("aria-invalid", "true");
  cell.title = why;
  let words = cell.parentElement?.querySelector(".wrong");
  if (!words) {
    words = document.createElement("span");
    words.className = "wrong";
    words.setAttribute("role", "alert");
    cell.after(words);
  }
  words.textContent = why;
}

/**
 * Another window wrote in this cell: what stands there now, or what was typed.
 * @param {string} name
 * @param {Answer["clashes"][string]} clash
 */
function settleAt(name, { stands, typed: mine }) {
  const words = cellNamed(name)?.parentElement?.querySelector(".wrong");
  if (!words) return;
  for (const { text, taken } of [{ text: stands, taken: false }, { text: mine, taken: true }]) {
    const button = document.createElement("button");
    button.type = "button";
    button.dataset.settle = taken ? "typed" : "stands";
    button.textContent = `${taken ? "Put" : "Keep"} ${text || "nothing"}`;
    button.addEventListener("click", () => {
      const cell = must(cellNamed(name), name);
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

/** @param {HTMLInputElement} cell */
function clearError(cell) {
  cell.removeAttribute("aria-invalid");
  cell.removeAttribute("title");
  cell.parentElement?.querySelector(".wrong")?.remove();
}

/**
 * Changes a form asks for, in place.
 * @param {HTMLFormElement} form
 * @param {HTMLElement | null} submitter
 */
async function sendForm(form, submitter) {
  await settled();
  const data = new FormData(form, submitter);
  /** @type {Record<string, FormDataEntryValue>} */
  const fields = {};
  let act = "";
  for (const [key, value] of data) {
    if (key === "act") act = String(value);
    else if (!["base", "counter", "per", "rows", "room"].includes(key)) fields[key] = value;
  }
  const words = form.querySelector(".word-back");
  if (words) words.textContent = "";
  const over = about(form, HTMLElement, "[popover]");
  const answer = await ask({ act, fields });
  if (!answer) { if (words) words.textContent = "The program doesn’t answer; nothing was changed. Try again."; return; }
  if (answer.preview) { const place = form.querySelector(".preview"); if (place) place.innerHTML = answer.preview; return; }
  if (answer.said) { if (words?.isConnected) { words.textContent = answer.said; say(""); } return; }
  if (over?.isConnected && over.matches(":popover-open")) over.hidePopover();
}

/**
 * Goes to another view of the sheet; tells whether it is there.
 * @param {string} address
 */
async function goTo(address) {
  await settled();
  try {
    const response = await fetch(address, { headers: { "hardtack-part": "main" } });
    const fresh = fragment(await response.text()).getElementById("sheet");
    if (!response.ok || !fresh) { location.href = address; return false; }
    history.replaceState(null, "", address);
    whole(fresh.outerHTML);
    return true;
  } catch { tries = 1; tell(); return false; }
}

/**
 * The cell of the sheet that an event is about.
 * @param {EventTarget | null} target
 */
const cellIn = (target) => {
  const cell = typable(target);
  return cell?.matches("#sheet [data-cell]") ? cell : null;
};

document.addEventListener("input", ({ target }) => {
  const cell = cellIn(target);
  if (cell) { grid.editing = cell; typed(cell); }
});

document.addEventListener("focusout", ({ target }) => {
  const cell = cellIn(target);
  if (!cell) return;
  grid.editing = null;
  if (waiting.has(nameOf(cell))) schedule(0);
  else since.delete(nameOf(cell));
});

document.addEventListener("submit", async (event) => {
  const form = about(event.target, HTMLFormElement, "form");
  if (!sheet() || !form) return;
  const path = new URL(form.action).pathname;
  if (form.id === "cells") { event.preventDefault(); flush(); return; }
  if (form.matches("#sheet .edit")) { event.preventDefault(); sendForm(form, event.submitter); return; }
  if (form.matches(".add-material")) {
    event.preventDefault();
    const query = asQuery(new FormData(form));
    const rows = [query.get("rows"), query.get("row")].filter(Boolean).join(",");
    const lines = () => every(HTMLTableRowElement, "tr[data-row]", sheet());
    const before = new Set(lines().map((r) => r.dataset.row));
    query.delete("row");
    query.set("rows", rows);
    const address = location.href;
    if (await goTo(`${path}?${query}`)) {
      const fresh = lines().find((r) => !before.has(r.dataset.row));
      if (fresh) find(HTMLElement, "[data-cell]", fresh)?.focus();
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
    const fresh = find(HTMLFormElement, `form[action="${path}"]`);
    fresh?.requestSubmit(submitter?.isConnected ? submitter : undefined);
  }
}, true);

/**
 * One step back or forth.
 * @param {"undo" | "redo"} act
 */
async function step(act) {
  await settled();
  grid.editing = grid.before = null;
  await ask({ act });
}

document.addEventListener("click", (event) => {
  const link = about(event.target, HTMLAnchorElement, "#sheet a[data-per]");
  if (link && !event.ctrlKey && !event.metaKey && !event.shiftKey) { event.preventDefault(); goTo(link.getAttribute("href") ?? ""); return; }
  const button = about(event.target, HTMLElement, "#sheet [data-do]");
  if (!button) return;
  if (button.dataset.do === "print") print();
  if (button.dataset.do === "fold") {
    try { localStorage.setItem("hardtack.fold", folds() ? "no" : "yes"); } catch { /* then it folds no longer than this */ }
    fold();
  }
  if (button.dataset.do === "sure") {
    howSure = button.closest(".tools") ? !howSure : true;
    markSure();
    reasons();
  }
  if (button.dataset.do === "swap") {
    about(button, HTMLElement, "[popover]")?.hidePopover();
    openSwap(button.dataset.out ?? "");
  }
});

/** @param {string} out */
function openSwap(out) {
  const over = need(HTMLElement, "#swap");
  const form = need(HTMLFormElement, "form", over);
  must(field(form, "out"), "field for what goes").value = out;
  over.showPopover();
  field(form, "with")?.focus();
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

/**
 * Whether all limits are shown, and how far the work is that tells them.
 * @param {number} [done]
 */
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
  for (const row of every(HTMLTableRowElement, "tr[data-row][hidden]", s)) row.hidden = false;
  const button = s.querySelector("[data-do=fold]");
  button?.setAttribute("aria-pressed", String(folds()));
  if (!folds()) return;
  const mark = s.dataset.decimal ?? ".";
  /** @type {(row: HTMLElement) => string[]} */
  const texts = (row) => every(HTMLElement, "[data-cell], [data-told]", row).map((c) => (c instanceof HTMLInputElement ? c.value : c.textContent ?? "").trim());
  /** @type {(text: string) => number} */
  const number = (text) => (/\d/.test(text) ? Number(text.replace(mark, ".").replace("−", "-")) : 0);
  /** @type {(row: HTMLElement) => boolean} */
  const small = (row) => texts(row).every((t) => number(t) < SMALL) && !row.contains(document.activeElement);
  for (const body of every(HTMLTableSectionElement, "tbody.formula", s)) {
    /** @type {HTMLTableRowElement[]} */
    let run = [];
    for (const row of [...body.rows, null]) {
      if (row?.dataset.row && small(row)) { run.push(row); continue; }
      if (run.length >= FEWEST_SMALL) underOne(run, texts, number, mark);
      run = [];
    }
  }
}

/**
 * Puts lines under one that stands for all of them.
 * @param {HTMLTableRowElement[]} run
 * @param {(row: HTMLElement) => string[]} texts
 * @param {(text: string) => number} number
 * @param {string} mark
 */
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
  for (const cell of every(HTMLInputElement, "[data-cell]", sheet())) known.set(cell, cell.defaultValue);
  clearSelection();
}

/**
 * Asks how a pasted block reads, for a place in the sheet.
 * @param {string} block
 * @param {string} from
 */
async function read(block, from) {
  await settled();
  const answer = await ask({ act: "paste", fields: { block, from } });
  if (!answer) say("The program doesn’t answer; nothing was pasted. Try again.");
  return answer;
}

/**
 * Takes a list as it was looked at and chosen.
 * @param {Record<string, FormDataEntryValue>} fields
 */
async function take(fields) {
  await settled();
  return ask({ act: "lay", fields });
}

/**
 * Says something once what waits is in the book, since an answer clears what was said.
 * @param {string} words
 */
const tellThen = (words) => settled().then(() => say(words));

listenToKeys({ typed, flush, step, known, settled, waits: (cell) => waiting.has(nameOf(cell)) });
listenToPastes({ read, take, cellNamed, typed, tell: tellThen });
document.addEventListener("hardtack:shown", ready);
if (sheet()) { ready(); bringBack(); }
if (main()) tell();
watchLots();
