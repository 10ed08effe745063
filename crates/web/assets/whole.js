// The whole piece, live: its part asks again while a bake is worked on, and its pictures move through time.

import { about, asQuery, every, field, fragment, must, need } from "./dom.js";
import { film } from "./film.js";
import { NO_ANSWER, say } from "./live.js";
import { cells, dark, degrees, length, pencil, place, ramp, shown, token, told, typedMm } from "./picture.js";

/** @typedef {"c" | "moisture_pct"} Key A quantity of the whole piece. */
/** @typedef {(number | null)[]} Row One moment of a picture, row after row of places; nothing outside the piece. */
/** @typedef {[number, number]} Pair A number along the piece, and one across or up. */

/**
 * A bake of the whole piece through time, as the program tells it: rows are moments.
 * @typedef {{
 *   time_min: number[], mirrored: [boolean, boolean], plan_points: Pair, plan_step_mm: Pair, section_points: Pair, section_step_mm: Pair,
 *   plan_c: Row[], plan_moisture_pct: Row[], section_c: Row[], section_moisture_pct: Row[],
 * }} Frames
 */

/** @typedef {{ across: number, up: number, at: (i: number, j: number) => number | null }} Laid A picture laid out: its places, and the number at each. */
/** @typedef {{ outline_mm: Pair[], holes_mm: Pair[], hole_radius_mm: number }} Seen The piece seen from above, from its middle. */
/** @typedef {ReturnType<typeof shownNow>} Shown What the pictures show. */

const part = () => document.getElementById("whole-piece");
const view = () => document.getElementById("solid-view");
const slider = () => need(HTMLInputElement, "#solid-time");

/**
 * What stays when the part is drawn anew: slider, probes, what is shown; and the plan as it was drawn.
 * @type {{
 *   share: number | null, what: string | null, source: string | null, of?: string | null, frames: Frames | null, probes: { x: number, y: number }[],
 *   plan?: { scale: number, across: number, up: number },
 * }}
 */
const held = { share: null, what: null, source: null, frames: null, probes: [] };
let asking = 0;
const moves = film("#solid-play", "#solid-time", drawWhole);

/**
 * Puts the part's new words in its place.
 * @param {string} text
 */
function putPart(text) {
  const old = part();
  if (!old) return;
  old.replaceWith(fragment(text));
  wholePiece();
}

/**
 * Asks for the part, and shows the answer.
 * @param {string} address
 * @param {{ method?: string, body?: URLSearchParams }} [init]
 */
async function askPart(address, init = {}) {
  try {
    const response = await fetch(address, { ...init, headers: { "hardtack-part": "main" } });
    if (response.ok) return putPart(await response.text());
    const kind = response.headers.get("content-type") ?? "";
    say(kind.includes("json") ? (await response.json()).what : "The whole piece can’t be asked just now.");
  } catch {
    say(NO_ANSWER);
  }
}

document.addEventListener("submit", (event) => {
  const form = about(event.target, HTMLFormElement, "form");
  if (!form) return;
  if (form.id === "solid-probe") {
    event.preventDefault();
    const [x, y] = ["x", "y"].map((name) => typedMm(field(form, name)?.value ?? ""));
    if (Number.isFinite(x) && Number.isFinite(y)) probe(x, y);
    return;
  }
  if (!form.matches("[data-solid]")) return;
  event.preventDefault();
  askPart(form.action, { method: "POST", body: asQuery(new FormData(form, event.submitter)) });
});

/**
 * One picture's numbers over the whole piece: where mirrored, what was kept is laid out to both sides.
 * @param {Row} row
 * @param {Pair} points
 * @param {[boolean, boolean]} mirrored
 * @returns {Laid}
 */
function laidOut(row, [wide, tall], [overX, overY]) {
  const across = overX ? 2 * wide : wide;
  const up = overY ? 2 * tall : tall;
  /** @type {(i: number, n: number, mirror: boolean) => number} */
  const inside = (i, n, mirror) => (mirror ? (i < n ? n - 1 - i : i - n) : i);
  return { across, up, at: (i, j) => row[inside(j, tall, overY) * wide + inside(i, wide, overX)] };
}

/**
 * A picture between two frames.
 * @param {Row[]} rows
 * @param {import("./picture.js").Moment} at
 * @returns {Row}
 */
function blend(rows, [i, t]) {
  const before = rows[i - 1];
  return rows[i].map((v, k) => {
    const was = before[k] ?? 0;
    return v === null ? null : was + t * (v - was);
  });
}

