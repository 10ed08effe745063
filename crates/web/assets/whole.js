// The whole piece, live: its part asks again while a bake is worked on, and its pictures move through time.
// It shares names with bake.js, which stands before it.

const part = () => document.getElementById("whole-piece");
const view = () => document.getElementById("solid-view");
/** What stays when the part is drawn anew: slider, probes, what is shown. */
const held = { share: null, what: null, source: null, frames: null, probes: [] };
let asking = 0;
let moves = 0;

/** Puts the part's new words in its place. */
function putPart(text) {
  const old = part();
  if (!old) return;
  const box = document.createElement("template");
  box.innerHTML = text;
  old.replaceWith(box.content);
  wholePiece();
}

async function askPart(address, init = {}) {
  try {
    const response = await fetch(address, { ...init, headers: { ...init.headers, "hardtack-part": "main" } });
    if (response.ok) return putPart(await response.text());
    const kind = response.headers.get("content-type") ?? "";
    const told = kind.includes("json") ? (await response.json()).what : "The whole piece can’t be asked just now.";
    document.getElementById("said").textContent = told;
  } catch {
    document.getElementById("said").textContent = "The program doesn't answer. Is it still running? What was kept before is safe.";
  }
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.id === "solid-probe") {
    event.preventDefault();
    const [x, y] = ["x", "y"].map((name) => typedMm(form.elements[name].value));
    if (Number.isFinite(x) && Number.isFinite(y)) probe(x, y);
    return;
  }
  if (!form.matches("[data-solid]")) return;
  event.preventDefault();
  askPart(form.action, { method: "POST", body: new URLSearchParams(new FormData(form, event.submitter)) });
});

/** A length typed in the unit of the page, in mm. */
function typedMm(text) {
  const [factor, offset] = root().dataset.length.split(" ").map(Number);
  return (Number(text.replace(",", ".").replace("\u2212", "-")) - offset) / factor;
}

/** One picture's numbers over the whole piece: where mirrored, what was kept is laid out to both sides. */
function laidOut(row, [wide, tall], [overX, overY]) {
  const across = overX ? 2 * wide : wide;
  const up = overY ? 2 * tall : tall;
  const inside = (i, n, mirror) => (mirror ? (i < n ? n - 1 - i : i - n) : i);
  return { across, up, at: (i, j) => row[inside(j, tall, overY) * wide + inside(i, wide, overX)] };
}

/** Frames before and after a moment, and how far between. */
function momentNow() {
  const f = held.frames;
  const minutes = (f.time_min.at(-1) * Number(document.getElementById("solid-time").value)) / 1000;
  return [minutes, place(f.time_min, minutes)];
}

const blend = (rows, [i, t]) => rows[i].map((v, k) => (v === null ? null : rows[i - 1][k] + t * (v - rows[i - 1][k])));

function range(rows) {
  let [low, high] = [Infinity, -Infinity];
  for (const row of rows) for (const v of row) if (v !== null) { low = Math.min(low, v); high = Math.max(high, v); }
  return [low, high];
}

/** The quantity shown, its ends and its colours. */
function shownNow() {
  const f = held.frames;
  const key = view().querySelector("input[name=solid-what]:checked").value;
  const [low, high] = range([...f[`plan_${key}`], ...f[`section_${key}`]]);
  const name = key === "c" ? "temperature" : "moisture";
  const colours = ramp(name);
  const colour = (v) => colours[Math.round(Math.min(1, Math.max(0, (v - low) / (high - low))) * (colours.length - 1))];
  const [, , , degrees] = root().dataset.temperature.split(" ");
  const unit = key === "c" ? degrees : "% wet basis";
  const told = (v) => (key === "c" ? shown(v, "temperature") : v);
  return { key, name, low, high, colour, unit, told };
}

