// What another lot would change stands under the sheet: asked for when the sheet is there, and again after edits, once
// nobody types for a moment.

{
  const SETTLED = 900;
  const place = document.getElementById("lots");
  let later = 0;
  let asked = 0;
  const ask = async () => {
    const number = ++asked;
    const response = await fetch(place.dataset.from, { headers: { accept: "text/html" } }).catch(() => null);
    if (!response?.ok) return;
    const told = await response.text();
    if (number === asked) place.innerHTML = told;
  };
  if (place) {
    ask();
    document.addEventListener("hardtack:sheet", () => {
      clearTimeout(later);
      later = setTimeout(ask, SETTLED);
    });
  }
}
