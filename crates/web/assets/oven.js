// The oven from the side: a border between two zones is dragged, or moved with the arrow keys, and the lengths on both sides
// of it are sent when it is let go.

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

/** The border that was moved last, to be held again once the page is drawn anew. */
let lastBorder = null;
document.addEventListener("hardtack:shown", () => {
  document.querySelector(`.oven .border[data-border="${lastBorder}"]`)?.focus({ preventScroll: true });
  lastBorder = null;
});

/** Sends the lengths of the zones on both sides of a border. */
function letGo(border) {
  const figure = border.closest(".oven");
  const lengths = JSON.parse(figure.dataset.lengths);
  const all = lengths.reduce((sum, [, , value]) => sum + value, 0);
  const at = [0, ...sharesOf(figure), 1];
  const i = Number(border.dataset.border);
  const edits = [i, i + 1].map((zone) => {
    const [name, field] = lengths[zone];
    const value = Number(((at[zone + 1] - at[zone]) * all).toPrecision(4));
    return { edit: "set_zone", treatment: figure.dataset.treatment ?? null, zone: name, field, value };
  });
  lastBorder = border.dataset.border;
  document.dispatchEvent(new CustomEvent("hardtack:edit", { detail: edits }));
}

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
  const border = event.target.closest?.(".oven .border");
  const way = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 }[event.key];
  if (!border || !way) return;
  event.preventDefault();
  moveBorder(border, Number(border.dataset.share) + way * STEP_SHARE * (event.shiftKey ? 5 : 1));
  clearTimeout(borderWaits);
  borderWaits = setTimeout(() => letGo(border), 500);
});
