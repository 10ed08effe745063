// What a page shows once the rows are counted in that it doesn't have yet: those that wait on this device, and those
// that came into the book after the page was drawn.

import { every, field, find, must, need } from "./dom.js";
import { bench, here } from "./bench-store.js";

/** @typedef {import("./bench-store.js").Row} Row */
/** @typedef {import("./bench-store.js").Item} Item */
/** @typedef {Record<string, number>} Units Unit by name: how much of the page's unit it is. */
/** @typedef {Record<string, number | null>} Sums Totals and counts by word; null where nothing was entered that could be counted. */
/** @typedef {{ at: string | undefined, key?: string, of?: string }} Begun What began at a moment: the row that tells it, and of what. */
/** @typedef {Map<string | undefined, Begun>} Within The trays that are in, by name. */

/**
 * The rows of this batch that the page doesn't have.
 * @param {Item[]} items
 */
export function beyondPage(items) {
  const last = Number(here().last ?? 0);
  return items.filter((i) => !i.refused && i.row.thing === here().thing && !((i.sent ?? NaN) <= last));
}

/** @param {string} text */
const marked = (text) => text.replace(".", here().decimal ?? ".");
/**
 * Does something with every element of a kind that is named.
 * @template {Element} T
 * @param {import("./dom.js").Kind<T>} kind
 * @param {string} css
 * @param {(found: T) => void} deed
 */
export const each = (kind, css, deed) => { for (const found of every(kind, css)) deed(found); };
/**
 * Writes a text, where it isn't there already.
 * @param {Element | null} element
 * @param {string | undefined} text
 */
export const write = (element, text) => { if (element && element.textContent !== text) element.textContent = text ?? null; };

/**
 * What the last look came to: for what speaks against a row before it is written.
 * @type {{ sums: Sums, right: boolean, within: Within }}
 */
let standing = { sums: {}, right: false, within: new Map() };

/**
 * Shows the page with rows that it doesn't have.
 * @param {Item[]} mine
 */
export function over(mine) {
  const struck = new Set(mine.map((i) => i.row.strikes).filter(Boolean));
  const rows = mine.map((i) => i.row).filter((r) => !struck.has(r.key) && (r.value || !r.strikes));
  each(HTMLElement, "[data-row]", (li) => li.classList.toggle("struck-here", struck.has(li.dataset.row)));
  const gone = every(HTMLElement, "[data-row].struck-here:not(.struck)").map((li) => li.dataset);
  standing = { sums: sums(rows, gone), right: isRight(rows, gone), within: trays(rows) };
  whole(standing.sums);
  strip(rows, gone);
  numbers(rows);
  pulls(rows);
  stands(rows);
  weighing(rows);
}

/**
 * How much a row is, in the page's unit.
 * @param {Row} row
 * @param {Units} units
 */
const amount = (row, units) => Number(row.value) * (units[row.unit ?? ""] ?? 1);

/**
 * Totals and counts.
 * @param {Row[]} rows
 * @param {DOMStringMap[]} gone
 */
function sums(rows, gone) {
  /** @type {Sums} */
  const told = {};
  each(HTMLOutputElement, "output[data-sum]", (output) => {
    const word = must(output.dataset.sum, "word of a sum");
    /** @type {Units} */
    const units = JSON.parse(output.dataset.units ?? "{}");
    const own = rows.filter((r) => r.what === word);
    const more = own.reduce((sum, r) => sum + amount(r, units), 0);
    const less = gone.filter((g) => g.what === word).reduce((sum, g) => sum + Number(g.amount ?? 0), 0);
    const sum = "none" in output.dataset && !own.length ? null : Number(output.dataset.kept) + more - less;
    told[word] = sum;
    write(output, marked((sum ?? 0).toFixed(Number(output.dataset.places))));
  });
  each(HTMLOutputElement, "output[data-ratio]", (output) => write(output, marked(((told[output.dataset.ratio ?? ""] ?? 0) / Number(output.dataset.to)).toFixed(Number(output.dataset.places)))));
  return told;
}

/**
 * Whether the dough was called right.
 * @param {Row[]} rows
 * @param {DOMStringMap[]} gone
 */
