// Clocks: they go by moments that are kept, so they run on whatever happened to the page meanwhile, and ring once.

/** A clock that ran out longer ago isn't rung any more, ms. */
const TOO_LATE = 600_000;
const MOST_RUNG = 50;
const RING_HZ = 880;

const two = (n) => String(n).padStart(2, "0");
const clock = (seconds) => `${seconds >= 3600 ? `${Math.floor(seconds / 3600)}:` : ""}${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;

function tick() {
  each("[data-since]", (place) => {
    if (!place.dataset.since) return;
    const seconds = Math.max(0, Math.floor((Date.now() - Date.parse(place.dataset.since)) / 1000));
    write(place, seconds > 48 * 3600 ? `${Math.floor(seconds / 86_400)} days` : clock(seconds));
  });
  each(".left", (place) => {
    const { from, minutes, rings } = place.dataset;
    const wanted = Number(minutes) || Number(choice("ring-after"));
    if (!from || !wanted) return write(place, "");
    const left = Date.parse(from) + wanted * 60_000 - Date.now();
    const seconds = Math.ceil(Math.abs(left) / 1000);
    write(place, left > 0 ? `, ${clock(seconds)} left` : `, ${clock(seconds)} over`);
    place.classList.toggle("over", left <= 0);
    if (left <= 0 && !place.closest("[hidden]")) ring(rings, -left);
  });
}

/** Rings for a clock, once on this device. */
function ring(key, late) {
  const rung = choice("rung").split(" ").filter(Boolean);
  if (!key || rung.includes(key)) return;
  choose("rung", [...rung, key].slice(-MOST_RUNG).join(" "));
  if (late > TOO_LATE) return;
  if (choice("ring-shake") === "yes") navigator.vibrate?.([400, 200, 400, 200, 800]);
  if (choice("ring-sound") === "yes") sound();
}

let speaker;
/** A browser lets a page sound once somebody touched it. */
document.addEventListener("pointerdown", () => { if (choice("ring-sound") === "yes") awakened(); });
function awakened() {
  speaker ??= globalThis.AudioContext && new AudioContext();
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
function rings() {
  each(".rings", (block) => { block.hidden = false; });
  each("[data-ring]", (box) => { box.checked = choice(`ring-${box.dataset.ring}`) === "yes"; });
  each("[data-ring-after]", (field) => { if (field !== document.activeElement) field.value = choice("ring-after"); });
}
document.addEventListener("change", ({ target }) => {
  if (target.dataset?.ring) {
    choose(`ring-${target.dataset.ring}`, target.checked ? "yes" : "");
    // So that it is heard, and felt, what was chosen.
    if (target.checked && target.dataset.ring === "sound") sound();
    if (target.checked && target.dataset.ring === "shake") navigator.vibrate?.(200);
  }
});
document.addEventListener("input", ({ target }) => {
  if (target.dataset && "ringAfter" in target.dataset) { choose("ring-after", target.value); tick(); }
});
setInterval(tick, 1000);

/** A screen that stays on while somebody works at it, where the browser can. */
const awake = () => { if (document.visibilityState === "visible" && here().thing) navigator.wakeLock?.request("screen").catch(() => {}); };