/**
 * The least and the greatest number.
 * @param {Row[]} rows
 */
function range(rows) {
  let [low, high] = [Infinity, -Infinity];
  for (const row of rows) for (const v of row) if (v !== null) { low = Math.min(low, v); high = Math.max(high, v); }
  return [low, high];
}

/**
 * The quantity shown, its ends and its colours.
 * @param {Frames} f
 */
function shownNow(f) {
  const key = /** @type {Key} */ (need(HTMLInputElement, "#solid-view input[name=solid-what]:checked").value);
  const [low, high] = range([...f[`plan_${key}`], ...f[`section_${key}`]]);
  const name = key === "c" ? "temperature" : "moisture";
  const colours = ramp(name);
  const colour = (/** @type {number} */ v) => colours[Math.round(Math.min(1, Math.max(0, (v - low) / (high - low))) * (colours.length - 1))];
  const unit = key === "c" ? degrees() : "% wet basis";
  const told = (/** @type {number} */ v) => (key === "c" ? shown(v, "temperature") : v);
  return { key, name, low, high, colour, unit, told };
}

/**
 * Draws a picture on a canvas; what `clip` leaves out stays paper.
 * @param {HTMLCanvasElement} canvas
 * @param {Laid} field
 * @param {Pair} stepMm
 * @param {number} scale pixels for a millimetre
 * @param {Shown["colour"]} colour
 * @param {(context: CanvasRenderingContext2D, wide: number, tall: number) => void} clip
 */
function drawField(canvas, field, stepMm, scale, colour, clip) {
  const [wide, tall] = [field.across * stepMm[0] * scale, field.up * stepMm[1] * scale];
  const context = pencil(canvas, wide + 2, tall + 2);
  const small = cells(field.across, field.up, (x, y) => {
    const v = field.at(x, field.up - 1 - y);
    return v === null ? null : colour(v);
  });
  context.save();
  clip(context, wide, tall);
  context.imageSmoothingEnabled = true;
  context.drawImage(small, 1, 1, wide, tall);
  context.restore();
  return { context, wide, tall };
}

/**
 * A field whose places outside the piece take the mean of their neighbours, so that its rim has no white in it.
 * @param {Laid} field
 * @returns {Laid}
 */
function spreadOut(field) {
  const { across, up } = field;
  const values = Array.from({ length: up }, (_, j) => Array.from({ length: across }, (_, i) => field.at(i, j) ?? null));
  for (let round = 0; round < 3; round += 1) {
    const before = values.map((row) => [...row]);
    for (let j = 0; j < up; j += 1) for (let i = 0; i < across; i += 1) {
      if (before[j][i] !== null) continue;
      /** @type {number[]} */
      const near = [];
      for (const [a, b] of [[-1, 0], [1, 0], [0, -1], [0, 1], [-1, -1], [1, 1], [-1, 1], [1, -1]]) {
        const v = before[j + b]?.[i + a];
        if (v !== null && v !== undefined) near.push(v);
      }
      if (near.length) values[j][i] = near.reduce((s, v) => s + v, 0) / near.length;
    }
  }
  return { across, up, at: (i, j) => values[j]?.[i] ?? null };
}

/**
 * The piece seen from above, where its outline is known.
 * @returns {Seen | null}
 */
const seenNow = () => JSON.parse(must(view()?.dataset.seen, "outline of the piece"));

/**
 * The outline with its holes as a path, for a picture whose middle is the middle of the piece.
 * @param {CanvasRenderingContext2D} context
 * @param {number} wide
 * @param {number} tall
 * @param {number} scale
 */
function seenPath(context, wide, tall, scale) {
  const seen = seenNow();
  if (!seen) return false;
  /** @type {(place: Pair) => Pair} */
  const at = ([x, y]) => [1 + wide / 2 + x * scale, 1 + tall / 2 - y * scale];
  context.beginPath();
  seen.outline_mm.forEach((p, n) => (n ? context.lineTo(...at(p)) : context.moveTo(...at(p))));
  context.closePath();
  for (const hole of seen.holes_mm) {
    const [x, y] = at(hole);
    context.moveTo(x + seen.hole_radius_mm * scale, y);
    context.arc(x, y, seen.hole_radius_mm * scale, 0, 2 * Math.PI);
  }
  return true;
}

