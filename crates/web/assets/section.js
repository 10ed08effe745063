// The piece and what comes after the oven, live: what is changed in the form is sent as it is left; live.js puts the answer in its place. Without
// this script the form has a button of its own.

const root = () => document.querySelector("[data-section]");
/** The field that a person was in, to come back to when the page is drawn anew. */
let kept = null;

function begin() {
  if (!root()) return;
  root().querySelectorAll("[data-without-script]").forEach((b) => { b.hidden = true; });
  const refused = root().querySelector("#section-form [aria-invalid]");
  const field = kept && root().querySelector(`#section-form [name="${CSS.escape(kept)}"]`);
  (field ?? refused)?.focus({ preventScroll: Boolean(field) });
}

document.addEventListener("focusin", ({ target }) => {
  if (root()?.contains(target)) kept = target.form?.id === "section-form" ? target.name : null;
});
document.addEventListener("change", ({ target }) => {
  if (!target.dataset || !root()?.contains(target)) return;
  if ("set" in target.dataset || "goes" in target.dataset) {
    // Another outline or pattern needs the measures that stand beside it; they are filled in already.
    if ("goes" in target.dataset) target.form.submit();
    else target.form.requestSubmit();
  }
});
document.addEventListener("keydown", (event) => {
  const { target } = event;
  if (!target.dataset || !("set" in target.dataset)) return;
  if (event.key === "Enter" && target.matches("input")) {
    event.preventDefault();
    target.blur();
    target.focus();
  }
  if (event.key === "Escape" && "defaultValue" in target) { target.value = target.defaultValue; target.select?.(); }
});
document.addEventListener("hardtack:shown", begin);
begin();
