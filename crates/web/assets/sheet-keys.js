// Keys, selection and copying of the study sheet.

/** The cell that is being typed in, if any; what stood in the cell before; the other end of a selection; the name of the
 * cell where somebody was last. */
const grid = { editing: null, before: null, anchor: null, last: null };
let deeds = {};

const CELL = "#sheet [data-cell], #sheet [data-told]";

/** Every row of cells from top to bottom: inputs, and amounts that follow. */
function cellsOf() {
  return [...document.querySelectorAll("#sheet tr[data-row]:not([hidden])")].map((row) => [...row.querySelectorAll("[data-cell], [data-told]")]);
}

function placeOf(cell) {
  const rows = cellsOf();
  const r = rows.findIndex((row) => row.includes(cell));
  return r < 0 ? null : { rows, r, c: rows[r].indexOf(cell) };
}

function go(cell, down, right, extend = false) {
  const at = placeOf(cell);
  const next = at?.rows[at.r + down]?.[at.c + right];
  if (!next) return false;
  if (extend) grid.anchor ??= cell;
  else clearSelection();
  next.focus();
  if (next.select) next.select();
  next.scrollIntoView({ block: "nearest", inline: "nearest" });
  if (extend) paint(grid.anchor, next);
  return true;
}

function range(a, b) {
  const [from, to] = [placeOf(a), placeOf(b)];
  if (!from || !to) return [];
  const [r0, r1] = [Math.min(from.r, to.r), Math.max(from.r, to.r)];
  const [c0, c1] = [Math.min(from.c, to.c), Math.max(from.c, to.c)];
  return from.rows.slice(r0, r1 + 1).map((row) => row.slice(c0, c1 + 1));
}

function paint(a, b) {
  for (const cell of document.querySelectorAll("#sheet .chosen")) cell.classList.remove("chosen");
  for (const cell of range(a, b).flat()) cell.parentElement.classList.add("chosen");
}

function clearSelection() {
  grid.anchor = null;
  for (const cell of document.querySelectorAll("#sheet .chosen")) cell.classList.remove("chosen");
}

function restored() { clearSelection(); }

const text = (cell) => cell.value ?? cell.textContent.trim().replace("–", "");

/** A figure that was marked goes along with its unit, as 14.5 min. */
function withUnit(event) {
  const marked = getSelection();
  const words = marked?.toString().trim() ?? "";
  const cell = marked?.anchorNode?.parentElement?.closest(".figure-row td.figure, .strip td.figure");
  if (!words || !cell?.contains(marked.focusNode)) return;
  const unit = cell.parentElement.querySelector(".row-head .unit")?.textContent.replace(/^[,\s]+/, "").trim();
  event.clipboardData.setData("text/plain", unit ? `${words} ${unit}` : words);
  event.preventDefault();
}

function copy(event, cut) {
  const here = document.activeElement;
  if (!here?.matches?.(CELL) || !grid.anchor) {
    if (!cut && !here?.matches?.("input, textarea")) withUnit(event);
    return;
  }
  const cells = range(grid.anchor, here);
  event.clipboardData.setData("text/plain", cells.map((row) => row.map(text).join("\t")).join("\n"));
  event.preventDefault();
  if (cut) for (const cell of cells.flat()) if (cell.dataset.cell) { cell.value = ""; deeds.typed(cell); }
}

const caretAt = (cell, end) =>
  cell.selectionStart === cell.selectionEnd && cell.selectionStart === (end ? cell.value.length : 0);

