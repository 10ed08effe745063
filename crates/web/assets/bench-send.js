// The outbox: what waits is sent in its order until the book has it.

import { every, field, find, isField, pause, wordsOf } from "./dom.js";
import { show, tellTrouble } from "./bench-show.js";
import { all, bench, here, keptAt, pictureOf, put, sent } from "./bench-store.js";

/** @typedef {import("./bench-store.js").Item} Item */
/** @typedef {{ key: string, state: "kept" | "kept-already" | "refused", id?: number, way_out?: string }} Told What the book tells of a row. */

/** Rows sent at once. */
const AT_ONCE = 100;
/** Between two tries, ms: the first pause, and the longest. */
const FIRST_PAUSE = 500;
const LONGEST_PAUSE = 15_000;
/** How long an answer is waited for, ms. */
const PATIENCE = 20_000;
/** How often it is looked whether others wrote to this batch, ms. */
const LOOK_AROUND = 15_000;

let wait = FIRST_PAUSE;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let timer;
let sending = false;
let more = false;
/** Whether the book has rows that this page doesn't show yet. */
let due = false;

/**
 * One window at a time sends, so that the order holds.
 * @type {(deed: () => Promise<boolean>) => Promise<boolean>}
 */
const alone = async (deed) => (navigator.locks ? await navigator.locks.request("hardtack-bench", deed) : deed());

/** Sends what waits without the pause that a failure before it left. */
export function sendSoon() {
  wait = FIRST_PAUSE;
  sendAll();
}

/** Sends what waits, and tries again where it fails. */
export async function sendAll() {
  clearTimeout(timer);
  if (sending) { more = true; return; }
  sending = true;
  try {
    while (await alone(sendSome)) { due = true; wait = FIRST_PAUSE; }
    tellTrouble("");
    // What the book has is shown as the book tells it, and until then as it lies here.
    if (due || keptAt()) { await show(); await renew(); }
    due = false;
  } catch (error) {
    tellTrouble(`${wordsOf(error)} It is tried again.`);
    timer = setTimeout(sendAll, wait);
    wait = Math.min(2 * wait, LONGEST_PAUSE);
  }
  sending = false;
  await show();
  if (more) { more = false; sendAll(); }
}

const unreached = () => { throw new Error("The program can’t be reached."); };

/**
 * What the program answers, where it lets this device in.
 * @param {string} address
 * @param {{ headers: Record<string, string>, body: string | ArrayBuffer | undefined }} content
 */
async function answered(address, content) {
  const response = await fetch(address, { method: "POST", ...content, signal: AbortSignal.timeout?.(PATIENCE) }).catch(unreached);
  if (response.redirected || response.status === 401 || response.status === 403) throw new Error("This device isn’t let in; pair it again.");
  return response;
}

/** Sends the oldest rows; tells whether the book answered to any. */
async function sendSome() {
  const some = (await all()).filter((i) => !i.refused && !i.sent).slice(0, AT_ONCE);
  if (!some.length) return false;
  // A photograph goes before its row, and its row after those before it.
  const picture = some.findIndex((i) => i.pictured);
  if (picture === 0) return sendPicture(some[0]);
  if (picture > 0) some.length = picture;
  const response = await answered("/bench/entries", {
    headers: { "content-type": "application/json", accept: "application/json" },
    body: JSON.stringify(some.map((i) => i.row)),
  });
  if (!response.ok) throw new Error((await response.json().catch(() => null))?.what ?? "The program can’t take them now.");
  /** @type {Told[]} */
  const answers = await response.json();
  const told = new Map(answers.map((t) => [t.key, t]));
  if (!some.some((i) => told.has(i.row.key))) throw new Error("The program’s answer can’t be read.");
  const kept = some.filter((i) => ["kept", "kept-already"].includes(told.get(i.row.key)?.state ?? ""));
  await sent(kept, new Map(kept.map((i) => [i.row.key, told.get(i.row.key)?.id])));
  for (const item of some) {
    const answer = told.get(item.row.key);
    if (answer?.state === "refused") await put({ ...item, refused: answer.way_out });
  }
  return true;
}

