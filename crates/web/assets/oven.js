// The oven from the side: a border between two zones is dragged, or moved with the arrow keys, and the lengths on both sides
// of it are sent when it is let go. Meanwhile the answers follow: each move asks what it would do.

import { about, every, find, fragment, must, need } from "./dom.js";

document.documentElement.classList.add("live");

const MOUTH = 30;
const EXIT = 930;
/** Least share of the length that a zone keeps. */
const LEAST_SHARE = 0.02;
const STEP_SHARE = 0.01;

/** @typedef {[zone: string, field: string, value: number][]} Lengths The lengths of the zones, each with the field that it stands in. */

/** @param {Element} figure */
const sharesOf = (figure) => every(SVGGElement, ".border", figure).map((b) => Number(b.dataset.share));

/** @param {Element} part */
const ovenOf = (part) => must(about(part, HTMLElement, ".oven"), "oven around it");

/**
 * Moves a border as far as its neighbours let it.
 * @param {SVGGElement} border
 * @param {number} share
 */
function moveBorder(border, share) {
  const figure = ovenOf(border);
  const at = [0, ...sharesOf(figure), 1];
  const i = Number(border.dataset.border);
  const kept = Math.min(at[i + 2] - LEAST_SHARE, Math.max(at[i] + LEAST_SHARE, share));
  border.dataset.share = kept.toFixed(5);
  border.setAttribute("transform", `translate(${MOUTH + (EXIT - MOUTH) * kept} 0)`);
  border.setAttribute("aria-valuenow", (100 * kept).toFixed(1));
}

/**
 * What was held last, to be held again once the page is drawn anew.
 * @type {string | null}
 */
let lastHeld = null;
document.addEventListener("hardtack:shown", () => {
  if (lastHeld) find(SVGElement, `.oven ${lastHeld}`)?.focus({ preventScroll: true });
  lastHeld = null;
});

/**
 * The lengths of the zones on both sides of a border, as edits.
 * @param {SVGGElement} border
 * @returns {Edit[]}
 */
function lengthsAt(border) {
  const figure = ovenOf(border);
  /** @type {Lengths} */
  const lengths = JSON.parse(must(figure.dataset.lengths, "lengths of zones"));
  const all = lengths.reduce((sum, [, , value]) => sum + value, 0);
  const at = [0, ...sharesOf(figure), 1];
  const i = Number(border.dataset.border);
  return [i, i + 1].map((zone) => {
    const [name, field] = lengths[zone];
    const value = Number(((at[zone + 1] - at[zone]) * all).toPrecision(4));
    return { edit: "set_zone", treatment: figure.dataset.treatment ?? null, zone: name, field, value };
  });
}

/** Whether an answer is on its way, and the border that was moved meanwhile. */
let asked = false;
/** @type {SVGGElement | null} */
let movedMeanwhile = null;

/**
 * Asks what the oven would do as it stands now; one question at a time, the latest next.
 * @param {SVGGElement} border
 */
async function lookAhead(border) {
  if (asked) { movedMeanwhile = border; return; }
  const figure = about(border, HTMLElement, ".oven");
  const address = about(figure, HTMLElement, "[data-would]")?.dataset.would;
  if (!figure || !address) return;
  asked = true;
  try {
    const response = await fetch(address, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ treatment: figure.dataset.of, edits: lengthsAt(border) }),
    });
    if (response.ok && figure.isConnected) putAhead(figure, await response.text());
  } catch {
    // It is told when the border is let go.
  }
  asked = false;
  const next = movedMeanwhile;
  movedMeanwhile = null;
  if (next?.isConnected) lookAhead(next);
}

/**
 * Puts the answer into the drawing; the borders stay where the hand has them.
 * @param {Element} figure
 * @param {string} text
 */
function putAhead(figure, text) {
  const fresh = fragment(text);
  const words = fresh.querySelector(".oven-told");
  if (words) need(Element, ".oven-told", figure).replaceChildren(...words.childNodes);
  const svg = need(SVGSVGElement, "svg", figure);
  const parts = [...(fresh.querySelector("svg")?.children ?? [])].filter((e) => !e.matches(".border"));
  [...svg.children].filter((e) => !e.matches(".border")).forEach((e) => e.remove());
  svg.prepend(...parts);
}

/**
 * Sends the lengths of the zones on both sides of a border.
 * @param {SVGGElement} border
 */
function letGo(border) {
  movedMeanwhile = null;
  lastHeld = `.border[data-border="${border.dataset.border}"]`;
  document.dispatchEvent(new CustomEvent("hardtack:edit", { detail: lengthsAt(border) }));
}

/**
 * Does what a word under a zone says: one zone more, or one fewer.
 * @param {SVGGElement} deed
 */
function doDeed(deed) {
  const figure = ovenOf(deed);
  const { deed: edit, zone } = deed.dataset;
  const at = Number(deed.dataset.at);
  lastHeld = `.deed[data-deed="split_zone"][data-at="${edit === "remove_zone" ? Math.max(0, at - 1) : at}"]`;
  document.dispatchEvent(new CustomEvent("hardtack:edit", { detail: [{ edit, treatment: figure.dataset.treatment ?? null, zone }] }));
}
document.addEventListener("click", (event) => {
  const deed = about(event.target, SVGGElement, ".oven .deed");
  if (deed) doDeed(deed);
});

document.addEventListener("pointerdown", (event) => {
  const border = about(event.target, SVGGElement, ".oven .border");
  if (!border) return;
  event.preventDefault();
  border.focus();
  border.setPointerCapture(event.pointerId);
  const svg = must(border.ownerSVGElement, "drawing of the oven");
  const from = border.dataset.share;
  const move = (/** @type {PointerEvent} */ e) => {
    const x = new DOMPoint(e.clientX, e.clientY).matrixTransform(svg.getScreenCTM()?.inverse()).x;
    moveBorder(border, (x - MOUTH) / (EXIT - MOUTH));
    lookAhead(border);
  };
  const stop = () => {
    border.removeEventListener("pointermove", move);
    if (border.dataset.share !== from) letGo(border);
  };
  border.addEventListener("pointermove", move);
  border.addEventListener("pointerup", stop, { once: true });
  border.addEventListener("pointercancel", stop, { once: true });
});

/** @type {Record<string, number>} */
const WAYS = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 };
let borderWaits = 0;
document.addEventListener("keydown", (event) => {
  const deed = about(event.target, SVGGElement, ".oven .deed");
  if (deed && (event.key === "Enter" || event.key === " ")) { event.preventDefault(); return doDeed(deed); }
  const border = about(event.target, SVGGElement, ".oven .border");
  const way = WAYS[event.key];
  if (!border || !way) return;
  event.preventDefault();
  moveBorder(border, Number(border.dataset.share) + way * STEP_SHARE * (event.shiftKey ? 5 : 1));
  lookAhead(border);
  clearTimeout(borderWaits);
  borderWaits = setTimeout(() => letGo(border), 500);
});