function key(event) {
  const sheet = document.getElementById("sheet");
  if (!sheet) return;
  const control = event.ctrlKey || event.metaKey;
  const letter = event.key.toLowerCase();
  const target = event.target;
  const cell = target.matches?.(CELL) ? target : null;
  const field = target.matches?.("textarea, input, select") && !cell;
  if (control && letter === "s") {
    event.preventDefault();
    deeds.settled().then(() => document.querySelector("#study [name=why]")?.focus());
    return;
  }
  if (control && !event.altKey && !field && (letter === "z" || letter === "y")) {
    event.preventDefault();
    event.stopPropagation();
    if (cell && deeds.waits(cell)) { restore(cell); return; }
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
  const move = (down, right, extend) => { if (go(cell, down, right, extend)) event.preventDefault(); };
  switch (event.key) {
    case "Enter":
      event.preventDefault();
      if (event.altKey) { (event.shiftKey ? rowButton(cell) : treatmentButton(cell))?.click(); return; }
      grid.editing = null;
      // Sent before the next cell is shown: the program works meanwhile.
      if (cell.dataset.cell) { deeds.typed(cell, true); deeds.flush(); }
      go(cell, event.shiftKey ? -1 : 1, 0);
      return;
    case "Escape": if (cell.dataset.cell) restore(cell); clearSelection(); return;
    case "F2": event.preventDefault(); if (cell.dataset.cell) { grid.editing = cell; cell.setSelectionRange(cell.value.length, cell.value.length); } return;
    case "ArrowDown": move(1, 0, event.shiftKey); return;
    case "ArrowUp": move(-1, 0, event.shiftKey); return;
    case "ArrowRight": if (!editing || (caretAt(cell, true) && !event.shiftKey)) move(0, 1, event.shiftKey && !editing); return;
    case "ArrowLeft": if (!editing || (caretAt(cell, false) && !event.shiftKey)) move(0, -1, event.shiftKey && !editing); return;
    case "Delete": case "Backspace":
      if (grid.anchor) {
        event.preventDefault();
        for (const c of range(grid.anchor, cell).flat()) if (c.dataset.cell) { c.value = ""; deeds.typed(c); }
      }
      return;
    case "Home": if (!editing) move(0, -99); return;
    default:
  }
}

/** What stood in a cell when a person came to it: a number may be in the draft before it is meant. */
function stood(cell) {
  return grid.before?.name === cell.dataset.cell ? grid.before.text : deeds.known.get(cell) ?? cell.defaultValue;
}

function restore(cell) {
  cell.value = stood(cell);
  grid.editing = null;
  deeds.typed(cell, true);
  cell.select();
}

const treatmentButton = (cell) => {
  const at = placeOf(cell);
  return document.querySelectorAll("#sheet thead .name")[at?.c ?? -1];
};
const rowButton = (cell) => cell.closest("tr").querySelector(".row-head .name");

/** Listens; `deeds` are what the sheet does when a key asks for it. */
function install(given) {
  deeds = given;
  document.addEventListener("keydown", key, true);
  document.addEventListener("copy", (e) => copy(e, false));
  document.addEventListener("cut", (e) => copy(e, true));
  document.addEventListener("paste", paste);
  document.addEventListener("submit", pasteForms, true);
  document.addEventListener("focusin", (event) => {
    const cell = event.target;
    if (!cell.matches?.("#sheet input[data-cell]")) return;
    grid.last = cell.dataset.cell;
    if (grid.before?.name !== cell.dataset.cell) grid.before = { name: cell.dataset.cell, text: cell.value };
    if (grid.editing !== cell) cell.select();
  });
  document.addEventListener("focusout", (event) => { if (event.target.isConnected) grid.before = null; });
  document.addEventListener("pointerdown", (event) => {
    const cell = event.target.closest?.(CELL);
    if (!cell) { clearSelection(); return; }
    const here = document.activeElement;
    if (event.shiftKey && here?.matches?.(CELL)) {
      event.preventDefault();
      grid.anchor ??= here;
      cell.focus();
      paint(grid.anchor, cell);
    } else clearSelection();
  });
  document.addEventListener("dblclick", (event) => {
    const cell = event.target.closest?.("#sheet [data-cell]");
    if (cell) grid.editing = cell;
  });
}
