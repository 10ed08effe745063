// The bake, live: the pictures of the piece move through time, the mark in the curves moves with
// them, and a changed value of a zone is sent as it is left. Without this script the still pictures,
// the curves, the tables and the forms stand by themselves.

import { every, isField, must, need } from "./dom.js";
import { film } from "./film.js";
import "./oven.js";
import { between, cells, column, dark, length, pencil, place, ramp, root, shown, told, token } from "./picture.js";
import "./whole.js";

/** @typedef {"temperature_c" | "moisture_pct" | "water_activity"} Key A quantity over the height of the piece. */

/**
 * A bake's cross-section through time, as the program tells it: rows are moments, columns are heights.
 * @typedef {Record<Key, number[][]> & {
 *   time_min: number[], height_mm: number[], colour_delta_e: number[], kill_log10: number[], zones: [name: string, end_min: number][],
 * }} Field
 */

/**
 * A piece on this page: its figure, its field, what surrounds it in each zone, and what it is drawn on.
 * @typedef {{
 *   figure: HTMLElement, field: Field, around: { above: string, below: string }[],
 *   piece: HTMLCanvasElement, through: HTMLCanvasElement, cells?: { key: Key, image: HTMLCanvasElement },
 * }} Picture
 */

/** @typedef {ReturnType<typeof what>} Shown What a picture shows. */

/** Largest height of a piece on the screen, px. */
const TALLEST = 180;

/**
 * What stays when the page is drawn anew after an edit.
 * @type {{
 *   share: number | null, what: string | null, treatment?: string | null, bakeMin?: string | null, cell: string | null, typed: string | null,
 * }}
 */
const kept = { share: null, what: null, treatment: null, bakeMin: null, cell: null, typed: null };
/** @type {Picture[]} */
let pictures = [];
let end = 1;
let loading = 0;

const time = () => need(HTMLInputElement, "#time");
const choices = () => every(HTMLInputElement, "input[name=what]", root());
const playing = film("#play", "#time", draw);

/** What the picture shows now: its key, its range, its colours. */
function what() {
  const input = must(choices().find((i) => i.checked) ?? choices()[0], "choice of what is shown");
  const { low, high, places, unit, ramp: name } = input.dataset;
  const colours = ramp(name);
  const [from, to] = [Number(low), Number(high)];
  const colour = (/** @type {number} */ value) => {
    const share = Math.min(1, Math.max(0, (value - from) / (to - from)));
    return colours[Math.round(share * (colours.length - 1))];
  };
  const key = /** @type {Key} */ (input.value);
  return { key, word: input.parentElement?.textContent.trim() ?? "", from, to, places: Number(places), unit, colour };
}

/** Room beside a picture for the measure of its thickness, px. */
const BESIDE = 76;

/**
 * The lengths that a figure's piece is drawn with, mm.
 * @param {HTMLElement} figure
 */
const sizeOf = ({ dataset }) => ({ lengthMm: Number(dataset.lengthMm), thicknessMm: Number(dataset.thicknessMm) });

/**
 * The piece at a moment, with its measures.
 * @param {Picture} p
 * @param {Shown} w
 * @param {number} minutes
 * @param {number} scale pixels for a millimetre
 */
function drawPiece(p, w, minutes, scale) {
  const { lengthMm, thicknessMm } = sizeOf(p.figure);
  const width = p.figure.clientWidth;
  const [long, thick] = [lengthMm * scale, thicknessMm * scale];
  const context = pencil(p.piece, width, thick + 30);
  const row = column(p.field[w.key], place(p.field.time_min, minutes));
  const nodes = row.length;
  // Every row of pixels takes the colour of the value between its two nodes.
  const tall = Math.max(2, Math.round(thick));
  const image = cells(1, tall, (_, y) => {
    const at = (1 - (y + 0.5) / tall) * (nodes - 1);
    const i = Math.min(nodes - 2, Math.floor(at));
    return w.colour(row[i] + (at - i) * (row[i + 1] - row[i]));
  });
  const round = Math.min(thick * 0.18, 10);
  context.save();
  context.beginPath();
  context.roundRect(0.5, 0.5, long - 1, thick, [round, round, round * 0.4, round * 0.4]);
  context.clip();
  context.imageSmoothingEnabled = true;
  context.drawImage(image, 0, 0, long, thick);
  context.restore();
  const ink = token("--ink-2");
  context.strokeStyle = ink;
  context.fillStyle = ink;
  context.lineWidth = 1;
  // The measures: length below, thickness beside.
  context.beginPath();
  context.moveTo(0.5, thick + 5); context.lineTo(0.5, thick + 13);
  context.moveTo(0.5, thick + 9); context.lineTo(long - 0.5, thick + 9);
  context.moveTo(long - 0.5, thick + 5); context.lineTo(long - 0.5, thick + 13);
  context.moveTo(long + 6, 0.5); context.lineTo(long + 14, 0.5);
  context.moveTo(long + 10, 0.5); context.lineTo(long + 10, thick);
  context.moveTo(long + 6, thick); context.lineTo(long + 14, thick);
  context.stroke();
  context.textBaseline = "middle";
  context.fillText(length(thicknessMm, 1).join(" "), long + 17, thick / 2);
  context.textBaseline = "top";
  context.textAlign = "center";
  const words = length(lengthMm, 0).join(" ");
  const half = context.measureText(words).width / 2 + 4;
  context.clearRect(long / 2 - half, thick + 5, 2 * half, 10);
  context.fillText(words, long / 2, thick + 4);
}

