// What is entered at the bench.

import { about, every, field, find, isField, need } from "./dom.js";
import "./bench-camera.js";
import { awake } from "./bench-clocks.js";
import { doubtOf, pick } from "./bench-over.js";
import { sendAll, sendSoon } from "./bench-send.js";
import { show } from "./bench-show.js";
import { all, here, keptAt, letGo, newKey, pictureOf, put } from "./bench-store.js";

/**
 * The number that was typed, in plain form; nothing where it is none.
 * @param {string} text
 */
function plain(text) {
  const point = here().decimal === "," ? text.trim().replace(",", ".") : text.trim();
  return /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(point) ? point.replace(/^\+/, "") : null;
}

/**
 * Why a number is asked for once more; nothing where it is plausible.
 * @param {HTMLFormElement} form
 * @param {string | undefined} value
 */
function beyond(form, value) {
  const unit = field(form, "unit");
  const limits = (unit instanceof HTMLSelectElement ? unit.selectedOptions[0] : null) ?? find(HTMLElement, "[data-low]", form);
  const [low, high] = [Number(limits?.dataset.low), Number(limits?.dataset.high)];
  if (!(Number(value) < low || Number(value) > high)) return "";
  const reach = (/** @type {number} */ n) => (Math.abs(n) > 1e300 ? "…" : String(Number(n.toPrecision(6))));
  return `${value} lies beyond ${reach(low)} to ${reach(high)}. If it is so, say why, and it is kept with a mark.`;
}

document.addEventListener("submit", async (event) => {
  const form = about(event.target, HTMLFormElement, "form[data-enter]");
  if (!form) return;
  event.preventDefault();
  if (form.matches(".camera")) return;
  const asked = field(form, "value");
  if ("stood" in form.dataset && asked) asked.value = ((Date.now() - Date.parse(need(HTMLElement, ".standing [data-since]").dataset.since ?? "")) / 60_000).toFixed(1);
  /** @type {Record<string, string | undefined>} */
  const data = Object.fromEntries([...new FormData(form, event.submitter)].map(([k, v]) => [k, String(v).trim()]));
  const wrong = form.querySelector(":scope > .wrong");
  const tell = (/** @type {string} */ text) => { if (wrong) wrong.textContent = text; };
  const tapped = isField(event.submitter) && event.submitter.name === "value" ? event.submitter.value : null;
  /** Asks for a reason, and holds what was tapped until there is one. */
  const ask = (/** @type {string} */ text) => {
    const why = need(HTMLElement, ".why", form);
    why.hidden = false;
    form.dataset.tapped = tapped ?? "";
    need(HTMLInputElement, "input", why).focus();
    tell(text);
  };
  const moment = asked?.type === "hidden" && !("stood" in form.dataset);
  const number = asked?.inputMode === "decimal" || tapped !== null || "stood" in form.dataset;
  // A reason that is sent by the key Enter belongs to what was tapped, not to the first button.
  if (data.why && form.dataset.tapped) data.value = form.dataset.tapped;
  if (number && !data.strikes) {
    const value = plain(data.value ?? "");
    if (value === null) return tell(`‘${data.value}’ isn’t a number. Write it in figures.`);
    data.value = value;
  }
  const { what, of, on, value, unit, strikes, why } = data;
  /** @type {import("./bench-store.js").Row} */
  const row = { key: newKey(), kind: "batch", thing: here().thing, at: new Date().toISOString(), who: here().who, what };
  for (const [name, text] of Object.entries({ of, on, value: strikes && value ? plain(value) ?? value : value, unit: value ? unit : "", strikes, why })) if (text) Object.assign(row, { [name]: text });
  if (!strikes && !why && form.querySelector(".why")) {
    const doubt = (number && beyond(form, value)) || doubtOf(form, row);
    if (doubt) return ask(doubt);
  }
  try {
    await put({ row, label: form.dataset.label, moment });
  } catch (error) {
    return tell(`This device can’t store it (${error instanceof Error ? error.message : "its storage is closed"}). It stays in the field; write it down.`);
  }
  tell("");
  delete form.dataset.tapped;
  if (what === "weighed") pick(undefined);
  for (const field of form.elements) {
    if (!isField(field) || field instanceof HTMLButtonElement) continue;
    if (["value", "why"].includes(field.name) && field.type !== "hidden") field.value = "";
    if (field.dataset.nextOf && "defaultValue" in field) field.value = field.dataset.filled ?? field.defaultValue;
  }
  const reason = find(HTMLElement, ".why", form);
  if (reason) reason.hidden = true;
  const details = form.closest("details");
  if (details) details.open = false;
  await show();
  navigator.storage?.persist?.();
  sendSoon();
});

/**
 * Bytes as text that a file of words can hold.
 * @type {(bytes: ArrayBuffer) => Promise<string>}
 */
const asText = (bytes) => new Promise((done) => {
  const reader = new FileReader();
  reader.onload = () => done(String(reader.result).split(",")[1]);
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
  const { target } = event;
  if (!(target instanceof Element)) return;
  if (target.id === "again") {
    for (const { refused, ...item } of await all()) if (refused) await put(item);
    sendAll();
  }
  if (target.id === "as-file") asFile();
  const material = target.closest(".to-weigh a")?.closest("tr")?.dataset.material;
  if (material) {
    event.preventDefault();
    pick(material);
    await show();
    find(HTMLElement, "form[data-enter=weighed] input[name=value]")?.focus();
  }
});

/** Keeps this page on the device, and those that are opened next: a batch's stations, a day's batches. */
async function keepPages() {
  if (!navigator.serviceWorker) return;
  // Told at once, whether it is at work yet or not: whoever goes on to another page doesn't wait for it.
  const { active, installing, waiting } = await navigator.serviceWorker.register("/bench/worker.js", { scope: "/bench" });
  const ways = (/** @type {string} */ css) => every(HTMLAnchorElement, css).map((a) => a.pathname);
  const stations = (here().stations ?? "").split(" ").filter(Boolean);
  const ahead = ways(".of-trial > .batches a").flatMap((batch) => stations.map((station) => `${batch}/${station}`));
  (active ?? installing ?? waiting)?.postMessage({ keep: [location.pathname + location.search, ...ways(".stations a"), ...ahead, ...ways(".of-batch a")] });
}

document.addEventListener("visibilitychange", () => { awake(); if (document.visibilityState === "visible") sendAll(); });
addEventListener("online", sendSoon);
addEventListener("pageshow", () => { show(); });
awake();
show().then(sendAll).then(letGo).catch(() => { need(Element, "#waits").textContent = "This browser can’t store anything on the device; entries are sent at once instead, and need the connection."; });
if (!keptAt()) keepPages().catch(() => {});
document.documentElement.classList.add("live");
