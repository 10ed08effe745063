// Pasting into the study sheet: amounts alone go into the cells from one on, a list goes where its names belong. The
// program reads what is pasted; what it can't be sure of is looked at before anything is taken.

import { about, field, find, must, need } from "./dom.js";
import { say } from "./live.js";
import { grid, placeOf, text, typable } from "./sheet-keys.js";

/** @typedef {{ rows: string[][] }} Reading A way in which a block can be read: amounts by rows. */

/**
 * What the program makes of a block: the ways to read it, the question which, what couldn't be done, what was done otherwise.
 * @typedef {{ readings?: Reading[], which?: string | null, said?: string | null, note?: string | null }} Pasted
 */

/**
 * What the sheet does when something is pasted.
 * @typedef {object} Deeds
 * @property {(block: string, from: string) => Promise<Pasted | null>} read
 * @property {(fields: Record<string, FormDataEntryValue>) => Promise<Pasted | null>} take
 * @property {(name: string) => HTMLInputElement | undefined} cellNamed
 * @property {(cell: HTMLInputElement) => void} typed
 * @property {(words: string) => void} tell
 */

/** @type {Deeds} */
let deeds;

const dialog = () => need(HTMLElement, "#paste");

/**
 * A single number is pasted as the browser does it.
 * @param {ClipboardEvent} event
 */
async function paste(event) {
  const here = typable(document.activeElement);
  if (!here?.matches("#sheet [data-cell]")) return;
  const raw = event.clipboardData?.getData("text/plain") ?? "";
  const other = need(HTMLElement, "#sheet").dataset.decimal === "." ? "," : ".";
  if (!/[\t\n\r;]/.test(raw.trim()) && !raw.includes(other) && !/\p{L}/u.test(raw)) return;
  event.preventDefault();
  await pasted(raw, must(here.dataset.cell, "name of a cell"));
}

/**
 * Reads a block and lays it from a cell on, or shows what it may be.
 * @param {string} raw
 * @param {string} name
 */
async function pasted(raw, name) {
  need(HTMLElement, ".paste-in .word-back", dialog()).textContent = "";
  const answer = await deeds.read(raw, name.split(":")[1]);
  // The sheet may have been drawn anew.
  const box = dialog();
  if (answer?.said) { if (box.matches(":popover-open")) { need(Element, ".paste-in .word-back", box).textContent = answer.said; } return; }
  const readings = answer?.readings ?? [];
  if (!answer?.which && !readings.length) return;
  const lays = (/** @type {Reading} */ reading) => { box.hidePopover(); lay(name, reading.rows); };
  if (!answer?.which) { lays(readings[0]); return; }
  const asked = need(Element, ".asked", box);
  box.classList.add("chooses");
  asked.innerHTML = answer.which;
  box.onclick = ({ target }) => {
    const button = about(target, HTMLElement, "[data-do=paste]");
    if (!button) return;
    box.hidePopover();
    if (button.dataset.reading) lays(readings[Number(button.dataset.reading)]);
  };
  box.ontoggle = (event) => {
    if (!(event instanceof ToggleEvent) || event.newState !== "closed") return;
    box.classList.remove("chooses");
    asked.replaceChildren();
  };
  // Who writes another material means it.
  box.oninput = ({ target }) => {
    if (!(target instanceof Element) || !target.getAttribute("name")?.startsWith("other.")) return;
    need(HTMLInputElement, "[type=radio]", must(target.closest("label"), "label")).checked = true;
  };
  if (!box.matches(":popover-open")) box.showPopover();
  find(HTMLElement, ":is(input:not([type=hidden]), select, [data-do=paste])", asked)?.focus();
}

/**
 * The forms of the dialog: what is to be read, and what is taken as it was chosen.
 * @param {SubmitEvent} event
 */
async function pasteForms(event) {
  const form = about(event.target, HTMLFormElement, "form");
  if (!form) return;
  if (form.matches("#paste .paste-in")) {
    event.preventDefault();
    const first = find(HTMLElement, "#sheet [data-cell]");
    const name = (grid.last && deeds.cellNamed(grid.last) ? grid.last : null) ?? first?.dataset.cell;
    if (name) await pasted(must(field(form, "block"), "field for the block").value, name);
    return;
  }
  if (!form.matches("#paste .names")) return;
  event.preventDefault();
  const answer = await deeds.take(Object.fromEntries(new FormData(form)));
  const words = need(Element, ".word-back", form);
  if (!answer) { words.textContent = "The program doesn’t answer; nothing was pasted. Try again."; return; }
  if (answer.said) { if (words.isConnected) { words.textContent = answer.said; say(""); } return; }
  const box = dialog();
  if (box.matches(":popover-open")) box.hidePopover();
  find(HTMLFormElement, ".paste-in")?.reset();
  if (answer.note) deeds.tell(answer.note);
}

/**
 * Amounts into the cells from one on; what finds no cell is told.
 * @param {string} name
 * @param {string[][]} rows
 */
function lay(name, rows) {
  const here = deeds.cellNamed(name);
  const at = here && placeOf(here);
  if (!at) return;
  /** @type {string[]} */
  const left = [];
  rows.forEach((row, dr) => row.forEach((value, dc) => {
    const place = at.rows[at.r + dr]?.[at.c + dc];
    const cell = typable(place);
    if (!cell) { if (value && !(place && text(place) === value)) left.push(value); return; }
    if (cell.value === value) return;
    cell.value = value;
    deeds.typed(cell);
  }));
  grid.editing = null;
  here.focus();
  if (left.length) deeds.tell(`${left.slice(0, 6).join(" · ")}${left.length > 6 ? " …" : ""} found no cell that can be typed in; the other amounts are in.`);
}

/**
 * Listens; `given` is what the sheet does when something is pasted.
 * @param {Deeds} given
 */
export function listenToPastes(given) {
  deeds = given;
  document.addEventListener("paste", paste);
  document.addEventListener("submit", pasteForms, true);
}