function isRight(rows, gone) {
  const was = find(Element, "#right") && !gone.some((g) => g.what === "dough-right");
  const right = !!was || rows.some((r) => r.what === "dough-right");
  each(HTMLElement, "[data-enter='dough-right']", (form) => { if (!form.matches(".strike")) form.hidden = right; });
  // What was advised was advised of another dough.
  const dosed = right || rows.some((r) => r.what === "dose");
  each(Element, "#advised form, .strip .next", (advice) => advice.classList.toggle("no-longer", dosed));
  return right;
}

/**
 * A normal logit learned from a count, and its mean share with its limits: the same as the book works it out.
 * @param {number} whole
 * @param {number} outOf
 * @param {number} level
 * @param {number} sd
 */
function wholeOf(whole, outOf, level, sd) {
  const share = (/** @type {number} */ x) => 1 / (1 + Math.exp(-x));
  let at = level;
  for (let step = 0; step < 100; step += 1) {
    const p = share(at);
    const move = (whole - outOf * p - (at - level) / sd ** 2) / (outOf * p * (1 - p) + 1 / sd ** 2);
    at += Math.max(-2, Math.min(2, move));
    if (Math.abs(move) < 1e-12) break;
  }
  const p = share(at);
  const spread = 1 / Math.sqrt(outOf * p * (1 - p) + 1 / sd ** 2);
  let [mean, weight] = [0, 0];
  for (let z = -8; z <= 8; z += 0.05) {
    const density = Math.exp(-z * z / 2);
    mean += density * share(at + spread * z);
    weight += density;
  }
  const z95 = 1.959963984540054;
  return [mean / weight, share(at - z95 * spread), share(at + z95 * spread)];
}

/**
 * The share of pieces that came out whole.
 * @param {Sums} told
 */
function whole(told) {
  const block = find(HTMLElement, "#whole");
  if (!block) return;
  const cut = typeof told.cut === "number" ? Math.max(0, told.cut) : null;
  const [counted, broken, stuck] = ["cut-whole", "cut-broken", "cut-stuck"].map((word) => Math.max(0, told[word] ?? 0));
  const outOf = Math.max(cut ?? 0, counted + broken + stuck);
  const left = cut !== null && counted === 0 ? Math.max(0, cut - broken - stuck) : counted;
  block.hidden = !(outOf > 0);
  if (!(outOf > 0)) return;
  const [p, low, high] = wholeOf(left, outOf, Number(block.dataset.level), Number(block.dataset.levelSd)).map((x) => marked(x.toFixed(2)));
  write(block.querySelector("output"), `${p} (${low} to ${high})`);
  write(block.querySelector("[data-whole]"), String(left));
  write(block.querySelector("[data-out-of]"), String(outOf));
}

/**
 * Doses that wait, as dots on the strip.
 * @param {Row[]} rows
 * @param {DOMStringMap[]} gone
 */
function strip(rows, gone) {
  const drawn = find(SVGSVGElement, "svg.strip");
  const output = find(HTMLOutputElement, "output[data-sum=dose]");
  if (!drawn || !output) return;
  for (const dot of drawn.querySelectorAll(".here")) dot.remove();
  const [low, high, wide, dry] = ["low", "high", "wide", "dryKg"].map((name) => Number(drawn.dataset[name]));
  /** @type {Units} */
  const units = JSON.parse(must(output.dataset.units, "units of a dose"));
  let total = Number(output.dataset.kept) - gone.filter((g) => g.what === "dose").reduce((sum, g) => sum + Number(g.amount ?? 0), 0);
  for (const row of rows.filter((r) => r.what === "dose")) {
    total += amount(row, units);
    const dot = document.createElementNS(drawn.namespaceURI, "circle");
    const x = wide * ((100 * total) / dry - low) / (high - low);
    for (const [name, value] of Object.entries({ class: "here", cx: Math.max(6, Math.min(wide - 6, x)), cy: need(Element, ".axis", drawn).getAttribute("y1"), r: 6 })) dot.setAttribute(name, String(value));
    if (dry > 0) drawn.append(dot);
  }
}

