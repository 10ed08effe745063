// The outbox: what waits is sent in its order until the book has it.

/** Rows sent at once. */
const AT_ONCE = 100;
/** Between two tries, ms: the first pause, and the longest. */
const FIRST_PAUSE = 500;
const LONGEST_PAUSE = 15_000;
/** How long an answer is waited for, ms. */
const PATIENCE = 20_000;
/** How often it is looked whether others wrote to this batch, ms. */
const LOOK_AROUND = 15_000;

let trouble = "";
let pause = FIRST_PAUSE;
let timer;
let sending = false;
let more = false;
/** Whether the book has rows that this page doesn't show yet. */
let due = false;

/** When this page was kept, where it is one that was kept. */
const keptAt = () => document.documentElement.dataset.kept;

/** One window at a time sends, so that the order holds. */
const alone = (deed) => (navigator.locks ? navigator.locks.request("hardtack-bench", deed) : deed());

async function sendAll() {
  clearTimeout(timer);
  if (sending) { more = true; return; }
  sending = true;
  try {
    while (await alone(sendSome)) { due = true; pause = FIRST_PAUSE; }
    trouble = "";
    // What the book has is shown as the book tells it, and until then as it lies here.
    if (due || keptAt()) { await show(); await renew(); }
    due = false;
  } catch (error) {
    trouble = `${error.message} It is tried again.`;
    timer = setTimeout(sendAll, pause);
    pause = Math.min(2 * pause, LONGEST_PAUSE);
  }
  sending = false;
  await show();
  if (more) { more = false; sendAll(); }
}

const unreached = () => { throw new Error("The program can’t be reached."); };

async function answered(address, content) {
  const response = await fetch(address, { method: "POST", ...content, signal: AbortSignal.timeout?.(PATIENCE) }).catch(unreached);
  if (response.redirected || response.status === 401 || response.status === 403) throw new Error("This device isn’t let in; pair it again.");
  return response;
}

/** Sends the oldest rows; tells whether the book answered to any. */
async function sendSome() {
  const some = (await all()).filter((i) => !i.refused && !i.sent).slice(0, AT_ONCE);
  if (!some.length) return false;
  // A photograph goes before its row, and its row after those before it.
  const picture = some.findIndex((i) => i.pictured);
  if (picture === 0) return sendPicture(some[0]);
  if (picture > 0) some.length = picture;
  const response = await answered("/bench/entries", {
    headers: { "content-type": "application/json", accept: "application/json" },
    body: JSON.stringify(some.map((i) => i.row)),
  });
  if (!response.ok) throw new Error((await response.json().catch(() => null))?.what ?? "The program can’t take them now.");
  const told = new Map((await response.json()).map((t) => [t.key, t]));
  if (!some.some((i) => told.has(i.row.key))) throw new Error("The program’s answer can’t be read.");
  const kept = some.filter((i) => ["kept", "kept-already"].includes(told.get(i.row.key)?.state));
  await sent(kept, new Map(kept.map((i) => [i.row.key, told.get(i.row.key).id])));
  for (const item of some) {
    const answer = told.get(item.row.key);
    if (answer?.state === "refused") await put({ ...item, refused: answer.way_out });
  }
  return true;
}

async function sendPicture({ pictured, ...item }) {
  const body = await pictureOf(item.row.key);
  const response = await answered("/bench/picture", { headers: { "content-type": "image/jpeg", accept: "application/json" }, body });
  const answer = await response.json().catch(() => null);
  if (response.ok && answer?.hash) await put({ ...item, row: { ...item.row, value: answer.hash } });
  else if (response.status >= 500 || !answer) throw new Error(answer?.what ?? "The program can’t take the photograph now.");
  else await put({ ...item, pictured, refused: [answer.what, answer.way_out].filter(Boolean).join(" ") });
  return true;
}

/** Whether a finger is on the screen: what it is on stays until it is off. */
let pressed = false;
document.addEventListener("pointerdown", () => { pressed = true; }, true);
for (const over of ["pointerup", "pointercancel"]) document.addEventListener(over, () => setTimeout(() => { pressed = false; }), true);
async function untilOff() {
  for (const began = Date.now(); pressed && Date.now() - began < 2_000;) await new Promise((done) => setTimeout(done, 10));
}

/** Puts what the book has now in place of what stands here, and leaves what is being typed. */
async function renew() {
  const response = await fetch(location.href, { headers: { accept: "text/html" } }).catch(unreached);
  if (response.status >= 500) throw new Error("The program can’t show this page now.");
  if (!response.ok || response.redirected) return;
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  await untilOff();
  const fresh = page.getElementById("bench");
  const old = bench();
  if (!fresh || !old || fresh.dataset.thing !== old.dataset.thing) return;
  const name = (form) => [form.dataset.enter, form.dataset.label, form.elements.of?.type === "hidden" ? form.elements.of.value : "", form.elements.strikes?.value ?? ""].join("\n");
  const forms = new Map([...fresh.querySelectorAll("form[data-enter]")].map((f) => [name(f), f]));
  const focused = document.activeElement;
  let focus;
  for (const form of old.querySelectorAll("form[data-enter]")) {
    const to = forms.get(name(form));
    if (!to) continue;
    for (const field of form.elements) {
      const same = field.name && !["hidden", "file"].includes(field.type) && to.elements[field.name];
      if (!same || field.tagName === "BUTTON") continue;
      if (field.tagName === "SELECT" || (field.value !== field.defaultValue && field.value !== field.dataset.filled)) same.value = field.value;
      if (field === focused) focus = same;
    }
    const [why, freshWhy] = [form.querySelector(".why"), to.querySelector(".why")];
    if (why && freshWhy) freshWhy.hidden = why.hidden;
    if (form.dataset.tapped) to.dataset.tapped = form.dataset.tapped;
    to.querySelector(":scope > .wrong")?.replaceChildren(...(form.querySelector(":scope > .wrong")?.childNodes ?? []));
    if (form.closest("details")?.open && to.closest("details")) to.closest("details").open = true;
  }
  // What is told of waiting stays the same place for who listens, and a photograph that is chosen stays chosen.
  for (const css of [".outbox", "#pending", ".camera", ".rings", ".standing .line"]) {
    const stays = old.querySelector(css);
    if (stays?.contains(focused)) focus = focused;
    if (stays) fresh.querySelector(css)?.replaceWith(stays);
  }
  old.replaceWith(fresh);
  delete document.documentElement.dataset.kept;
  focus?.focus();
}

/** Whether others wrote to this batch meanwhile. */
async function lookAround() {
  if (document.visibilityState !== "visible" || sending || !here().thing || keptAt()) return;
  const address = `/bench/entries?kind=batch&thing=${encodeURIComponent(here().thing)}&after=${here().last}`;
  const since = await fetch(address, { headers: { accept: "application/json" } }).then((r) => r.json()).catch(() => null);
  if (since?.entries?.length) { due = true; sendAll(); }
}
setInterval(lookAround, LOOK_AROUND);
