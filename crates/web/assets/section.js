// The piece and what comes after the oven, live: what is changed in the form is sent as it is left; live.js puts the answer in its place. Without
// this script the form has a button of its own.

import { every, find, isField } from "./dom.js";

const root = () => document.querySelector("[data-section]");
/**
 * The field that a person was in, to come back to when the page is drawn anew.
 * @type {string | null}
 */
let kept = null;

function begin() {
  const here = root();
  if (!here) return;
  for (const button of every(HTMLElement, "[data-without-script]", here)) button.hidden = true;
  const refused = find(HTMLElement, "#section-form [aria-invalid]", here);
  const field = kept === null ? null : find(HTMLElement, `#section-form [name="${CSS.escape(kept)}"]`, here);
  (field ?? refused)?.focus({ preventScroll: Boolean(field) });
}

document.addEventListener("focusin", ({ target }) => {
  if (target instanceof Element && root()?.contains(target)) kept = isField(target) && target.form?.id === "section-form" ? target.name : null;
});
document.addEventListener("change", ({ target }) => {
  if (!isField(target) || !root()?.contains(target)) return;
  if ("set" in target.dataset || "goes" in target.dataset) {
    // Another outline or pattern needs the measures that stand beside it; they are filled in already.
    if ("goes" in target.dataset) target.form?.submit();
    else target.form?.requestSubmit();
  }
});
document.addEventListener("keydown", (event) => {
  const { target } = event;
  if (!isField(target) || !("set" in target.dataset)) return;
  if (event.key === "Enter" && target.matches("input")) {
    event.preventDefault();
    target.blur();
    target.focus();
  }
  if (event.key === "Escape" && "defaultValue" in target) { target.value = target.defaultValue; target.select(); }
});
document.addEventListener("hardtack:shown", begin);
begin();
