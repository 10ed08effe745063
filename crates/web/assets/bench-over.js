// What a page shows once the rows are counted in that it doesn't have yet: those that wait on this device, and those
// that came into the book after the page was drawn.

/** The rows of this batch that the page doesn't have. */
function beyondPage(items) {
  const last = Number(here().last ?? 0);
  return items.filter((i) => !i.refused && i.row.thing === here().thing && !(i.sent <= last));
}

const marked = (text) => text.replace(".", here().decimal ?? ".");
const each = (css, deed) => { for (const found of document.querySelectorAll(css)) deed(found); };
const write = (element, text) => { if (element && element.textContent !== text) element.textContent = text; };

/** What the last look came to: for what speaks against a row before it is written. */
let standing = { sums: {}, right: false, within: new Map() };

function over(mine) {
  const struck = new Set(mine.map((i) => i.row.strikes).filter(Boolean));
  const rows = mine.map((i) => i.row).filter((r) => !struck.has(r.key) && (r.value || !r.strikes));
  each("[data-row]", (li) => li.classList.toggle("struck-here", struck.has(li.dataset.row)));
  const gone = [...document.querySelectorAll("[data-row].struck-here:not(.struck)")].map((li) => li.dataset);
  standing = { sums: sums(rows, gone), right: isRight(rows, gone), within: trays(rows) };
  whole(standing.sums);
  strip(rows, gone);
  numbers(rows);
  pulls(rows);
  stands(rows);
  weighing(rows);
}

/** Totals and counts. */
function sums(rows, gone) {
  const told = {};
  each("output[data-sum]", (output) => {
    const word = output.dataset.sum;
    const units = JSON.parse(output.dataset.units ?? "{}");
    const own = rows.filter((r) => r.what === word);
    const more = own.reduce((sum, r) => sum + Number(r.value) * (units[r.unit] ?? 1), 0);
    const less = gone.filter((g) => g.what === word).reduce((sum, g) => sum + Number(g.amount ?? 0), 0);
    told[word] = Number(output.dataset.kept) + more - less;
    if ("none" in output.dataset && !own.length) told[word] = null;
    write(output, marked((told[word] ?? 0).toFixed(Number(output.dataset.places))));
  });
  each("output[data-ratio]", (output) => write(output, marked((told[output.dataset.ratio] / Number(output.dataset.to)).toFixed(Number(output.dataset.places)))));
  return told;
}

function isRight(rows, gone) {
  const was = place("right") && !gone.some((g) => g.what === "dough-right");
  const right = !!was || rows.some((r) => r.what === "dough-right");
  each("[data-enter='dough-right']", (form) => { if (!form.matches(".strike")) form.hidden = right; });
  // What was advised was advised of another dough.
  const dosed = right || rows.some((r) => r.what === "dose");
  each("#advised form, .strip .next", (advice) => advice.classList.toggle("no-longer", dosed));
  return right;
}