/**
 * The next piece, the next tray.
 * @param {Row[]} rows
 */
function numbers(rows) {
  each(HTMLInputElement, "input[data-part]", (on) => {
    const form = must(on.form, "form of a part");
    const { what, of } = Object.fromEntries(new FormData(form));
    const n = Number(on.dataset.from) + rows.filter((r) => r.what === what && (r.of ?? "") === (of ?? "")).length;
    on.value = `${on.dataset.part}=${n}`;
    write(form.querySelector("[data-next]"), String(n));
  });
  each(HTMLInputElement, "input[data-next-of]", (of) => {
    const n = String(Number(of.dataset.nextOf) + rows.filter((r) => r.what === of.form?.dataset.enter).length);
    if (of.value === (of.dataset.filled ?? of.defaultValue)) of.value = n;
    of.dataset.filled = n;
  });
}

/**
 * The trays that are in: those of the page, and those that wait. Gives when each went in.
 * @param {Row[]} rows
 */
function trays(rows) {
  /** @type {Within} */
  const within = new Map();
  const list = find(HTMLElement, "#trays");
  if (!list) return within;
  const drawn = every(HTMLElement, ":scope > .tray:not(.here)", list);
  for (const tray of drawn) within.set(tray.dataset.tray, { at: need(HTMLElement, "[data-since]", tray).dataset.since });
  for (const row of rows) {
    if (row.what === "oven-in") within.set(row.of, row);
    if (row.what === "oven-out") within.delete(row.of);
  }
  for (const tray of drawn) tray.hidden = within.get(tray.dataset.tray)?.key !== undefined || !within.has(tray.dataset.tray);
  const had = new Map(every(HTMLElement, ":scope > .here", list).map((tray) => [tray.dataset.key, tray]));
  for (const row of within.values()) {
    if (!row.key || had.delete(row.key)) continue;
    const filled = /** @type {DocumentFragment} */ (need(HTMLTemplateElement, "#a-tray").content.cloneNode(true));
    const tray = need(HTMLElement, ".tray", filled);
    tray.classList.add("here");
    Object.assign(tray.dataset, { key: row.key, tray: row.of });
    write(tray.querySelector("[data-named]"), row.of);
    need(HTMLElement, "[data-since]", tray).dataset.since = row.at;
    const left = find(HTMLElement, ".left", tray);
    if (left) Object.assign(left.dataset, { from: row.at, rings: row.key });
    need(HTMLInputElement, "[name=of]", tray).value = row.of ?? "";
    list.append(tray);
  }
  for (const tray of had.values()) tray.remove();
  return within;
}

/**
 * The pull that is up: the next one once the mass after is told.
 * @param {Row[]} rows
 */
function pulls(rows) {
  const up = find(HTMLElement, "[data-pull]");
  if (!up) return;
  let pull = up.dataset.pull;
  while (rows.some((r) => r.what === "mass-after" && r.of === pull) && Number.isInteger(Number(pull))) pull = String(Number(pull) + 1);
  write(up, pull);
  each(HTMLInputElement, "form[data-which=pull] input[type=hidden][name=of]", (of) => { if (!of.form?.matches(".strike")) of.value = pull ?? ""; });
}

/**
 * The dough that stands.
 * @param {Row[]} rows
 */
function stands(rows) {
  const block = find(HTMLElement, ".standing");
  if (!block) return;
  /** @type {Begun | null} */
  let now = block.dataset.from ? { at: block.dataset.from, key: block.dataset.rings } : null;
  for (const row of rows) {
    if (row.what === "stand-begun") now = row;
    if (row.what === "stand") now = null;
  }
  need(HTMLElement, ".to-stand", block).hidden = !!now;
  need(HTMLElement, "[data-stood]", block).hidden = !now;
  const since = need(HTMLElement, "[data-since]", block);
  since.dataset.since = now?.at ?? "";
  if (!now) write(since, "–");
  Object.assign(need(HTMLElement, ".left", block).dataset, { from: now?.at ?? "", rings: now?.key ?? "" });
}

/**
 * Which material somebody touched, to weigh that one next.
 * @type {string | undefined}
 */
