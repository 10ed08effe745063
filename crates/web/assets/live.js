// What makes every page of a study live: forms are sent in the background and their answer takes
// the place of what stands in <main>. Without this script the same forms go the long way round.

import { about, asQuery, every, find, pause } from "./dom.js";

/** Which window this is, so that a person's windows are told apart. */
export const windowId = crypto.randomUUID?.() ?? String(Math.random());

/** What is told where the program gives no answer. */
export const NO_ANSWER = "The program doesn't answer. Is it still running? What was kept before is safe.";

/**
 * Tells a person something, and takes it away when it is out of date.
 * @param {string | null | undefined} text
 */
export function say(text) {
  const place = document.getElementById("said");
  if (place) place.textContent = text ?? "";
}

/** The study on this page: its lasting name, the revision it stands on, the room. */
function study() {
  const head = document.getElementById("study");
  return head && { thing: head.dataset.thing, base: Number(head.dataset.base), counter: Number(head.dataset.counter), room: head.dataset.room };
}

/** Between two questions whether an answer is worked out, ms, and how often it is asked. */
const ASK_AGAIN = 700;
const ASKED_AT_MOST = 120;

/** The answers so far of a list of studies, one after another: each has to be worked out, and then how sure it is. */
(async () => {
  const places = every(HTMLElement, "[data-so-far]");
  /** @type {(place: HTMLElement, more: string) => Promise<boolean>} */
  const put = async (place, more) => {
    const response = await fetch(place.dataset.soFar + more).catch(() => null);
    if (!response?.ok) return false;
    place.innerHTML = await response.text();
    return !!place.querySelector("[data-again]");
  };
  for (const place of places) await put(place, "");
  for (const place of places) {
    for (let n = 0; n < ASKED_AT_MOST && (await put(place, "?sure=yes")); n += 1) await pause(ASK_AGAIN);
  }
})();

/**
 * What stands behind ? in the address.
 * @returns {Record<string, string>}
 */
const query = () => Object.fromEntries(new URLSearchParams(location.search));

/** @type {Promise<unknown>} */
let last = Promise.resolve();

/**
 * Does things one after another, so that an edit never overtakes the one before.
 * @param {() => Promise<unknown>} work
 */
function inOrder(work) {
  last = last.then(work, work);
  return last;
}

/**
 * Puts the answer in place of what was there; gives true when it worked.
 * @param {Response} response
 */
async function take(response) {
  const kind = response.headers.get("content-type") ?? "";
  if (!response.ok) {
    /** @type {Refusal} */
    const told = kind.includes("json") ? await response.json() : { what: await response.text() };
    if (told.look) { location.href = told.look; return false; }
    say([told.what, told.way_out].filter(Boolean).join(" "));
    document.dispatchEvent(new CustomEvent("hardtack:refused", { detail: told }));
    return false;
  }
  if (response.redirected) { location.href = response.url; return true; }
  const text = await response.text();
  const main = document.getElementById("main");
  if (main) main.innerHTML = text;
  say("");
  document.dispatchEvent(new CustomEvent("hardtack:shown"));
  return true;
}

/**
 * Sends edits (see the list of edits in the study crate) and shows what follows.
 * @param {Edit[]} edits
 */
function send(edits) {
  return inOrder(async () => {
    const here = study();
    if (!here) return false;
    const response = await fetch(`/study/${here.thing}/edit`, {
      method: "POST",
      headers: { "content-type": "application/json", "hardtack-part": "main" },
      body: JSON.stringify({ base: here.base, counter: here.counter, window: windowId, room: here.room, query: query(), edits }),
    });
    return take(response);
  }).catch(() => say(NO_ANSWER));
}

/** Another script asks for edits. */
document.addEventListener("hardtack:edit", (event) => send(event.detail));

/**
 * Sends a form and shows what follows.
 * @param {HTMLFormElement} form
 * @param {HTMLElement | null} submitter
 */
function submit(form, submitter) {
  return inOrder(async () => {
    const data = new FormData(form, submitter);
    const here = study();
    if (here && data.has("base")) data.set("base", String(here.base));
    if (here && data.has("counter")) { data.set("counter", String(here.counter)); data.set("window", windowId); }
    // The answer is about what the page was about, such as the treatment in its address.
    for (const [name, value] of Object.entries(query())) if (!data.has(`q.${name}`)) data.set(`q.${name}`, value);
    const response = await fetch(form.action, {
      method: "POST",
      headers: { "hardtack-part": "main" },
      body: asQuery(data),
    });
    return take(response);
  }).catch(() => say(NO_ANSWER));
}

/**
 * Whether a form changes a study in place and so can be sent in the background.
 * @param {HTMLFormElement} form
 */
const live = (form) =>
  form.method === "post" && form.enctype !== "multipart/form-data" && study() &&
  /\/study\/[^/]+\/(edit|undo|redo|save|discard|piece|after)$/.test(new URL(form.action).pathname);

// Paper.
for (const button of every(HTMLElement, "[data-print]")) button.hidden = false;
document.addEventListener("click", ({ target }) => { if (about(target, Element, "[data-print]")) print(); });

// What was told goes when it is touched.
document.addEventListener("click", ({ target }) => { if (about(target, Element, "#said")) say(""); });

document.addEventListener("submit", (event) => {
  const form = about(event.target, HTMLFormElement, "form");
  if (event.defaultPrevented || !form || !live(form)) return;
  event.preventDefault();
  submit(form, event.submitter);
});

document.addEventListener("keydown", (event) => {
  if (event.defaultPrevented || !(event.ctrlKey || event.metaKey) || event.altKey) return;
  const key = event.key.toLowerCase();
  const deed = key === "z" ? (event.shiftKey ? "redo" : "undo") : key === "y" ? "redo" : null;
  const button = deed && find(HTMLButtonElement, `button[data-key="${deed}"]`);
  // A text being typed has its own undo.
  const { target } = event;
  const typing = (target instanceof HTMLTextAreaElement || (target instanceof HTMLInputElement && target.matches("[type=text], :not([type])"))) &&
    target.value !== target.defaultValue;
  if (!button?.form || button.disabled || typing) return;
  event.preventDefault();
  submit(button.form, button);
});
