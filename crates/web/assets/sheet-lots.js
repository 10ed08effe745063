// What another lot would change stands under the sheet: asked for when the sheet is there, and again after edits, once
// nobody types for a moment.

const SETTLED = 900;

/** Asks, and goes on asking after edits. */
export function watchLots() {
  const place = document.getElementById("lots");
  if (!place?.dataset.from) return;
  const { from } = place.dataset;
  let later = 0;
  let asked = 0;
  const ask = async () => {
    const number = ++asked;
    const response = await fetch(from, { headers: { accept: "text/html" } }).catch(() => null);
    if (!response?.ok) return;
    const told = await response.text();
    if (number === asked) place.innerHTML = told;
  };
  ask();
  document.addEventListener("hardtack:sheet", () => {
    clearTimeout(later);
    later = setTimeout(ask, SETTLED);
  });
}