function drawField(canvas, field, stepMm, scale, colour, clip) {
  const [wide, tall] = [field.across * stepMm[0] * scale, field.up * stepMm[1] * scale];
  const context = pencil(canvas, wide + 2, tall + 2);
  const small = document.createElement("canvas");
  small.width = field.across;
  small.height = field.up;
  const brush = small.getContext("2d");
  const image = brush.createImageData(field.across, field.up);
  for (let j = 0; j < field.up; j += 1) {
    for (let i = 0; i < field.across; i += 1) {
      const v = field.at(i, field.up - 1 - j);
      if (v !== null && v !== undefined) image.data.set([...colour(v), 255], 4 * (j * field.across + i));
    }
  }
  brush.putImageData(image, 0, 0);
  context.save();
  clip?.(context, wide, tall);
  context.imageSmoothingEnabled = true;
  context.drawImage(small, 1, 1, wide, tall);
  context.restore();
  return { context, wide, tall };
}

/** A field whose places outside the piece take the mean of their neighbours, so that its rim has no white in it. */
function spreadOut(field) {
  const { across, up } = field;
  const values = Array.from({ length: up }, (_, j) => Array.from({ length: across }, (_, i) => field.at(i, j) ?? null));
  for (let round = 0; round < 3; round += 1) {
    const before = values.map((row) => [...row]);
    for (let j = 0; j < up; j += 1) for (let i = 0; i < across; i += 1) {
      if (before[j][i] !== null) continue;
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

/** The outline with its holes as a path, for a picture whose middle is the middle of the piece. */
function seenPath(context, wide, tall, scale) {
  const seen = JSON.parse(view().dataset.seen);
  if (!seen) return false;
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

/** The number of a field at a place from the middle, mm; null outside the piece. */
function valueAt(field, stepMm, x, y) {
  const i = Math.floor(x / stepMm[0] + field.across / 2);
  const j = Math.floor(y / stepMm[1] + field.up / 2);
  const inside = i >= 0 && j >= 0 && i < field.across && j < field.up;
  return inside ? field.at(i, j) ?? null : null;
}

function drawWhole() {
  const f = held.frames;
  if (!view() || !f) return;
  const room = view().clientWidth;
  if (room < 40) return;
  const [minutes, at] = momentNow();
  const w = shownNow();
  const plan = laidOut(blend(f[`plan_${w.key}`], at), f.plan_points, f.mirrored);
  const section = laidOut(blend(f[`section_${w.key}`], at), f.section_points, [f.mirrored[0], false]);
  const scale = Math.min((Math.min(room, 736) - 4) / (plan.across * f.plan_step_mm[0]), 360 / (plan.up * f.plan_step_mm[1]));
  const drawn = drawField(document.getElementById("solid-plan"), spreadOut(plan), f.plan_step_mm, scale, w.colour, (context, wide, tall) => {
    if (seenPath(context, wide, tall, scale)) context.clip("evenodd");
  });
  drawn.context.strokeStyle = token("--ink-2");
  drawn.context.lineWidth = 1;
  if (seenPath(drawn.context, drawn.wide, drawn.tall, scale)) drawn.context.stroke();
  const half = Math.max(...(JSON.parse(view().dataset.seen)?.outline_mm ?? [[1e9, 0]]).map(([x]) => x));
  drawField(document.getElementById("solid-section"), section, f.section_step_mm, scale, w.colour, (context, wide, tall) => {
    context.beginPath();
    context.rect(1 + wide / 2 - half * scale, 0, 2 * half * scale, tall + 2);
    context.clip();
  });
  const { context } = drawn;
  held.plan = { scale, across: plan.across * f.plan_step_mm[0], up: plan.up * f.plan_step_mm[1] };
  context.lineWidth = 1.5;
  held.probes.forEach(({ x, y }, n) => {
    const [px, py] = [1 + (x + held.plan.across / 2) * scale, 1 + (held.plan.up / 2 - y) * scale];
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
  keyOfColours(w);
  probesNow(at);
  const zone = JSON.parse(view().dataset.zones).find(([, to]) => minutes <= to + 1e-6);
  const words = `${told(minutes, 1)} min${zone ? `, ${zone[0]}` : ""}`;
  document.getElementById("solid-moment").textContent = words;
  const slider = document.getElementById("solid-time");
  slider.setAttribute("aria-valuetext", words);
  held.share = Number(slider.value);
  held.what = w.key;
}

function keyOfColours(w) {
  const canvas = document.getElementById("solid-scale");
  const width = Math.min(420, view().clientWidth);
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

/** Places a probe, or takes the one there away. */
function probe(x, y) {
  const near = held.probes.findIndex((p) => Math.hypot(p.x - x, p.y - y) < 1.5);
  if (near >= 0) held.probes.splice(near, 1);
  else if (held.probes.length < 6) held.probes.push({ x, y });
  drawWhole();
}

function probesNow(at) {
  const f = held.frames;
  const table = document.getElementById("solid-probes");
  table.hidden = !held.probes.length;
  const [c, m] = ["c", "moisture_pct"].map((key) => laidOut(blend(f[`plan_${key}`], at), f.plan_points, f.mirrored));
  const body = table.querySelector("tbody");
  body.replaceChildren(...held.probes.map(({ x, y }, n) => {
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

function stopMoving() {
  cancelAnimationFrame(moves);
  moves = 0;
  const button = document.getElementById("solid-play");
  if (button) { button.textContent = "Play"; button.setAttribute("aria-pressed", "false"); }
}

function moveOn() {
  const slider = document.getElementById("solid-time");
  const button = document.getElementById("solid-play");
  if (moves) return stopMoving();
  if (Number(slider.value) >= 1000) slider.value = 0;
  button.textContent = "Pause";
  button.setAttribute("aria-pressed", "true");
  const [from, began] = [Number(slider.value), performance.now()];
  const step = (now) => {
    const value = from + (now - began) / PLAY_S;
    slider.value = Math.min(1000, value);
    drawWhole();
    if (value >= 1000) return stopMoving();
    moves = requestAnimationFrame(step);
  };
  moves = requestAnimationFrame(step);
}

/** Waits until a part of the page is on the screen, or nearly. */
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
  stopMoving();
  const here = part();
  if (!here) return;
  here.querySelectorAll("[data-without-script]").forEach((e) => { e.hidden = true; });
  if (here.matches("[data-running]")) {
    asking = setTimeout(() => part() === here && askPart(here.dataset.again), 400);
  }
  const source = view()?.dataset.frames;
  if (!source) return;
  // The pictures are a quarter of the page's weight: they are fetched once somebody comes near them.
  if (held.source !== source || held.of !== view().dataset.bakeMin) await near(here);
  if (part() !== here) return;
  if (held.source !== source || held.of !== view().dataset.bakeMin) {
    const response = await fetch(source, { headers: { accept: "application/json" } }).catch(() => null);
    if (!response?.ok) return;
    held.frames = await response.json();
    if (held.source !== source) held.probes = [];
    held.source = source;
    held.of = view()?.dataset.bakeMin;
  }
  if (!view()) return;
  view().hidden = false;
  const slider = document.getElementById("solid-time");
  slider.value = held.share ?? Math.round((1000 * Number(view().dataset.bakeMin)) / held.frames.time_min.at(-1));
  const wanted = [...view().querySelectorAll("input[name=solid-what]")].find((i) => i.value === held.what);
  if (wanted) wanted.checked = true;
  drawWhole();
}

document.addEventListener("input", (event) => {
  if (event.target.id === "solid-time") { stopMoving(); drawWhole(); }
  if (event.target.name === "solid-what") drawWhole();
});
document.addEventListener("click", (event) => {
  if (event.target.id === "solid-play") moveOn();
  if (event.target.id === "solid-clear") { held.probes = []; drawWhole(); }
  if (event.target.id === "solid-plan" && held.plan) {
    const box = event.target.getBoundingClientRect();
    const { scale, across, up } = held.plan;
    probe((event.clientX - box.left - 1) / scale - across / 2, up / 2 - (event.clientY - box.top - 1) / scale);
  }
});
document.addEventListener("hardtack:shown", wholePiece);
addEventListener("resize", drawWhole);
dark.addEventListener("change", drawWhole);
wholePiece();
