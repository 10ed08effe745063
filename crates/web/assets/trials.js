// The plan is drawn anew while it is typed: what stands in the form is asked for as its address would be.

import { about, asQuery } from "./dom.js";

/** How long nobody types before the plan is drawn, ms. */
const PAUSE = 250;

/** @type {ReturnType<typeof setTimeout> | undefined} */
let waiting;
let asked = 0;

document.addEventListener("input", (event) => {
  const form = about(event.target, HTMLFormElement, "form[data-draws]");
  if (!form) return;
  clearTimeout(waiting);
  waiting = setTimeout(() => draw(form), PAUSE);
});

/** @param {HTMLFormElement} form */
async function draw(form) {
  const mine = (asked += 1);
  const address = `${form.dataset.draws}?${asQuery(new FormData(form))}`;
  const response = await fetch(address).catch(() => null);
  if (!response?.ok || mine !== asked) return;
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  const drawn = page.getElementById("drawn");
  if (!drawn || mine !== asked) return;
  document.getElementById("drawn")?.replaceWith(drawn);
  history.replaceState(null, "", address);
}

// The grid of measurements: arrows and Enter go from cell to cell, and a block copied in a spreadsheet goes in from the
// cell on that it is pasted in. Numbers are read by the program when they are sent, never here.

/** @typedef {(HTMLInputElement | null)[][]} Fields The fields of a grid by rows and columns of its table; a cell without a field is null. */

/**
 * The fields of the grid that a field stands in.
 * @param {HTMLInputElement} field
 * @returns {Fields}
 */
function fieldsOf(field) {
  const grid = about(field, HTMLTableElement, "[data-grid]");
  return [...(grid?.tBodies[0]?.rows ?? [])].map((row) =>
    [...row.cells].slice(1).map((cell) => cell.querySelector("input")),
  );
}

/**
 * The row and the column of a field.
 * @param {Fields} fields
 * @param {HTMLInputElement} field
 */
function placeOf(fields, field) {
  for (const [row, cells] of fields.entries()) {
    const column = cells.findIndex((f) => f && f.closest("td") === field.closest("td"));
    if (column >= 0) return [row, column];
  }
  return null;
}

document.addEventListener("keydown", (event) => {
  const field = about(event.target, HTMLInputElement, "[data-grid] input");
  if (!field || event.ctrlKey || event.metaKey || event.altKey) return;
  const at = { start: field.selectionStart === 0 && field.selectionEnd === 0, end: field.selectionStart === field.value.length };
  const all = field.selectionStart === 0 && field.selectionEnd === field.value.length;
  /** @type {Record<string, number[] | null>} */
  const steps = {
    ArrowUp: [-1, 0],
    ArrowDown: [1, 0],
    Enter: [event.shiftKey ? -1 : 1, 0],
    ArrowLeft: at.start || all ? [0, -1] : null,
    ArrowRight: at.end || all ? [0, 1] : null,
  };
  const step = steps[event.key];
  if (!step) return;
  const fields = fieldsOf(field);
  const from = placeOf(fields, field);
  if (!from) return;
  let [row, column] = from;
  // Enter never sends the whole grid: at its end it stays.
  event.preventDefault();
  for (;;) {
    row += step[0];
    column += step[1];
    if (!fields[row] || column < 0 || column >= fields[row].length) return;
    if (fields[row][column]) break;
  }
  fields[row][column]?.focus();
  fields[row][column]?.select();
});

document.addEventListener("paste", (event) => {
  const field = about(event.target, HTMLInputElement, "[data-grid] input");
  const text = event.clipboardData?.getData("text/plain") ?? "";
  if (!field || !/[\t\n]/.test(text.trim())) return;
  event.preventDefault();
  const fields = fieldsOf(field);
  const [top, left] = placeOf(fields, field) ?? [0, 0];
  const block = text.replace(/\r/g, "").replace(/\n$/, "").split("\n").map((line) => line.split("\t"));
  let outside = 0;
  for (const [i, line] of block.entries()) {
    for (const [k, value] of line.entries()) {
      const to = fields[top + i]?.[left + k];
      if (to) to.value = value.trim();
      else if (value.trim()) outside += 1;
    }
  }
  const said = document.getElementById("said");
  if (said && outside > 0) said.textContent = `${outside} of the pasted values have no cell here and were left out.`;
});
