// The oven from the side: a border between two zones is dragged, or moved with the arrow keys, and the lengths on both sides
// of it are sent when it is let go. Meanwhile the answers follow: each move asks what it would do.

document.documentElement.classList.add("live");

const MOUTH = 30;
const EXIT = 930;
/** Least share of the length that a zone keeps. */
const LEAST_SHARE = 0.02;
const STEP_SHARE = 0.01;

const sharesOf = (figure) => [...figure.querySelectorAll(".border")].map((b) => Number(b.dataset.share));

function moveBorder(border, share) {
  const figure = border.closest(".oven");
  const at = [0, ...sharesOf(figure), 1];
  const i = Number(border.dataset.border);
  const kept = Math.min(at[i + 2] - LEAST_SHARE, Math.max(at[i] + LEAST_SHARE, share));
  border.dataset.share = kept.toFixed(5);
  border.setAttribute("transform", `translate(${MOUTH + (EXIT - MOUTH) * kept} 0)`);
  border.setAttribute("aria-valuenow", (100 * kept).toFixed(1));
}

/** What was held last, to be held again once the page is drawn anew. */
let lastHeld = null;
document.addEventListener("hardtack:shown", () => {
  if (lastHeld) document.querySelector(`.oven ${lastHeld}`)?.focus({ preventScroll: true });
  lastHeld = null;
});

/** The lengths of the zones on both sides of a border, as edits. */
function lengthsAt(border) {
  const figure = border.closest(".oven");
  const lengths = JSON.parse(figure.dataset.lengths);
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
let movedMeanwhile = null;

/** Asks what the oven would do as it stands now; one question at a time, the latest next. */
async function lookAhead(border) {
  if (asked) { movedMeanwhile = border; return; }
  const figure = border.closest(".oven");
  const place = figure?.closest("[data-would]");
  if (!place) return;
  asked = true;
  try {
    const response = await fetch(place.dataset.would, {
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

/** Puts the answer into the drawing; the borders stay where the hand has them. */
function putAhead(figure, text) {
  const box = document.createElement("template");
  box.innerHTML = text;
  const words = box.content.querySelector(".oven-told");
  if (words) figure.querySelector(".oven-told").replaceChildren(...words.childNodes);
  const svg = figure.querySelector("svg");
  const parts = [...(box.content.querySelector("svg")?.children ?? [])].filter((e) => !e.matches(".border"));
  [...svg.children].filter((e) => !e.matches(".border")).forEach((e) => e.remove());
  svg.prepend(...parts);
}

/** Sends the lengths of the zones on both sides of a border. */
function letGo(border) {
  movedMeanwhile = null;
  lastHeld = `.border[data-border="${border.dataset.border}"]`;
  document.dispatchEvent(new CustomEvent("hardtack:edit", { detail: lengthsAt(border) }));
}

/** Does what a word under a zone says: one zone more, or one fewer. */
function doDeed(deed) {
  const figure = deed.closest(".oven");
  const { deed: edit, zone, at } = deed.dataset;
  lastHeld = `.deed[data-deed="split_zone"][data-at="${edit === "remove_zone" ? Math.max(0, at - 1) : at}"]`;
  document.dispatchEvent(new CustomEvent("hardtack:edit", { detail: [{ edit, treatment: figure.dataset.treatment ?? null, zone }] }));
}
document.addEventListener("click", (event) => {
  const deed = event.target.closest?.(".oven .deed");
  if (deed) doDeed(deed);
});

document.addEventListener("pointerdown", (event) => {
  const border = event.target.closest?.(".oven .border");
  if (!border) return;
  event.preventDefault();
  border.focus();
  border.setPointerCapture(event.pointerId);
  const svg = border.ownerSVGElement;
  const from = border.dataset.share;
  const move = (e) => {
    const x = new DOMPoint(e.clientX, e.clientY).matrixTransform(svg.getScreenCTM().inverse()).x;
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

let borderWaits = 0;
document.addEventListener("keydown", (event) => {
  const deed = event.target.closest?.(".oven .deed");
  if (deed && (event.key === "Enter" || event.key === " ")) { event.preventDefault(); return doDeed(deed); }
  const border = event.target.closest?.(".oven .border");
  const way = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 }[event.key];
  if (!border || !way) return;
  event.preventDefault();
  moveBorder(border, Number(border.dataset.share) + way * STEP_SHARE * (event.shiftKey ? 5 : 1));
  lookAhead(border);
  clearTimeout(borderWaits);
  borderWaits = setTimeout(() => letGo(border), 500);
});