/** A normal logit learned from a count, and its mean share: the same as the book works it out. */
function wholeOf(whole, outOf, level, sd) {
  const share = (x) => 1 / (1 + Math.exp(-x));
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

function whole(told) {
  const block = place("whole");
  if (!block) return;
  const [cut, broken, stuck] = [told.cut ?? null, told["cut-broken"], told["cut-stuck"]].map((n) => n === null ? null : Math.max(0, n));
  const counted = Math.max(0, told["cut-whole"]);
  const outOf = Math.max(cut ?? 0, counted + broken + stuck);
  const left = cut !== null && counted === 0 ? Math.max(0, cut - broken - stuck) : counted;
  block.hidden = !(outOf > 0);
  if (!(outOf > 0)) return;
  const [p, low, high] = wholeOf(left, outOf, Number(block.dataset.level), Number(block.dataset.levelSd)).map((x) => marked(x.toFixed(2)));
  write(block.querySelector("output"), `${p} (${low} to ${high})`);
  write(block.querySelector("[data-whole]"), String(left));
  write(block.querySelector("[data-out-of]"), String(outOf));
}

/** Doses that wait, as dots on the strip. */
function strip(rows, gone) {
  const drawn = document.querySelector("svg.strip");
  const output = document.querySelector("output[data-sum=dose]");
  if (!drawn || !output) return;
  for (const dot of drawn.querySelectorAll(".here")) dot.remove();
  const [low, high, wide, dry] = ["low", "high", "wide", "dryKg"].map((name) => Number(drawn.dataset[name]));
  const units = JSON.parse(output.dataset.units);
  let total = Number(output.dataset.kept) - gone.filter((g) => g.what === "dose").reduce((sum, g) => sum + Number(g.amount ?? 0), 0);
  for (const row of rows.filter((r) => r.what === "dose")) {
    total += Number(row.value) * (units[row.unit] ?? 1);
    const dot = document.createElementNS(drawn.namespaceURI, "circle");
    const x = wide * ((100 * total) / dry - low) / (high - low);
    for (const [name, value] of Object.entries({ class: "here", cx: Math.max(6, Math.min(wide - 6, x)), cy: drawn.querySelector(".axis").getAttribute("y1"), r: 6 })) dot.setAttribute(name, value);
    if (dry > 0) drawn.append(dot);
  }
}

/** The next piece, the next tray. */
function numbers(rows) {
  each("input[data-part]", (on) => {
    const { what, of } = Object.fromEntries(new FormData(on.form));
    const n = Number(on.dataset.from) + rows.filter((r) => r.what === what && (r.of ?? "") === (of ?? "")).length;
    on.value = `${on.dataset.part}=${n}`;
    write(on.form.querySelector("[data-next]"), String(n));
  });
  each("input[data-next-of]", (of) => {
    const n = String(Number(of.dataset.nextOf) + rows.filter((r) => r.what === of.form.dataset.enter).length);
    if (of.value === (of.dataset.filled ?? of.defaultValue)) of.value = n;
    of.dataset.filled = n;
  });
}

/** The trays that are in: those of the page, and those that wait. Gives when each went in. */
function trays(rows) {
  const within = new Map();
  const list = place("trays");
  if (!list) return within;
  const drawn = [...list.querySelectorAll(":scope > .tray:not(.here)")];
  for (const tray of drawn) within.set(tray.dataset.tray, { at: tray.querySelector("[data-since]").dataset.since });
  for (const row of rows) {
    if (row.what === "oven-in") within.set(row.of, row);
    if (row.what === "oven-out") within.delete(row.of);
  }
  for (const tray of drawn) tray.hidden = within.get(tray.dataset.tray)?.key !== undefined || !within.has(tray.dataset.tray);
  const had = new Map([...list.querySelectorAll(":scope > .here")].map((tray) => [tray.dataset.key, tray]));
  for (const row of within.values()) {
    if (!row.key || had.delete(row.key)) continue;
    const tray = place("a-tray").content.firstElementChild.cloneNode(true);
    tray.classList.add("here");
    Object.assign(tray.dataset, { key: row.key, tray: row.of });
    write(tray.querySelector("[data-named]"), row.of);
    tray.querySelector("[data-since]").dataset.since = row.at;
    const left = tray.querySelector(".left");
    if (left) Object.assign(left.dataset, { from: row.at, rings: row.key });
    tray.querySelector("[name=of]").value = row.of;
    list.append(tray);
  }
  for (const tray of had.values()) tray.remove();
  return within;
}

/** The pull that is up: the next one once the mass after is told. */
function pulls(rows) {
  const up = document.querySelector("[data-pull]");
  if (!up) return;
  let pull = up.dataset.pull;
  while (rows.some((r) => r.what === "mass-after" && r.of === pull) && Number.isInteger(Number(pull))) pull = String(Number(pull) + 1);
  write(up, pull);
  each("form[data-which=pull] input[type=hidden][name=of]", (of) => { if (!of.form.matches(".strike")) of.value = pull; });
}

/** The dough that stands. */
function stands(rows) {
  const block = document.querySelector(".standing");
  if (!block) return;
  let now = block.dataset.from ? { at: block.dataset.from, key: block.dataset.rings } : null;
  for (const row of rows) {
    if (row.what === "stand-begun") now = row;
    if (row.what === "stand") now = null;
  }
  block.querySelector(".to-stand").hidden = !!now;
  block.querySelector("[data-stood]").hidden = !now;
  const since = block.querySelector("[data-since]");
  since.dataset.since = now?.at ?? "";
  if (!now) write(since, "–");
  Object.assign(block.querySelector(".left").dataset, { from: now?.at ?? "", rings: now?.key ?? "" });
}

/** Which material somebody touched, to weigh that one next. */
let picked;

/** The weigh list, and the material that is up: the one touched, else the first that isn't weighed. */
function weighing(rows) {
  const table = document.querySelector(".to-weigh");
  if (!table) return;
  const units = JSON.parse(table.dataset.units);
  const lines = [...table.tBodies[0].rows];
  let total = 0;
  for (const line of lines) {
    const cell = line.querySelector(".weighed");
    const last = rows.findLast((r) => r.what === "weighed" && r.of === line.dataset.material);
    const kg = last ? Number(last.value) * (units[last.unit] ?? 1) : cell.dataset.weighed;
    line.done = kg !== undefined;
    total += Number(kg ?? 0);
    write(cell, line.done ? marked(Number(kg).toFixed(3)) : "–");
  }
  write(table.querySelector("[data-sum-weighed]"), marked(total.toFixed(3)));
  const current = lines.find((line) => line.hasAttribute("aria-current"));
  const waits = (line) => rows.some((r) => r.what === "weighed" && r.of === line?.dataset.material);
  const up = lines.find((line) => line.dataset.material === picked) ?? (waits(current) ? lines.find((line) => !line.done) : current);
  if (!up || up === current) return;
  current?.removeAttribute("aria-current");
  up.setAttribute("aria-current", "true");
  for (const [word, label] of [["weighed", up.dataset.label], ["lot", up.dataset.lotLabel]]) {
    const form = document.querySelector(`form[data-enter=${word}]:not(.strike)`);
    const of = form?.elements.of;
    if (of?.type !== "hidden") continue;
    of.value = up.dataset.material;
    form.dataset.label = label;
    write(form.querySelector("[data-called]"), label);
    if (form.elements.unit) form.elements.unit.value = up.dataset.unit;
    form.querySelector("datalist")?.replaceChildren(...JSON.parse(up.dataset.lots).map((lot) => Object.assign(document.createElement("option"), { value: lot })));
  }
}

/** What speaks against a row, in the words that the page brought along; nothing where nothing does. */
function doubtOf(form, row) {
  const words = JSON.parse(bench().dataset.doubts ?? "{}");
  const tell = (word, given = {}) => Object.entries(given).reduce((text, [name, value]) => text.replaceAll(`{${name}}`, value), words[word]);
  const { sums: told, right, within } = standing;
  if (row.what === "dose" && right) return tell("after-right");
  if (row.what === "lot") {
    const known = [...(form.querySelector("datalist")?.options ?? [])].map((o) => o.value);
    if (known.length && !known.some((lot) => lot.toLowerCase() === row.value.toLowerCase())) return tell("lot-unknown", { lot: row.value, known: known.join(", ") });
  }
  if (row.what === "oven-in" && within.has(row.of)) return tell("is-in", { tray: row.of });
  if (row.what === "oven-out") {
    const at = within.get(row.of)?.at;
    if (at && Date.parse(row.at) < Date.parse(at)) return tell("before-in", { tray: row.of, entered: new Date(at).toLocaleTimeString() });
  }
  if (row.what in told && row.what.startsWith("cut")) {
    const more = Number(row.value);
    if ((told[row.what] ?? 0) + more < 0) return tell("below-nothing");
    const sum = told["cut-whole"] + told["cut-broken"] + told["cut-stuck"] + more;
    if (row.what !== "cut" && more > 0 && told.cut !== null && sum > told.cut) return tell("beyond-cut", { told: sum, cut: told.cut });
  }
  return "";
}
