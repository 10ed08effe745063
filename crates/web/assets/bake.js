// The bake, live: the pictures of the piece move through time, the mark in the curves moves with
// them, and a changed value of a zone is sent as it is left. Without this script the still pictures,
// the curves, the tables and the forms stand by themselves.

const root = () => document.getElementById("bake");
const all = (selector, within = root()) => [...(within?.querySelectorAll(selector) ?? [])];
const still = matchMedia("(prefers-reduced-motion: reduce)");
const dark = matchMedia("(prefers-color-scheme: dark)");

/** Seconds that a whole bake takes to play. */
const PLAY_S = 14;
/** Largest height of a piece on the screen, px. */
const TALLEST = 180;

/** What stays when the page is drawn anew after an edit. */
const kept = { share: null, what: null, treatment: null, bakeMin: null, cell: null, typed: null };
/** The pictures on this page: figure, field, and how each is drawn. */
let pictures = [];
let end = 1;
let playing = 0;
let loading = 0;

const token = (name) => {
  // A custom colour may be a light-dark() pair; a probe tells what it comes to.
  const probe = document.createElement("span");
  probe.style.color = `var(${name})`;
  root().append(probe);
  const colour = getComputedStyle(probe).color;
  probe.remove();
  return colour;
};

/** A value of the field in the units of the page: `temperature` or `length`; its factor, offset and more decimals. */
const shown = (value, kind) => {
  const [factor, offset] = root().dataset[kind].split(" ").map(Number);
  return factor * value + offset;
};
/** A length in mm, in the unit of the page. */
const length = (mm, places) => {
  const [, , more, unit] = root().dataset.length.split(" ");
  return [told(shown(mm, "length"), places + Number(more)), unit];
};

/** Numbers as the pages write them. */
const told = (value, places) =>
  Number.isFinite(value) ? value.toFixed(places).replace(/^-(?=0\.?0*$)/, "").replace("-", "\u2212") : "–";

function ramp(name) {
  const text = document.getElementById("section").dataset[name === "temperature" ? "rampTemperature" : "rampMoisture"];
  return Array.from({ length: text.length / 6 }, (_, i) => {
    const n = parseInt(text.slice(6 * i, 6 * i + 6), 16);
    return [n >> 16, (n >> 8) & 255, n & 255];
  });
}

/** What the picture shows now: its key, its range, its colours. */
function what() {
  const input = all("input[name=what]").find((i) => i.checked) ?? all("input[name=what]")[0];
  const { low, high, places, unit, ramp: name } = input.dataset;
  const colours = ramp(name);
  const [from, to] = [Number(low), Number(high)];
  const colour = (value) => {
    const share = Math.min(1, Math.max(0, (value - from) / (to - from)));
    return colours[Math.round(share * (colours.length - 1))];
  };
  return { key: input.value, word: input.parentElement.textContent.trim(), from, to, places: Number(places), unit, colour };
}

/** A canvas sized to the screen's own pixels, and its pencil in CSS pixels. */
function pencil(canvas, width, height) {
  const ratio = devicePixelRatio || 1;
  canvas.width = Math.round(width * ratio);
  canvas.height = Math.round(height * ratio);
  canvas.style.width = `${width}px`;
  canvas.style.height = `${height}px`;
  const context = canvas.getContext("2d");
  context.scale(ratio, ratio);
  const body = getComputedStyle(document.body).getPropertyValue("--data");
  context.font = `13px ${body || "sans-serif"}`;
  return context;
}

/** Between which frames a time lies, and how far. */
function place(times, minutes) {
  let i = 1;
  while (i < times.length - 1 && times[i] < minutes) i += 1;
  const span = times[i] - times[i - 1];
  return [i, span > 0 ? Math.min(1, Math.max(0, (minutes - times[i - 1]) / span)) : 1];
}
const between = (row, [i, t]) => row[i - 1] + t * (row[i] - row[i - 1]);
const column = (rows, [i, t]) => rows[i].map((v, k) => rows[i - 1][k] + t * (v - rows[i - 1][k]));

/** Cells of one colour each, laid into a small picture and drawn large. */
function cells(wide, tall, at) {
  const small = document.createElement("canvas");
  small.width = wide;
  small.height = tall;
  const context = small.getContext("2d");
  const image = context.createImageData(wide, tall);
  for (let y = 0; y < tall; y += 1) {
    for (let x = 0; x < wide; x += 1) {
      image.data.set([...at(x, y), 255], 4 * (y * wide + x));
    }
  }
  context.putImageData(image, 0, 0);
  return small;
}

/** Room beside a picture for the measure of its thickness, px. */
const BESIDE = 76;