/**
 * The whole bake: time across, height up, with the zones' ends and the moment.
 * @param {Picture} p
 * @param {Shown} w
 * @param {number} minutes
 */
function drawThrough(p, w, minutes) {
  const width = p.figure.clientWidth;
  const [wide, tall] = [width - BESIDE, 72];
  if (p.cells?.key !== w.key) {
    const { time_min: times, height_mm: heights } = p.field;
    const count = 300;
    const columns = Array.from({ length: count }, (_, x) => column(p.field[w.key], place(times, (end * (x + 0.5)) / count)));
    p.cells = { key: w.key, image: cells(count, heights.length, (x, y) => w.colour(columns[x][heights.length - 1 - y])) };
  }
  const context = pencil(p.through, width, tall + 38);
  const x = (/** @type {number} */ t) => (t / end) * wide;
  context.drawImage(p.cells.image, 0, 18, wide, tall);
  context.fillStyle = context.strokeStyle = token("--ink-2");
  context.textBaseline = "alphabetic";
  let from = 0;
  for (const [name, to] of p.field.zones) {
    const room = x(Math.min(to, end)) - x(from) - 6;
    if (context.measureText(name).width < room) context.fillText(name, x(from) + 2, 12);
    context.globalAlpha = 0.6;
    context.beginPath(); context.moveTo(x(to), 4); context.lineTo(x(to), 18 + tall); context.stroke();
    context.globalAlpha = 1;
    from = to;
  }
  context.fillText("top", wide + 8, 28);
  context.fillText("bottom", wide + 8, 16 + tall);
  context.fillText("0", 0, 34 + tall);
  context.textAlign = "right";
  context.fillText(`${told(end, 0)} min`, wide, 34 + tall);
  context.strokeStyle = token("--accent");
  context.lineWidth = 2;
  context.beginPath(); context.moveTo(x(minutes), 12); context.lineTo(x(minutes), 22 + tall); context.stroke();
}

/**
 * The scale of the colours with its numbers.
 * @param {Shown} w
 */
function drawScale(w) {
  const canvas = need(HTMLCanvasElement, "#scale");
  const width = Math.min(420, canvas.parentElement?.clientWidth ?? 0);
  const [left, long] = [12, width - 24];
  const context = pencil(canvas, width, 46);
  context.drawImage(cells(64, 1, (x) => w.colour(w.from + ((w.to - w.from) * x) / 63)), left, 18, long, 12);
  context.fillStyle = context.strokeStyle = token("--ink-2");
  context.fillText(w.unit ? `${w.word}, ${w.unit}` : w.word, left, 12);
  context.textAlign = "center";
  const span = w.to - w.from;
  const every = [0.2, 1, 2, 5, 10, 20, 40, 50, 100].find((s) => span / s < 9 && Math.abs(Math.round(span / s) * s - span) < 1e-6) ?? span;
  for (let value = w.from; value <= w.to + 1e-6; value += every) {
    const x = left + (long * (value - w.from)) / span;
    context.beginPath(); context.moveTo(x, 30); context.lineTo(x, 33); context.stroke();
    context.fillText(told(value, w.key === "water_activity" ? 1 : 0), x, 45);
  }
  canvas.setAttribute("aria-label", `Scale of the picture: ${w.word} from ${told(w.from, 0)} to ${told(w.to, 0)} ${w.unit}`);
}

