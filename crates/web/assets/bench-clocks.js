// Clocks: they go by moments that are kept, so they run on whatever happened to the page meanwhile, and ring once.

import { each, write } from "./bench-over.js";
import { choice, choose, here } from "./bench-store.js";

/** A clock that ran out longer ago isn't rung any more, ms. */
const TOO_LATE = 600_000;
const MOST_RUNG = 50;
const RING_HZ = 880;

/** @param {number} n */
const two = (n) => String(n).padStart(2, "0");
/** @param {number} seconds */
const clock = (seconds) => `${seconds >= 3600 ? `${Math.floor(seconds / 3600)}:` : ""}${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;

/** Every clock of the page, as it stands now. */
export function tick() {
  each(HTMLElement, "[data-since]", (place) => {
    if (!place.dataset.since) return;
    const seconds = Math.max(0, Math.floor((Date.now() - Date.parse(place.dataset.since)) / 1000));
    write(place, seconds > 48 * 3600 ? `${Math.floor(seconds / 86_400)} days` : clock(seconds));
  });
  each(HTMLElement, ".left", (place) => {
    const { from, minutes, rings } = place.dataset;
    const wanted = Number(minutes) || Number(choice("ring-after"));
    if (!from || !wanted) { write(place, ""); return; }
    const left = Date.parse(from) + wanted * 60_000 - Date.now();
    const seconds = Math.ceil(Math.abs(left) / 1000);
    write(place, left > 0 ? `, ${clock(seconds)} left` : `, ${clock(seconds)} over`);
    place.classList.toggle("over", left <= 0);
    if (left <= 0 && !place.closest("[hidden]")) ring(rings, -left);
  });
}

/**
 * Rings for a clock, once on this device.
 * @param {string | undefined} key
 * @param {number} late ms
 */
function ring(key, late) {
  const rung = choice("rung").split(" ").filter(Boolean);
  if (!key || rung.includes(key)) return;
  choose("rung", [...rung, key].slice(-MOST_RUNG).join(" "));
  if (late > TOO_LATE) return;
  if (choice("ring-shake") === "yes") navigator.vibrate?.([400, 200, 400, 200, 800]);
  if (choice("ring-sound") === "yes") sound();
}

/** @type {AudioContext | undefined} */
let speaker;
/** A browser lets a page sound once somebody touched it. */
document.addEventListener("pointerdown", () => { if (choice("ring-sound") === "yes") awakened(); });
function awakened() {
  speaker ??= globalThis.AudioContext ? new AudioContext() : undefined;
  if (speaker?.state === "suspended") speaker.resume().catch(() => {});
  return speaker;
}

function sound() {
  const to = awakened();
  if (!to) return;
  for (const beat of [0, 0.4, 0.8]) {
    const [tone, loud] = [to.createOscillator(), to.createGain()];
    tone.frequency.value = RING_HZ;
    const at = to.currentTime + beat;
    loud.gain.setValueAtTime(0.4, at);
    loud.gain.exponentialRampToValueAtTime(0.001, at + 0.3);
    tone.connect(loud).connect(to.destination);
    tone.start(at);
    tone.stop(at + 0.3);
  }
}

/** What the device was told about ringing. */
export function rings() {
  each(HTMLElement, ".rings", (block) => { block.hidden = false; });
  each(HTMLInputElement, "[data-ring]", (box) => { box.checked = choice(`ring-${box.dataset.ring}`) === "yes"; });
  each(HTMLInputElement, "[data-ring-after]", (field) => { if (field !== document.activeElement) field.value = choice("ring-after"); });
}
document.addEventListener("change", ({ target }) => {
  if (target instanceof HTMLInputElement && target.dataset.ring) {
    choose(`ring-${target.dataset.ring}`, target.checked ? "yes" : "");
    // So that it is heard, and felt, what was chosen.
    if (target.checked && target.dataset.ring === "sound") sound();
    if (target.checked && target.dataset.ring === "shake") navigator.vibrate?.(200);
  }
});
document.addEventListener("input", ({ target }) => {
  if (target instanceof HTMLInputElement && "ringAfter" in target.dataset) { choose("ring-after", target.value); tick(); }
});
setInterval(tick, 1000);

/** A screen that stays on while somebody works at it, where the browser can. */
export const awake = () => { if (document.visibilityState === "visible" && here().thing) navigator.wakeLock?.request("screen").catch(() => {}); };
