// What is entered at the bench, and what is told of it.

const count = (n, one, many) => `${n} ${n === 1 ? one : many}`;
const hour = (moment) => new Date(moment).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });

async function show() {
  const items = await all();
  const refused = items.filter((i) => i.refused);
  const waiting = items.filter((i) => !i.refused && !i.sent);
  write(place("waits"), waiting.length ? `${count(waiting.length, "entry waits", "entries wait")} on this device. ${trouble}` : "All entries are in the book.");
  place("as-file").hidden = !waiting.length && !refused.length;
  place("again").hidden = place("bring").hidden = !refused.length;
  place("refused").replaceChildren(...refused.map((i) => line(i, `not taken: ${i.refused}`)));
  const kept = keptAt();
  place("as-it-was").hidden = !kept;
  write(place("as-it-was"), kept ? `This page is the one kept on this device at ${hour(kept)}; the program doesn’t answer. What you enter is kept here.` : "");
  const list = place("pending");
  if (!list) return;
  const mine = beyondPage(items);
  const words = new Set([...document.querySelectorAll("[data-enter]")].map((f) => f.dataset.enter));
  settle(list, mine.filter((i) => words.has(i.row.what)).reverse());
  over(mine);
  // What is signed is what the book has.
  each("form[data-last] button", (button) => { button.disabled = mine.length > 0; });
  rings();
  tick();
}

/** Puts rows into a list and leaves those that stand there where they are: somebody may be typing in one. */
function settle(list, items) {
  const had = new Map([...list.children].map((li) => [li.dataset.key, li]));
  const lines = items.map((item) => {
    const state = item.sent ? "in the book" : "kept here, waits";
    const li = had.get(item.row.key) ?? line(item, state, true);
    write(li.querySelector(".state"), state);
    return li;
  });
  for (const li of had.values()) if (!lines.includes(li)) li.remove();
  for (const [nth, li] of lines.entries()) if (list.children[nth] !== li) list.insertBefore(li, list.children[nth] ?? null);
}

/** A row as it is told while it lies here. */
function line(item, state, strikable) {
  const li = document.createElement("li");
  li.className = "waits-here";
  li.dataset.key = item.row.key;
  const { of, on, value, unit } = item.row;
  const words = document.createElement("b");
  words.textContent = [item.label, of && !item.label.includes(of) && !item.row.strikes ? of : "", on, item.moment ? "" : value, unit].filter(Boolean).join(" ");
  const time = document.createElement("span");
  time.className = "timer";
  const since = document.createElement("span");
  since.dataset.since = item.row.at;
  const told = Object.assign(document.createElement("span"), { className: "state", textContent: state });
  time.append(` ${hour(item.row.at)}, ${item.row.who}, `, told, ", ", since, " ago");
  li.append(words, time);
  if (item.thumb) li.append(Object.assign(new Image(), { src: item.thumb, alt: "photograph that waits" }));
  if (strikable && (value || item.pictured) && !item.row.strikes && place("a-strike")) li.append(strikeOf(item));
  return li;
}

/** The way to strike a row through that the page doesn't have yet. */
function strikeOf({ row, label, moment }) {
  const details = document.createElement("details");
  const summary = document.createElement("summary");
  summary.textContent = "Strike through";
  details.append(summary, place("a-strike").content.cloneNode(true));
  const form = details.querySelector("form");
  form.dataset.enter = row.what;
  form.dataset.label = `strikes ‘${[label, moment ? "" : row.value].filter(Boolean).join(" ")}’ through`;
  for (const [name, value] of Object.entries({ what: row.what, strikes: row.key, of: row.of, on: row.on, unit: row.unit })) form.querySelector(`[name=${name}]`).value = value ?? "";
  if (moment) form.querySelector(".right-value").remove();
  return details;
}

/** The number that was typed, in plain form; nothing where it is none. */
function plain(text) {
  const point = here().decimal === "," ? text.trim().replace(",", ".") : text.trim();
  return /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(point) ? point.replace(/^\+/, "") : null;
}

/** Why a number is asked for once more; nothing where it is plausible. */
function beyond(form, value) {
  const limits = form.elements.unit?.selectedOptions?.[0] ?? form.querySelector("[data-low]");
  const [low, high] = [Number(limits?.dataset.low), Number(limits?.dataset.high)];
  if (!(Number(value) < low || Number(value) > high)) return "";
  const reach = (n) => (Math.abs(n) > 1e300 ? "…" : String(Number(n.toPrecision(6))));
  return `${value} lies beyond ${reach(low)} to ${reach(high)}. If it is so, say why, and it is kept with a mark.`;
}