function drawPiece(p, w, minutes, scale) {
  const { lengthMm, thicknessMm } = p.figure.dataset;
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
  context.fillText(length(Number(thicknessMm), 1).join(" "), long + 17, thick / 2);
  context.textBaseline = "top";
  context.textAlign = "center";
  const words = length(Number(lengthMm), 0).join(" ");
  const half = context.measureText(words).width / 2 + 4;
  context.clearRect(long / 2 - half, thick + 5, 2 * half, 10);
  context.fillText(words, long / 2, thick + 4);
}

/** The whole bake: time across, height up, with the zones' ends and the moment. */
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
  const x = (t) => (t / end) * wide;
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

/** The scale of the colours with its numbers. */
function drawScale(w) {
  const canvas = document.getElementById("scale");
  const width = Math.min(420, canvas.parentElement.clientWidth);
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

/** The zone that a time lies in; the last one for any later. */
function zoneAt(field, minutes) {
  const i = field.zones.findIndex(([, to]) => minutes <= to + 1e-6);
  const at = i < 0 ? field.zones.length - 1 : i;
  return { index: at, name: field.zones[at][0] };
}

function reading(p, minutes) {
  const at = place(p.field.time_min, minutes);
  const [t, m, a] = ["temperature_c", "moisture_pct", "water_activity"].map((k) => column(p.field[k], at));
  const wettest = m.indexOf(Math.max(...m));
  // Means are of water per dry solid, by the trapezoid.
  const dry = m.map((v) => v / (100 - v));
  const mean = (dry.reduce((s, v) => s + v, 0) - (dry[0] + dry.at(-1)) / 2) / (dry.length - 1);
  return {
    top_c: told(t.at(-1), 0), centre_c: told(t[(t.length - 1) / 2], 0), bottom_c: told(t[0], 0),
    mean_pct: told((100 * mean) / (1 + mean), 1), wettest_pct: told(m[wettest], 1),
    wettest_mm: length(p.field.height_mm[wettest], 1)[0], driest_aw: told(Math.min(...a), 2),
    colour: told(between(p.field.colour_delta_e, at), 1), kill: told(between(p.field.kill_log10, at), 1),
  };
}

const minutesNow = () => (end * Number(document.getElementById("time").value)) / 1000;

/** Draws everything for the moment of the slider. */
function draw() {
  if (!root() || !pictures.length) return;
  if (pictures[0].figure.clientWidth < 2 * BESIDE) return; // Not laid out, as while printing.
  const [w, minutes] = [what(), minutesNow()];
  // One scale for all pieces, so that sizes compare.
  const scale = Math.min(...pictures.map((p) => Math.min((p.figure.clientWidth - BESIDE) / p.figure.dataset.lengthMm, TALLEST / p.figure.dataset.thicknessMm)));
  pictures.forEach((p, i) => {
    const zone = zoneAt(p.field, minutes);
    const around = p.around[zone.index];
    p.figure.querySelector(".above").textContent = around ? `${zone.name}: ${around.above}` : `${zone.name}: room air`;
    p.figure.querySelector(".below").textContent = around ? around.below : "";
    drawPiece(p, w, minutes, scale);
    drawThrough(p, w, minutes);
    const now = reading(p, minutes);
    for (const row of all(".readings-now tbody tr")) {
      const cell = row.querySelectorAll("td[data-reading]")[i];
      const text = now[cell.dataset.reading];
      if (cell.textContent !== text) cell.textContent = text;
    }
  });
  const here = zoneAt(pictures[0].field, minutes).name;
  const words = `${told(minutes, 1)} min, ${here}`;
  document.getElementById("moment").textContent = words;
  const slider = document.getElementById("time");
  slider.setAttribute("aria-valuetext", words);
  kept.share = Number(slider.value);
  kept.what = w.key;
  moveMarks(minutes);
}

/** The mark in every curve. */
function moveMarks(minutes) {
  for (const line of all("svg .moment")) {
    const [v0, v1] = line.dataset.values.split(" ").map(Number);
    const [p0, p1] = line.dataset.places.split(" ").map(Number);
    const inside = minutes >= v0 && minutes <= v1;
    line.classList.toggle("on", inside);
    if (inside) {
      const x = (p0 + ((minutes - v0) / (v1 - v0)) * (p1 - p0)).toFixed(1);
      line.setAttribute("x1", x);
      line.setAttribute("x2", x);
    }
  }
}

function stop() {
  cancelAnimationFrame(playing);
  playing = 0;
  const button = document.getElementById("play");
  if (button) { button.textContent = "Play"; button.setAttribute("aria-pressed", "false"); }
}

function play() {
  const slider = document.getElementById("time");
  if (Number(slider.value) >= 999) slider.value = 0;
  let [share, before] = [Number(slider.value), performance.now()];
  const button = document.getElementById("play");
  button.textContent = "Pause";
  button.setAttribute("aria-pressed", "true");
  const step = (now) => {
    // Those who want less motion get a picture every second instead of a film.
    if (!still.matches || now - before > 1000) {
      share = Math.min(1000, share + (now - before) / PLAY_S);
      before = now;
      slider.value = share;
      draw();
    }
    if (share >= 1000) { stop(); return; }
    playing = requestAnimationFrame(step);
  };
  playing = requestAnimationFrame(step);
}

/** Takes up the page as it stands now. */
async function begin() {
  stop();
  pictures = [];
  if (!root()) return;
  all("[data-without-script]").forEach((b) => { b.hidden = true; });
  tellChange();
  back();
  const mine = (loading += 1);
  const figures = all(".picture");
  let fields;
  try {
    fields = await Promise.all(figures.map(async (f) => {
      const response = await fetch(f.dataset.field, { headers: { accept: "application/json" } });
      if (!response.ok) throw new Error((await response.json()).what);
      return response.json();
    }));
  } catch { return; } // The still pictures stay.
  if (mine !== loading) return;
  pictures = figures.map((figure, i) => ({
    figure, field: fields[i], around: JSON.parse(figure.dataset.around),
    piece: figure.querySelector(".piece"), through: figure.querySelector(".through"),
  }));
  for (const field of fields) field.temperature_c = field.temperature_c.map((row) => row.map((c) => shown(c, "temperature")));
  end = Math.max(...fields.map((f) => f.time_min.at(-1)));
  document.getElementById("section").classList.add("lives");
  const moving = all(".moving")[0];
  moving.hidden = false;
  document.getElementById("clock").hidden = false;
  const slider = document.getElementById("time");
  const exit = Number(figures[0].dataset.bakeMin) / end;
  slider.value = kept.share ?? Math.floor(1000 * exit);
  const chosen = all("input[name=what]").find((i) => i.value === kept.what);
  if (chosen) chosen.checked = true;
  slider.addEventListener("input", () => { stop(); draw(); });
  document.getElementById("play").addEventListener("click", () => (playing ? stop() : play()));
  all("input[name=what]").forEach((i) => i.addEventListener("change", () => { drawScale(what()); draw(); }));
  drawScale(what());
  draw();
}

/** What the last change did to the bake time. */
function tellChange() {
  const { bakeMin, treatment } = root().dataset;
  const place = document.getElementById("before");
  // By the numbers as they are shown.
  const change = kept.bakeMin ? Number(bakeMin).toFixed(1) - Number(kept.bakeMin).toFixed(1) : 0;
  if (place && kept.treatment === treatment && Math.abs(change) >= 0.05) {
    place.textContent = `was ${told(Number(kept.bakeMin), 1)} before this change (${change > 0 ? "+" : ""}${told(change, 1)})`;
  }
  kept.bakeMin = bakeMin;
  kept.treatment = treatment;
}

/** Back to the cell that was being typed in, with what stood in it. */
function back() {
  const cell = kept.cell && all("input[data-cell]").find((i) => i.dataset.cell === kept.cell);
  if (!cell) return;
  if (kept.typed !== null) cell.value = kept.typed;
  cell.focus({ preventScroll: true });
  cell.select();
}

/** What was sent from a cell last: enter and leaving the cell send it once. */
const sent = new WeakMap();

function sendCell(cell) {
  kept.typed = null;
  if (cell.value === (sent.get(cell) ?? cell.defaultValue)) return;
  sent.set(cell, cell.value);
  cell.form.requestSubmit();
}

document.addEventListener("focusin", (event) => {
  if (!root()?.contains(event.target)) return;
  kept.cell = event.target.dataset.cell ?? null;
  kept.typed = null;
});
document.addEventListener("input", (event) => {
  if (event.target.dataset?.cell) kept.typed = event.target.value;
});
document.addEventListener("change", (event) => {
  const { target } = event;
  if (target.dataset?.cell) sendCell(target);
  if (target.dataset && "goes" in target.dataset) target.form.submit();
});
document.addEventListener("keydown", (event) => {
  const { target } = event;
  if (event.key === "Enter" && target.dataset?.cell) { event.preventDefault(); sendCell(target); }
  if (event.key === "Escape" && target.dataset?.cell) { target.value = target.defaultValue; kept.typed = null; target.select(); }
});
document.addEventListener("hardtack:shown", begin);
dark.addEventListener("change", () => { if (pictures.length) { drawScale(what()); draw(); } });
new ResizeObserver(() => { if (pictures.length) { drawScale(what()); draw(); } }).observe(document.getElementById("main"));
begin();
