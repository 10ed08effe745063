// Keys, selection and copying of the study sheet.

import { about, every, find } from "./dom.js";

/** @typedef {HTMLElement} Cell An input, or the amount that follows from others. */

/**
 * What the sheet does when a key asks for it.
 * @typedef {object} Deeds
 * @property {(cell: HTMLInputElement, now?: boolean) => void} typed
 * @property {() => void} flush
 * @property {(act: "undo" | "redo") => void} step
 * @property {WeakMap<HTMLInputElement, string>} known
 * @property {() => Promise<void>} settled
 * @property {(cell: HTMLInputElement) => boolean} waits
 */

/**
 * The cell that is being typed in, if any; what stood in the cell before; the other end of a selection; the name of the
 * cell where somebody was last.
 * @type {{ editing: HTMLInputElement | null, before: { name: string | undefined, text: string } | null, anchor: Cell | null, last: string | null }}
 */
export const grid = { editing: null, before: null, anchor: null, last: null };
/** @type {Deeds} */
let deeds;

const CELL = "#sheet [data-cell], #sheet [data-told]";

/**
 * A cell that can be typed in; nothing where it is another.
 * @param {unknown} cell
 */
export const typable = (cell) => (cell instanceof HTMLInputElement && cell.dataset.cell ? cell : null);

/**
 * The cell that somebody is in, of the sheet that is on the page.
 * @param {EventTarget | null} target
 */
const cellOf = (target) => (target instanceof HTMLElement && target.matches(CELL) ? target : null);

/** Every row of cells from top to bottom: inputs, and amounts that follow. */
export function cellsOf() {
  return every(HTMLTableRowElement, "#sheet tr[data-row]:not([hidden])").map((row) => every(HTMLElement, "[data-cell], [data-told]", row));
}

/** @param {Cell} cell */
export function placeOf(cell) {
  const rows = cellsOf();
  const r = rows.findIndex((row) => row.includes(cell));
  return r < 0 ? null : { rows, r, c: rows[r].indexOf(cell) };
}

/**
 * Goes from a cell to another; tells whether there is one.
 * @param {Cell} cell
 * @param {number} down
 * @param {number} right
 * @param {boolean} [extend]
 */
function go(cell, down, right, extend = false) {
  const at = placeOf(cell);
  const next = at?.rows[at.r + down]?.[at.c + right];
  if (!next) return false;
  if (!extend) clearSelection();
  next.focus();
  if (next instanceof HTMLInputElement) next.select();
  next.scrollIntoView({ block: "nearest", inline: "nearest" });
  if (extend) paint(grid.anchor ??= cell, next);
  return true;
}

/**
 * The cells between two, by rows.
 * @param {Cell} a
 * @param {Cell} b
 */
function range(a, b) {
  const [from, to] = [placeOf(a), placeOf(b)];
  if (!from || !to) return [];
  const [r0, r1] = [Math.min(from.r, to.r), Math.max(from.r, to.r)];
  const [c0, c1] = [Math.min(from.c, to.c), Math.max(from.c, to.c)];
  return from.rows.slice(r0, r1 + 1).map((row) => row.slice(c0, c1 + 1));
}

/**
 * Marks the cells between two.
 * @param {Cell} a
 * @param {Cell} b
 */
function paint(a, b) {
  for (const cell of document.querySelectorAll("#sheet .chosen")) cell.classList.remove("chosen");
  for (const cell of range(a, b).flat()) cell.parentElement?.classList.add("chosen");
}

/** Nothing is marked any more. */
export function clearSelection() {
  grid.anchor = null;
  for (const cell of document.querySelectorAll("#sheet .chosen")) cell.classList.remove("chosen");
}

/**
 * What stands in a cell.
 * @param {Cell} cell
 */
export const text = (cell) => (cell instanceof HTMLInputElement ? cell.value : (cell.textContent ?? "").trim().replace("–", ""));

/**
 * A figure that was marked goes along with its unit, as 14.5 min.
 * @param {ClipboardEvent} event
 */
function withUnit(event) {
  const marked = getSelection();
  const words = marked?.toString().trim() ?? "";
  const cell = marked?.anchorNode?.parentElement?.closest(".figure-row td.figure, .strip td.figure");
  if (!words || !cell?.contains(marked?.focusNode ?? null)) return;
  const unit = cell.parentElement?.querySelector(".row-head .unit")?.textContent.replace(/^[,\s]+/, "").trim();
  event.clipboardData?.setData("text/plain", unit ? `${words} ${unit}` : words);
  event.preventDefault();
}

/**
 * The cells that are marked go to the clipboard.
 * @param {ClipboardEvent} event
 * @param {boolean} cut
 */
function copy(event, cut) {
  const here = cellOf(document.activeElement);
  if (!here || !grid.anchor) {
    if (!cut && !document.activeElement?.matches("input, textarea")) withUnit(event);
    return;
  }
  const cells = range(grid.anchor, here);
  event.clipboardData?.setData("text/plain", cells.map((row) => row.map(text).join("\t")).join("\n"));
  event.preventDefault();
  if (cut) empty(cells.flat());
}