/**
 * The number of a field at a place from the middle, mm; null outside the piece.
 * @param {Laid} field
 * @param {Pair} stepMm
 * @param {number} x
 * @param {number} y
 */
function valueAt(field, stepMm, x, y) {
  const i = Math.floor(x / stepMm[0] + field.across / 2);
  const j = Math.floor(y / stepMm[1] + field.up / 2);
  const inside = i >= 0 && j >= 0 && i < field.across && j < field.up;
  return inside ? field.at(i, j) ?? null : null;
}

function drawWhole() {
  const [f, here] = [held.frames, view()];
  if (!here || !f) return;
  const room = here.clientWidth;
  if (room < 40) return;
  const minutes = (f.time_min[f.time_min.length - 1] * Number(slider().value)) / 1000;
  const at = place(f.time_min, minutes);
  const w = shownNow(f);
  const plan = laidOut(blend(f[`plan_${w.key}`], at), f.plan_points, f.mirrored);
  const section = laidOut(blend(f[`section_${w.key}`], at), f.section_points, [f.mirrored[0], false]);
  const scale = Math.min((Math.min(room, 736) - 4) / (plan.across * f.plan_step_mm[0]), 360 / (plan.up * f.plan_step_mm[1]));
  const drawn = drawField(need(HTMLCanvasElement, "#solid-plan"), spreadOut(plan), f.plan_step_mm, scale, w.colour, (context, wide, tall) => {
    if (seenPath(context, wide, tall, scale)) context.clip("evenodd");
  });
  drawn.context.strokeStyle = token("--ink-2");
  drawn.context.lineWidth = 1;
  if (seenPath(drawn.context, drawn.wide, drawn.tall, scale)) drawn.context.stroke();
  const half = Math.max(...(seenNow()?.outline_mm ?? [[1e9, 0]]).map(([x]) => x));
  drawField(need(HTMLCanvasElement, "#solid-section"), section, f.section_step_mm, scale, w.colour, (context, wide, tall) => {
    context.beginPath();
    context.rect(1 + wide / 2 - half * scale, 0, 2 * half * scale, tall + 2);
    context.clip();
  });
  const { context } = drawn;
  const [across, up] = [plan.across * f.plan_step_mm[0], plan.up * f.plan_step_mm[1]];
  held.plan = { scale, across, up };
  context.lineWidth = 1.5;
  held.probes.forEach(({ x, y }, n) => {
    const [px, py] = [1 + (x + across / 2) * scale, 1 + (up / 2 - y) * scale];
    // A ground of paper keeps mark and number readable over any colour.
    context.fillStyle = context.strokeStyle = token("--paper");
    context.beginPath(); context.arc(px, py, 6.5, 0, 7); context.fill();
    context.lineWidth = 5;
    context.lineJoin = "round";
    context.strokeText(String(n + 1), px + 11, py + 4);
    context.strokeStyle = context.fillStyle = token("--ink");
    context.lineWidth = 1.5;
    context.beginPath(); context.arc(px, py, 4, 0, 7); context.stroke();
    context.fillText(String(n + 1), px + 11, py + 4);
  });
  keyOfColours(w, room);
  probesNow(f, at);
  /** @type {[name: string, end_min: number][]} */
  const zones = JSON.parse(must(here.dataset.zones, "zones of the bake"));
  const zone = zones.find(([, to]) => minutes <= to + 1e-6);
  const words = `${told(minutes, 1)} min${zone ? `, ${zone[0]}` : ""}`;
  need(Element, "#solid-moment").textContent = words;
  slider().setAttribute("aria-valuetext", words);
  held.share = Number(slider().value);
  held.what = w.key;
}

/**
 * The scale of the colours with its numbers.
 * @param {Shown} w
 * @param {number} room
 */
function keyOfColours(w, room) {
  const canvas = need(HTMLCanvasElement, "#solid-scale");
  const width = Math.min(420, room);
  const [left, long] = [20, width - 40];
  const context = pencil(canvas, width, 46);
  context.drawImage(cells(64, 1, (x) => w.colour(w.low + ((w.high - w.low) * x) / 63)), left, 18, long, 12);
  context.fillStyle = token("--ink-2");
  context.fillText(`${w.name}, ${w.unit}`, left, 12);
  const places = w.key === "c" ? 0 : 1;
  context.textAlign = "center";
  for (const part of [0, 0.5, 1]) context.fillText(told(w.told(w.low + part * (w.high - w.low)), places), left + part * long, 45);
  canvas.setAttribute("aria-label", `Scale of the pictures: ${w.name} from ${told(w.told(w.low), places)} to ${told(w.told(w.high), places)} ${w.unit}`);
}

