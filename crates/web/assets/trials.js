// The plan is drawn anew while it is typed: what stands in the form is asked for as its address would be.

/** How long nobody types before the plan is drawn, ms. */
const PAUSE = 250;

let waiting;
let asked = 0;

document.addEventListener("input", (event) => {
  const form = event.target.closest("form[data-draws]");
  if (!form) return;
  clearTimeout(waiting);
  waiting = setTimeout(() => draw(form), PAUSE);
});

async function draw(form) {
  const mine = (asked += 1);
  const address = `${form.dataset.draws}?${new URLSearchParams(new FormData(form))}`;
  const response = await fetch(address).catch(() => null);
  if (!response?.ok || mine !== asked) return;
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  const drawn = page.getElementById("drawn");
  if (!drawn || mine !== asked) return;
  document.getElementById("drawn")?.replaceWith(drawn);
  history.replaceState(null, "", address);
}