/**
 * The zone that a time lies in; the last one for any later.
 * @param {Field} field
 * @param {number} minutes
 */
function zoneAt(field, minutes) {
  const i = field.zones.findIndex(([, to]) => minutes <= to + 1e-6);
  const at = i < 0 ? field.zones.length - 1 : i;
  return { index: at, name: field.zones[at][0] };
}

/**
 * What is read at a moment, by the words of the table.
 * @param {Picture} p
 * @param {number} minutes
 * @returns {Record<string, string>}
 */
function reading(p, minutes) {
  const at = place(p.field.time_min, minutes);
  const [t, m, a] = [p.field.temperature_c, p.field.moisture_pct, p.field.water_activity].map((rows) => column(rows, at));
  const wettest = m.indexOf(Math.max(...m));
  // Means are of water per dry solid, by the trapezoid.
  const dry = m.map((v) => v / (100 - v));
  const mean = (dry.reduce((s, v) => s + v, 0) - (dry[0] + dry[dry.length - 1]) / 2) / (dry.length - 1);
  return {
    top_c: told(t[t.length - 1], 0), centre_c: told(t[(t.length - 1) / 2], 0), bottom_c: told(t[0], 0),
    mean_pct: told((100 * mean) / (1 + mean), 1), wettest_pct: told(m[wettest], 1),
    wettest_mm: length(p.field.height_mm[wettest], 1)[0], driest_aw: told(Math.min(...a), 2),
    colour: told(between(p.field.colour_delta_e, at), 1), kill: told(between(p.field.kill_log10, at), 1),
  };
}

const minutesNow = () => (end * Number(time().value)) / 1000;

/** Draws everything for the moment of the slider. */
function draw() {
  if (!root() || !pictures.length) return;
  if (pictures[0].figure.clientWidth < 2 * BESIDE) return; // Not laid out, as while printing.
  const [w, minutes] = [what(), minutesNow()];
  // One scale for all pieces, so that sizes compare.
  const scale = Math.min(...pictures.map(({ figure }) => {
    const { lengthMm, thicknessMm } = sizeOf(figure);
    return Math.min((figure.clientWidth - BESIDE) / lengthMm, TALLEST / thicknessMm);
  }));
  pictures.forEach((p, i) => {
    const zone = zoneAt(p.field, minutes);
    const around = p.around[zone.index];
    need(Element, ".above", p.figure).textContent = around ? `${zone.name}: ${around.above}` : `${zone.name}: room air`;
    need(Element, ".below", p.figure).textContent = around ? around.below : "";
    drawPiece(p, w, minutes, scale);
    drawThrough(p, w, minutes);
    const now = reading(p, minutes);
    for (const row of every(HTMLTableRowElement, ".readings-now tbody tr", root())) {
      const cell = every(HTMLElement, "td[data-reading]", row)[i];
      const text = now[cell.dataset.reading ?? ""];
      if (cell.textContent !== text) cell.textContent = text;
    }
  });
  const here = zoneAt(pictures[0].field, minutes).name;
  const words = `${told(minutes, 1)} min, ${here}`;
  need(Element, "#moment").textContent = words;
  const slider = time();
  slider.setAttribute("aria-valuetext", words);
  kept.share = Number(slider.value);
  kept.what = w.key;
  moveMarks(minutes);
}

/**
 * The mark in every curve.
 * @param {number} minutes
 */
function moveMarks(minutes) {
  for (const line of every(SVGElement, "svg .moment", root())) {
    const [v0, v1] = must(line.dataset.values, "values of a mark").split(" ").map(Number);
    const [p0, p1] = must(line.dataset.places, "places of a mark").split(" ").map(Number);
    const inside = minutes >= v0 && minutes <= v1;
    line.classList.toggle("on", inside);
    if (inside) {
      const x = (p0 + ((minutes - v0) / (v1 - v0)) * (p1 - p0)).toFixed(1);
      line.setAttribute("x1", x);
      line.setAttribute("x2", x);
    }
  }
}

