// What a page of the bench tells of the rows that lie on this device.

import { every, find, need } from "./dom.js";
import { rings, tick } from "./bench-clocks.js";
import { beyondPage, each, over, write } from "./bench-over.js";
import { all, keptAt } from "./bench-store.js";

/** @typedef {import("./bench-store.js").Item} Item */

/** Why rows can't be sent now, in words. */
let trouble = "";
/** @param {string} words */
export const tellTrouble = (words) => { trouble = words; };

/** @type {(n: number, one: string, many: string) => string} */
const count = (n, one, many) => `${n} ${n === 1 ? one : many}`;
/** @param {string} moment */
const hour = (moment) => new Date(moment).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });

/** Shows the page with what lies here. */
export async function show() {
  const items = await all();
  const refused = items.filter((i) => i.refused);
  const waiting = items.filter((i) => !i.refused && !i.sent);
  write(find(Element, "#waits"), waiting.length ? `${count(waiting.length, "entry waits", "entries wait")} on this device. ${trouble}` : "All entries are in the book.");
  need(HTMLElement, "#as-file").hidden = !waiting.length && !refused.length;
  need(HTMLElement, "#again").hidden = need(HTMLElement, "#bring").hidden = !refused.length;
  need(HTMLElement, "#refused").replaceChildren(...refused.map((i) => line(i, `not taken: ${i.refused}`)));
  const kept = keptAt();
  const asItWas = need(HTMLElement, "#as-it-was");
  asItWas.hidden = !kept;
  write(asItWas, kept ? `This page is the one kept on this device at ${hour(kept)}; the program doesn’t answer. What you enter is kept here.` : "");
  const list = find(HTMLElement, "#pending");
  if (!list) return;
  const mine = beyondPage(items);
  const words = new Set(every(HTMLElement, "[data-enter]").map((f) => f.dataset.enter));
  settle(list, mine.filter((i) => words.has(i.row.what)).reverse());
  over(mine);
  // What is signed is what the book has.
  each(HTMLButtonElement, "form[data-last] button", (button) => { button.disabled = mine.length > 0; });
  rings();
  tick();
}

/**
 * Puts rows into a list and leaves those that stand there where they are: somebody may be typing in one.
 * @param {HTMLElement} list
 * @param {Item[]} items
 */
function settle(list, items) {
  const had = new Map(every(HTMLElement, ":scope > *", list).map((li) => [li.dataset.key, li]));
  const lines = items.map((item) => {
    const state = item.sent ? "in the book" : "kept here, waits";
    const li = had.get(item.row.key) ?? line(item, state, true);
    write(li.querySelector(".state"), state);
    return li;
  });
  for (const li of had.values()) if (!lines.includes(li)) li.remove();
  for (const [nth, li] of lines.entries()) if (list.children[nth] !== li) list.insertBefore(li, list.children[nth] ?? null);
}

/**
 * A row as it is told while it lies here.
 * @param {Item} item
 * @param {string} state
 * @param {boolean} [strikable]
 */
function line(item, state, strikable) {
  const li = document.createElement("li");
  li.className = "waits-here";
  li.dataset.key = item.row.key;
  const { of, on, value, unit } = item.row;
  const words = document.createElement("b");
  words.textContent = [item.label, of && !item.label?.includes(of) && !item.row.strikes ? of : "", on, item.moment ? "" : value, unit].filter(Boolean).join(" ");
  const time = document.createElement("span");
  time.className = "timer";
  const since = document.createElement("span");
  since.dataset.since = item.row.at;
  const told = Object.assign(document.createElement("span"), { className: "state", textContent: state });
  time.append(` ${hour(item.row.at)}, ${item.row.who}, `, told, ", ", since, " ago");
  li.append(words, time);
  if (item.thumb) li.append(Object.assign(new Image(), { src: item.thumb, alt: "photograph that waits" }));
  if (strikable && (value || item.pictured) && !item.row.strikes && find(HTMLTemplateElement, "#a-strike")) li.append(strikeOf(item));
  return li;
}

/**
 * The way to strike a row through that the page doesn't have yet.
 * @param {Item} item
 */
function strikeOf({ row, label, moment }) {
  const details = document.createElement("details");
  const summary = document.createElement("summary");
  summary.textContent = "Strike through";
  details.append(summary, need(HTMLTemplateElement, "#a-strike").content.cloneNode(true));
  const form = need(HTMLFormElement, "form", details);
  form.dataset.enter = row.what;
  form.dataset.label = `strikes ‘${[label, moment ? "" : row.value].filter(Boolean).join(" ")}’ through`;
  for (const [name, value] of Object.entries({ what: row.what, strikes: row.key, of: row.of, on: row.on, unit: row.unit })) need(HTMLInputElement, `[name=${name}]`, form).value = value ?? "";
  if (moment) need(Element, ".right-value", form).remove();
  return details;
}