/**
 * Places a probe, or takes the one there away.
 * @param {number} x
 * @param {number} y
 */
function probe(x, y) {
  const near = held.probes.findIndex((p) => Math.hypot(p.x - x, p.y - y) < 1.5);
  if (near >= 0) held.probes.splice(near, 1);
  else if (held.probes.length < 6) held.probes.push({ x, y });
  drawWhole();
}

/**
 * What the probes read at a moment.
 * @param {Frames} f
 * @param {import("./picture.js").Moment} at
 */
function probesNow(f, at) {
  const table = need(HTMLTableElement, "#solid-probes");
  table.hidden = !held.probes.length;
  const [c, m] = [f.plan_c, f.plan_moisture_pct].map((rows) => laidOut(blend(rows, at), f.plan_points, f.mirrored));
  table.tBodies[0].replaceChildren(...held.probes.map(({ x, y }, n) => {
    const row = document.createElement("tr");
    const [hot, wet] = [c, m].map((field) => valueAt(field, f.plan_step_mm, x, y));
    const cells = [String(n + 1), length(x, 1)[0], length(y, 1)[0], hot === null ? "outside" : told(shown(hot, "temperature"), 0), wet === null ? "–" : told(wet, 1)];
    cells.forEach((text, k) => {
      const cell = document.createElement(k ? "td" : "th");
      cell.textContent = text;
      if (k) cell.className = "figure";
      row.append(cell);
    });
    return row;
  }));
}

/**
 * Waits until a part of the page is on the screen, or nearly.
 * @type {(place: Element) => Promise<void>}
 */
const near = (place) => new Promise((done) => {
  const watch = new IntersectionObserver((seen) => {
    if (!seen.some((s) => s.isIntersecting)) return;
    watch.disconnect();
    done();
  }, { rootMargin: "400px" });
  watch.observe(place);
});

/** Makes the part live: asks again while it is worked on, and brings the pictures. */
async function wholePiece() {
  clearTimeout(asking);
  moves.stop();
  const here = part();
  if (!here) return;
  for (const button of every(HTMLElement, "[data-without-script]", here)) button.hidden = true;
  if (here.matches("[data-running]")) {
    const again = must(here.dataset.again, "address to ask again");
    asking = setTimeout(() => part() === here && askPart(again), 400);
  }
  const source = view()?.dataset.frames;
  if (!source) return;
  // The pictures are a quarter of the page's weight: they are fetched once somebody comes near them.
  const other = () => held.source !== source || held.of !== view()?.dataset.bakeMin;
  if (other()) await near(here);
  if (part() !== here) return;
  if (other()) {
    const response = await fetch(source, { headers: { accept: "application/json" } }).catch(() => null);
    if (!response?.ok) return;
    held.frames = await response.json();
    if (held.source !== source) held.probes = [];
    held.source = source;
    held.of = view()?.dataset.bakeMin;
  }
  const [now, times] = [view(), held.frames?.time_min];
  if (!now || !times) return;
  now.hidden = false;
  slider().value = String(held.share ?? Math.round((1000 * Number(now.dataset.bakeMin)) / times[times.length - 1]));
  const wanted = every(HTMLInputElement, "input[name=solid-what]", now).find((i) => i.value === held.what);
  if (wanted) wanted.checked = true;
  drawWhole();
}

document.addEventListener("input", ({ target }) => {
  if (!(target instanceof HTMLInputElement)) return;
  if (target.id === "solid-time") { moves.stop(); drawWhole(); }
  if (target.name === "solid-what") drawWhole();
});
document.addEventListener("click", (event) => {
  const { target } = event;
  if (!(target instanceof Element)) return;
  if (target.id === "solid-play") moves.turn();
  if (target.id === "solid-clear") { held.probes = []; drawWhole(); }
  if (target.id === "solid-plan" && held.plan) {
    const box = target.getBoundingClientRect();
    const { scale, across, up } = held.plan;
    probe((event.clientX - box.left - 1) / scale - across / 2, up / 2 - (event.clientY - box.top - 1) / scale);
  }
});
document.addEventListener("hardtack:shown", wholePiece);
addEventListener("resize", drawWhole);
dark.addEventListener("change", drawWhole);
wholePiece();