/** Takes up the page as it stands now. */
async function begin() {
  playing.stop();
  pictures = [];
  if (!root()) return;
  for (const button of every(HTMLElement, "[data-without-script]", root())) button.hidden = true;
  tellChange();
  back();
  const mine = (loading += 1);
  const figures = every(HTMLElement, ".picture", root());
  /** @type {Field[]} */
  let fields;
  try {
    fields = await Promise.all(figures.map(async (f) => {
      const response = await fetch(must(f.dataset.field, "address of a field"), { headers: { accept: "application/json" } });
      if (!response.ok) throw new Error((await response.json()).what);
      return response.json();
    }));
  } catch { return; } // The still pictures stay.
  if (mine !== loading) return;
  pictures = figures.map((figure, i) => ({
    figure, field: fields[i], around: JSON.parse(must(figure.dataset.around, "words around a piece")),
    piece: need(HTMLCanvasElement, ".piece", figure), through: need(HTMLCanvasElement, ".through", figure),
  }));
  for (const field of fields) field.temperature_c = field.temperature_c.map((row) => row.map((c) => shown(c, "temperature")));
  end = Math.max(...fields.map((f) => f.time_min[f.time_min.length - 1]));
  need(HTMLElement, "#section").classList.add("lives");
  need(HTMLElement, ".moving", must(root(), "bake")).hidden = false;
  need(HTMLElement, "#clock").hidden = false;
  const slider = time();
  const exit = Number(figures[0].dataset.bakeMin) / end;
  slider.value = String(kept.share ?? Math.floor(1000 * exit));
  const chosen = choices().find((i) => i.value === kept.what);
  if (chosen) chosen.checked = true;
  slider.addEventListener("input", () => { playing.stop(); draw(); });
  need(HTMLElement, "#play").addEventListener("click", playing.turn);
  for (const choice of choices()) choice.addEventListener("change", () => { drawScale(what()); draw(); });
  drawScale(what());
  draw();
}

/** What the last change did to the bake time. */
function tellChange() {
  const { bakeMin, treatment } = must(root(), "bake").dataset;
  const place = document.getElementById("before");
  // By the numbers as they are shown.
  const change = kept.bakeMin ? Number(Number(bakeMin).toFixed(1)) - Number(Number(kept.bakeMin).toFixed(1)) : 0;
  if (place && kept.treatment === treatment && Math.abs(change) >= 0.05) {
    place.textContent = `was ${told(Number(kept.bakeMin), 1)} before this change (${change > 0 ? "+" : ""}${told(change, 1)})`;
  }
  kept.bakeMin = bakeMin;
  kept.treatment = treatment;
}

/** Back to the cell that was being typed in, with what stood in it. */
function back() {
  const cell = kept.cell && every(HTMLInputElement, "input[data-cell]", root()).find((i) => i.dataset.cell === kept.cell);
  if (!cell) return;
  if (kept.typed !== null) cell.value = kept.typed;
  cell.focus({ preventScroll: true });
  cell.select();
}

/**
 * What was sent from a cell last: enter and leaving the cell send it once.
 * @type {WeakMap<HTMLInputElement, string>}
 */
const sent = new WeakMap();

/** @param {HTMLInputElement} cell */
function sendCell(cell) {
  kept.typed = null;
  if (cell.value === (sent.get(cell) ?? cell.defaultValue)) return;
  sent.set(cell, cell.value);
  cell.form?.requestSubmit();
}

/**
 * The cell that an event is about.
 * @param {EventTarget | null} target
 */
const cellOf = (target) => (target instanceof HTMLInputElement && target.dataset.cell ? target : null);

document.addEventListener("focusin", ({ target }) => {
  if (!(target instanceof Element) || !root()?.contains(target)) return;
  kept.cell = cellOf(target)?.dataset.cell ?? null;
  kept.typed = null;
});
document.addEventListener("input", ({ target }) => {
  const cell = cellOf(target);
  if (cell) kept.typed = cell.value;
});
document.addEventListener("change", ({ target }) => {
  const cell = cellOf(target);
  if (cell) sendCell(cell);
  if (isField(target) && "goes" in target.dataset) target.form?.submit();
});
document.addEventListener("keydown", (event) => {
  const cell = cellOf(event.target);
  if (!cell) return;
  if (event.key === "Enter") { event.preventDefault(); sendCell(cell); }
  if (event.key === "Escape") { cell.value = cell.defaultValue; kept.typed = null; cell.select(); }
});
document.addEventListener("hardtack:shown", begin);
dark.addEventListener("change", () => { if (pictures.length) { drawScale(what()); draw(); } });
new ResizeObserver(() => { if (pictures.length) { drawScale(what()); draw(); } }).observe(need(Element, "#main"));
begin();