/** @param {Cell[]} cells */
function empty(cells) {
  for (const cell of cells.map(typable)) if (cell) { cell.value = ""; deeds.typed(cell); }
}

/** @type {(cell: HTMLInputElement, end: boolean) => boolean} */
const caretAt = (cell, end) =>
  cell.selectionStart === cell.selectionEnd && cell.selectionStart === (end ? cell.value.length : 0);

/** @param {KeyboardEvent} event */
function key(event) {
  const sheet = document.getElementById("sheet");
  if (!sheet) return;
  const control = event.ctrlKey || event.metaKey;
  const letter = event.key.toLowerCase();
  const cell = cellOf(event.target);
  const typing = typable(cell);
  const field = event.target instanceof Element && event.target.matches("textarea, input, select") && !cell;
  if (control && letter === "s") {
    event.preventDefault();
    deeds.settled().then(() => find(HTMLElement, "#study [name=why]")?.focus());
    return;
  }
  if (control && !event.altKey && !field && (letter === "z" || letter === "y")) {
    event.preventDefault();
    event.stopPropagation();
    if (typing && deeds.waits(typing)) { restore(typing); return; }
    deeds.step(letter === "y" || event.shiftKey ? "redo" : "undo");
    return;
  }
  if (event.key === "F1" || (event.key === "?" && !field && !(cell && grid.editing === cell))) {
    event.preventDefault();
    document.getElementById("keys")?.togglePopover();
    return;
  }
  if (!cell || control) return;
  const editing = grid.editing === cell;
  /** @type {(down: number, right: number, extend?: boolean) => void} */
  const move = (down, right, extend) => { if (go(cell, down, right, extend)) event.preventDefault(); };
  switch (event.key) {
    case "Enter":
      event.preventDefault();
      if (event.altKey) { (event.shiftKey ? rowButton(cell) : treatmentButton(cell))?.click(); return; }
      grid.editing = null;
      // Sent before the next cell is shown: the program works meanwhile.
      if (typing) { deeds.typed(typing, true); deeds.flush(); }
      go(cell, event.shiftKey ? -1 : 1, 0);
      return;
    case "Escape": if (typing) restore(typing); clearSelection(); return;
    case "F2": event.preventDefault(); if (typing) { grid.editing = typing; typing.setSelectionRange(typing.value.length, typing.value.length); } return;
    case "ArrowDown": move(1, 0, event.shiftKey); return;
    case "ArrowUp": move(-1, 0, event.shiftKey); return;
    case "ArrowRight": if (!editing || (typing && caretAt(typing, true) && !event.shiftKey)) move(0, 1, event.shiftKey && !editing); return;
    case "ArrowLeft": if (!editing || (typing && caretAt(typing, false) && !event.shiftKey)) move(0, -1, event.shiftKey && !editing); return;
    case "Delete": case "Backspace":
      if (grid.anchor) {
        event.preventDefault();
        empty(range(grid.anchor, cell).flat());
      }
      return;
    case "Home": if (!editing) move(0, -99); return;
    default:
  }
}

/**
 * What stood in a cell when a person came to it: a number may be in the draft before it is meant.
 * @param {HTMLInputElement} cell
 */
function stood(cell) {
  return grid.before && grid.before.name === cell.dataset.cell ? grid.before.text : deeds.known.get(cell) ?? cell.defaultValue;
}

/** @param {HTMLInputElement} cell */
function restore(cell) {
  cell.value = stood(cell);
  grid.editing = null;
  deeds.typed(cell, true);
  cell.select();
}

/** @param {Cell} cell */
const treatmentButton = (cell) => every(HTMLElement, "#sheet thead .name")[placeOf(cell)?.c ?? -1];
/** @param {Cell} cell */
const rowButton = (cell) => find(HTMLElement, ".row-head .name", cell.closest("tr"));

/**
 * Listens; `given` is what the sheet does when a key asks for it.
 * @param {Deeds} given
 */
export function listenToKeys(given) {
  deeds = given;
  document.addEventListener("keydown", key, true);
  document.addEventListener("copy", (e) => copy(e, false));
  document.addEventListener("cut", (e) => copy(e, true));
  document.addEventListener("focusin", ({ target }) => {
    const cell = typable(cellOf(target));
    if (!cell) return;
    grid.last = cell.dataset.cell ?? null;
    if (grid.before?.name !== cell.dataset.cell) grid.before = { name: cell.dataset.cell, text: cell.value };
    if (grid.editing !== cell) cell.select();
  });
  document.addEventListener("focusout", ({ target }) => { if (target instanceof Node && target.isConnected) grid.before = null; });
  document.addEventListener("pointerdown", (event) => {
    const cell = about(event.target, HTMLElement, CELL);
    if (!cell) { clearSelection(); return; }
    const here = cellOf(document.activeElement);
    if (event.shiftKey && here) {
      event.preventDefault();
      grid.anchor ??= here;
      cell.focus();
      paint(grid.anchor, cell);
    } else clearSelection();
  });
  document.addEventListener("dblclick", ({ target }) => {
    const cell = typable(about(target, HTMLElement, "#sheet [data-cell]"));
    if (cell) grid.editing = cell;
  });
}