/**
 * Sends a photograph; its row then goes with its hash.
 * @param {Item} item
 */
async function sendPicture({ pictured, ...item }) {
  const body = await pictureOf(item.row.key);
  const response = await answered("/bench/picture", { headers: { "content-type": "image/jpeg", accept: "application/json" }, body });
  const answer = await response.json().catch(() => null);
  if (response.ok && answer?.hash) await put({ ...item, row: { ...item.row, value: answer.hash } });
  else if (response.status >= 500 || !answer) throw new Error(answer?.what ?? "The program can’t take the photograph now.");
  else await put({ ...item, pictured, refused: [answer.what, answer.way_out].filter(Boolean).join(" ") });
  return true;
}

/** Whether a finger is on the screen: what it is on stays until it is off. */
let pressed = false;
document.addEventListener("pointerdown", () => { pressed = true; }, true);
for (const over of ["pointerup", "pointercancel"]) document.addEventListener(over, () => setTimeout(() => { pressed = false; }), true);
async function untilOff() {
  for (const began = Date.now(); pressed && Date.now() - began < 2_000;) await pause(10);
}

/** Puts what the book has now in place of what stands here, and leaves what is being typed. */
async function renew() {
  const response = await fetch(location.href, { headers: { accept: "text/html" } }).catch(unreached);
  if (response.status >= 500) throw new Error("The program can’t show this page now.");
  if (!response.ok || response.redirected) return;
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  await untilOff();
  const fresh = page.getElementById("bench");
  const old = bench();
  if (!fresh || !old || fresh.dataset.thing !== old.dataset.thing) return;
  /** @type {(form: HTMLFormElement) => string} */
  const name = (form) => {
    const of = field(form, "of");
    return [form.dataset.enter, form.dataset.label, of?.type === "hidden" ? of.value : "", field(form, "strikes")?.value ?? ""].join("\n");
  };
  const forms = new Map(every(HTMLFormElement, "form[data-enter]", fresh).map((f) => [name(f), f]));
  const focused = document.activeElement;
  /** @type {Element | null} */
  let focus = null;
  for (const form of every(HTMLFormElement, "form[data-enter]", old)) {
    const to = forms.get(name(form));
    if (!to) continue;
    for (const had of form.elements) {
      if (!isField(had) || had instanceof HTMLButtonElement || !had.name || ["hidden", "file"].includes(had.type)) continue;
      const same = field(to, had.name);
      if (!same) continue;
      if (had instanceof HTMLSelectElement || (had.value !== had.defaultValue && had.value !== had.dataset.filled)) same.value = had.value;
      if (had === focused) focus = same;
    }
    const [why, freshWhy] = [form, to].map((one) => find(HTMLElement, ".why", one));
    if (why && freshWhy) freshWhy.hidden = why.hidden;
    if (form.dataset.tapped) to.dataset.tapped = form.dataset.tapped;
    to.querySelector(":scope > .wrong")?.replaceChildren(...(form.querySelector(":scope > .wrong")?.childNodes ?? []));
    const around = to.closest("details");
    if (form.closest("details")?.open && around) around.open = true;
  }
  // What is told of waiting stays the same place for who listens, and a photograph that is chosen stays chosen.
  for (const css of [".outbox", "#pending", ".camera", ".rings", ".standing .line"]) {
    const stays = old.querySelector(css);
    if (stays?.contains(focused)) focus = focused;
    if (stays) fresh.querySelector(css)?.replaceWith(stays);
  }
  old.replaceWith(fresh);
  delete document.documentElement.dataset.kept;
  if (focus instanceof HTMLElement) focus.focus();
}

/** Whether others wrote to this batch meanwhile. */
async function lookAround() {
  if (document.visibilityState !== "visible" || sending || keptAt()) return;
  const { thing, last } = here();
  if (!thing) return;
  const address = `/bench/entries?kind=batch&thing=${encodeURIComponent(thing)}&after=${last}`;
  const since = await fetch(address, { headers: { accept: "application/json" } }).then((r) => r.json()).catch(() => null);
  if (since?.entries?.length) { due = true; sendAll(); }
}
setInterval(lookAround, LOOK_AROUND);
