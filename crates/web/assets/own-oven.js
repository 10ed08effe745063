// Own oven: looks again while a fit is at work, so that how far it is can be seen.

import { pause } from "./dom.js";

const AGAIN = 700;
const place = () => document.querySelector("[data-at-work]");

(async () => {
  while (place()) {
    await pause(AGAIN);
    const response = await fetch(location.href).catch(() => null);
    if (!response?.ok) continue;
    const page = new DOMParser().parseFromString(await response.text(), "text/html");
    const now = page.querySelector("[data-at-work]");
    if (!now) { location.assign(location.pathname); return; }
    place()?.replaceWith(now);
  }
})();
