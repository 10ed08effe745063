// Pasting into the study sheet: amounts alone go into the cells from one on, a list goes where its names belong. The
// program reads what is pasted; what it can't be sure of is looked at before anything is taken.

/** A single number is pasted as the browser does it. */
async function paste(event) {
  const here = document.activeElement;
  if (!here?.matches?.("#sheet [data-cell]")) return;
  const raw = event.clipboardData?.getData("text/plain") ?? "";
  const other = document.getElementById("sheet").dataset.decimal === "." ? "," : ".";
  if (!/[\t\n\r;]/.test(raw.trim()) && !raw.includes(other) && !/\p{L}/u.test(raw)) return;
  event.preventDefault();
  await pasted(raw, here.dataset.cell);
}

/** Reads a block and lays it from a cell on, or shows what it may be. */
async function pasted(raw, name) {
  const over = document.getElementById("paste");
  const words = over.querySelector(".paste-in .word-back");
  words.textContent = "";
  const answer = await deeds.read(raw, name.split(":")[1]);
  // The sheet may have been drawn anew.
  const box = document.getElementById("paste");
  if (answer?.said) { if (box.matches(":popover-open")) { box.querySelector(".paste-in .word-back").textContent = answer.said; } return; }
  if (!answer?.which && !answer?.readings.length) return;
  const lays = (reading) => { box.hidePopover(); lay(name, reading.rows); };
  if (!answer.which) { lays(answer.readings[0]); return; }
  box.classList.add("chooses");
  box.querySelector(".asked").innerHTML = answer.which;
  box.onclick = (click) => {
    const button = click.target.closest("[data-do=paste]");
    if (!button) return;
    box.hidePopover();
    if (button.dataset.reading) lays(answer.readings[Number(button.dataset.reading)]);
  };
  box.ontoggle = (event) => {
    if (event.newState !== "closed") return;
    box.classList.remove("chooses");
    box.querySelector(".asked").replaceChildren();
  };
  // Who writes another material means it.
  box.oninput = ({ target }) => {
    if (!target.name?.startsWith("other.")) return;
    target.closest("label").querySelector("[type=radio]").checked = true;
  };
  if (!box.matches(":popover-open")) box.showPopover();
  box.querySelector(".asked :is(input:not([type=hidden]), select, [data-do=paste])")?.focus();
}

/** The forms of the dialog: what is to be read, and what is taken as it was chosen. */
async function pasteForms(event) {
  const form = event.target;
  if (form.matches("#paste .paste-in")) {
    event.preventDefault();
    const first = document.querySelector("#sheet [data-cell]");
    const name = (grid.last && deeds.cellNamed(grid.last) ? grid.last : null) ?? first?.dataset.cell;
    if (name) await pasted(form.elements.block.value, name);
    return;
  }
  if (!form.matches("#paste .names")) return;
  event.preventDefault();
  const answer = await deeds.take(Object.fromEntries(new FormData(form)));
  const words = form.querySelector(".word-back");
  if (!answer) { words.textContent = "The program doesn’t answer; nothing was pasted. Try again."; return; }
  if (answer.said) { if (words.isConnected) { words.textContent = answer.said; document.getElementById("said").textContent = ""; } return; }
  const box = document.getElementById("paste");
  if (box.matches(":popover-open")) box.hidePopover();
  document.querySelector(".paste-in")?.reset();
  if (answer.note) deeds.tell(answer.note);
}

/** Amounts into the cells from one on; what finds no cell is told. */
function lay(name, rows) {
  const here = deeds.cellNamed(name);
  const at = here && placeOf(here);
  if (!at) return;
  const left = [];
  rows.forEach((row, dr) => row.forEach((value, dc) => {
    const cell = at.rows[at.r + dr]?.[at.c + dc];
    if (!cell?.dataset.cell) { if (value && !(cell && text(cell) === value)) left.push(value); return; }
    if (cell.value === value) return;
    cell.value = value;
    deeds.typed(cell);
  }));
  grid.editing = null;
  here.focus();
  if (left.length) deeds.tell(`${left.slice(0, 6).join(" · ")}${left.length > 6 ? " …" : ""} found no cell that can be typed in; the other amounts are in.`);
}