let picked;
/** @param {string | undefined} material */
export const pick = (material) => { picked = material; };

/**
 * The weigh list, and the material that is up: the one touched, else the first that isn't weighed.
 * @param {Row[]} rows
 */
function weighing(rows) {
  const table = find(HTMLTableElement, ".to-weigh");
  if (!table) return;
  /** @type {Units} */
  const units = JSON.parse(must(table.dataset.units, "units of masses"));
  const done = new Set();
  const lines = [...table.tBodies[0].rows];
  let total = 0;
  for (const line of lines) {
    const cell = need(HTMLElement, ".weighed", line);
    const last = rows.findLast((r) => r.what === "weighed" && r.of === line.dataset.material);
    const kg = last ? amount(last, units) : cell.dataset.weighed;
    if (kg !== undefined) done.add(line);
    total += Number(kg ?? 0);
    write(cell, done.has(line) ? marked(Number(kg).toFixed(3)) : "–");
  }
  write(table.querySelector("[data-sum-weighed]"), marked(total.toFixed(3)));
  const current = lines.find((line) => line.hasAttribute("aria-current"));
  const waits = (/** @type {HTMLElement | undefined} */ line) => rows.some((r) => r.what === "weighed" && r.of === line?.dataset.material);
  const up = lines.find((line) => line.dataset.material === picked) ?? (waits(current) ? lines.find((line) => !done.has(line)) : current);
  if (!up || up === current) return;
  current?.removeAttribute("aria-current");
  up.setAttribute("aria-current", "true");
  for (const [word, label] of [["weighed", up.dataset.label], ["lot", up.dataset.lotLabel]]) {
    const form = find(HTMLFormElement, `form[data-enter=${word}]:not(.strike)`);
    const of = field(form, "of");
    if (!form || of?.type !== "hidden") continue;
    of.value = up.dataset.material ?? "";
    form.dataset.label = label;
    write(form.querySelector("[data-called]"), label);
    const unit = field(form, "unit");
    if (unit) unit.value = up.dataset.unit ?? "";
    /** @type {string[]} */
    const lots = JSON.parse(must(up.dataset.lots, "lots of a material"));
    form.querySelector("datalist")?.replaceChildren(...lots.map((lot) => Object.assign(document.createElement("option"), { value: lot })));
  }
}

/**
 * What speaks against a row, in the words that the page brought along; nothing where nothing does.
 * @param {HTMLFormElement} form
 * @param {Row} row
 */
export function doubtOf(form, row) {
  /** @type {Record<string, string>} */
  const words = JSON.parse(bench()?.dataset.doubts ?? "{}");
  /** @type {(word: string, given?: Record<string, string | number | undefined>) => string} */
  const tell = (word, given = {}) => Object.entries(given).reduce((text, [name, value]) => text.replaceAll(`{${name}}`, String(value)), words[word]);
  const { sums: told, right, within } = standing;
  if (row.what === "dose" && right) return tell("after-right");
  if (row.what === "lot") {
    const known = [...(form.querySelector("datalist")?.options ?? [])].map((o) => o.value);
    if (known.length && !known.some((lot) => lot.toLowerCase() === row.value?.toLowerCase())) return tell("lot-unknown", { lot: row.value, known: known.join(", ") });
  }
  if (row.what === "oven-in" && within.has(row.of)) return tell("is-in", { tray: row.of });
  if (row.what === "oven-out") {
    const at = within.get(row.of)?.at;
    if (at && Date.parse(row.at) < Date.parse(at)) return tell("before-in", { tray: row.of, entered: new Date(at).toLocaleTimeString() });
  }
  if (row.what !== undefined && row.what in told && row.what.startsWith("cut")) {
    const more = Number(row.value);
    if ((told[row.what] ?? 0) + more < 0) return tell("below-nothing");
    const sum = ["cut-whole", "cut-broken", "cut-stuck"].reduce((all, word) => all + (told[word] ?? 0), more);
    if (row.what !== "cut" && more > 0 && typeof told.cut === "number" && sum > told.cut) return tell("beyond-cut", { told: sum, cut: told.cut });
  }
  return "";
}