document.addEventListener("submit", async (event) => {
  const form = event.target.closest?.("form[data-enter]");
  if (!form) return;
  event.preventDefault();
  if (form.matches(".camera")) return;
  if ("stood" in form.dataset) form.elements.value.value = ((Date.now() - Date.parse(document.querySelector(".standing [data-since]").dataset.since)) / 60_000).toFixed(1);
  const data = Object.fromEntries([...new FormData(form, event.submitter)].map(([k, v]) => [k, v.trim()]));
  const wrong = form.querySelector(":scope > .wrong");
  const tell = (text) => { if (wrong) wrong.textContent = text; };
  /** Asks for a reason, and holds what was tapped until there is one. */
  const ask = (text) => {
    const why = form.querySelector(".why");
    why.hidden = false;
    form.dataset.tapped = event.submitter?.name === "value" ? event.submitter.value : "";
    why.querySelector("input").focus();
    tell(text);
  };
  const moment = form.elements.value?.type === "hidden" && !("stood" in form.dataset);
  const number = form.elements.value?.inputMode === "decimal" || event.submitter?.name === "value" || "stood" in form.dataset;
  // A reason that is sent by the key Enter belongs to what was tapped, not to the first button.
  if (data.why && form.dataset.tapped) data.value = form.dataset.tapped;
  if (number && !data.strikes) {
    const value = plain(data.value);
    if (value === null) return tell(`‘${data.value}’ isn’t a number. Write it in figures.`);
    data.value = value;
  }
  const { what, of, on, value, unit, strikes, why } = data;
  const row = { key: newKey(), kind: "batch", thing: here().thing, at: new Date().toISOString(), who: here().who, what };
  for (const [name, text] of Object.entries({ of, on, value: strikes && value ? plain(value) ?? value : value, unit: value ? unit : "", strikes, why })) if (text) row[name] = text;
  if (!strikes && !why && form.querySelector(".why")) {
    const doubt = (number && beyond(form, value)) || doubtOf(form, row);
    if (doubt) return ask(doubt);
  }
  try {
    await put({ row, label: form.dataset.label, moment });
  } catch (error) {
    return tell(`This device can’t store it (${error?.message ?? "its storage is closed"}). It stays in the field; write it down.`);
  }
  tell("");
  delete form.dataset.tapped;
  if (what === "weighed") picked = undefined;
  for (const field of form.elements) {
    if (["value", "why"].includes(field.name) && field.type !== "hidden" && field.tagName !== "BUTTON") field.value = "";
    if (field.dataset.nextOf) field.value = field.dataset.filled ?? field.defaultValue;
  }
  const asked = form.querySelector(".why");
  if (asked) asked.hidden = true;
  const details = form.closest("details");
  if (details) details.open = false;
  await show();
  navigator.storage?.persist?.();
  pause = FIRST_PAUSE;
  sendAll();
});

/** Bytes as text that a file of words can hold. */
const asText = (bytes) => new Promise((done) => {
  const reader = new FileReader();
  reader.onload = () => done(reader.result.split(",")[1]);
  reader.readAsDataURL(new Blob([bytes]));
});

/** Everything that waits, with the bytes of its photographs. */
async function asFile() {
  const rows = [];
  for (const { row, pictured } of (await all()).filter((i) => !i.sent)) {
    const picture = pictured && (await pictureOf(row.key));
    rows.push(picture ? { ...row, picture: await asText(picture) } : row);
  }
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([JSON.stringify(rows, null, 1)], { type: "application/json" }));
  link.download = `bench-entries-${new Date().toISOString().slice(0, 19).replaceAll(":", "")}.json`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

document.addEventListener("click", async (event) => {
  if (event.target.id === "again") {
    for (const { refused, ...item } of await all()) if (refused) await put(item);
    sendAll();
  }
  if (event.target.id === "as-file") asFile();
  const material = event.target.closest?.(".to-weigh a")?.closest("tr").dataset.material;
  if (material) {
    event.preventDefault();
    picked = material;
    await show();
    document.querySelector("form[data-enter=weighed] input[name=value]")?.focus();
  }
});

/** Keeps this page on the device, and those that are opened next: a batch's stations, a day's batches. */
async function keepPages() {
  if (!navigator.serviceWorker) return;
  await navigator.serviceWorker.register("/bench/worker.js", { scope: "/bench" });
  const { active } = await navigator.serviceWorker.ready;
  const ways = (css) => [...document.querySelectorAll(css)].map((a) => a.pathname);
  const stations = (here().stations ?? "").split(" ").filter(Boolean);
  const ahead = ways(".of-trial > .batches a").flatMap((batch) => stations.map((station) => `${batch}/${station}`));
  active?.postMessage({ keep: [location.pathname + location.search, ...ways(".stations a"), ...ahead, ...ways(".of-batch a")] });
}

document.addEventListener("visibilitychange", () => { awake(); if (document.visibilityState === "visible") sendAll(); });
addEventListener("online", () => { pause = FIRST_PAUSE; sendAll(); });
addEventListener("pageshow", () => { show(); });
awake();
show().then(sendAll).then(letGo).catch(() => { place("waits").textContent = "This browser can’t store anything on the device; entries are sent at once instead, and need the connection."; });
if (!keptAt()) keepPages().catch(() => {});
document.documentElement.classList.add("live");
