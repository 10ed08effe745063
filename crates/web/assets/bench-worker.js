// Keeps the pages of the bench on this device: asked of the program first, and shown as they were when it can't be
// reached. Before this stand VERSION and DRAWN_WITH, what pages are drawn with.

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));

const KEPT = `hardtack-bench-${VERSION}`;
/** Pages kept at most: a day's batches with their stations. The longest not opened go first. */
const MOST_PAGES = 200;
/** How long the program is waited for before the kept page is shown, ms. */
const PATIENCE = 5_000;
/** A page that was kept so lately isn't asked for again beforehand, ms. */
const LATELY = 300_000;
/** The head that tells when a page was kept. */
const WHEN = "hardtack-kept";

/**
 * The list, or a batch at a station.
 * @param {URL} url
 */
const isPage = (url) => url.pathname === "/bench" || /^\/bench\/[^/]+\/[^/]+$/.test(url.pathname);

worker.addEventListener("install", (event) => {
  worker.skipWaiting();
  event.waitUntil(caches.open(KEPT).then((cache) => cache.addAll(DRAWN_WITH)));
});

/** Drops what another version kept: its pages ask for what isn't there any more. */
async function dropOld() {
  for (const name of await caches.keys()) if (name.startsWith("hardtack-bench-") && name !== KEPT) await caches.delete(name);
}

worker.addEventListener("activate", (event) => event.waitUntil(dropOld().then(() => worker.clients.claim())));

/**
 * Keeps a page as it is now.
 * @param {URL} url
 * @param {Response} response
 */
async function keep(url, response) {
  if (!response.ok || response.redirected || !response.headers.get("content-type")?.startsWith("text/html")) return;
  const headers = new Headers(response.headers);
  headers.delete("content-encoding");
  headers.set(WHEN, new Date().toISOString());
  const page = new Response(await response.blob(), { headers });
  const cache = await caches.open(KEPT);
  const place = url.pathname + url.search;
  // Behind all others, as the one that was opened last.
  await cache.delete(place);
  await cache.put(place, page);
  const pages = (await cache.keys()).filter((request) => isPage(new URL(request.url)));
  for (const request of pages.slice(0, Math.max(0, pages.length - MOST_PAGES))) await cache.delete(request);
}

/**
 * A page as it was kept, marked with the moment; for a batch without a station, the way to the one kept last.
 * @param {URL} url
 */
async function kept(url) {
  const cache = await caches.open(KEPT);
  const found = (await cache.match(url.pathname + url.search)) ?? (await cache.match(url.pathname, { ignoreSearch: true }));
  if (!found) {
    const stations = (await cache.keys()).map((request) => new URL(request.url)).filter((other) => other.pathname.startsWith(`${url.pathname}/`));
    const last = stations.at(-1);
    return last ? Response.redirect(last.href) : null;
  }
  const text = await found.text();
  return new Response(text.replace("<html ", `<html data-kept="${found.headers.get(WHEN)}" `), { headers: found.headers });
}

/** What is told of a page that nobody opened here before. */
const nothing = () => new Response(
  `<!DOCTYPE html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>Not kept here</title>
<link rel="stylesheet" href="${DRAWN_WITH[0]}"><main class="sheet"><div class="bench"><h1>This page isn’t kept on this device</h1>
<p>The program can’t be reached. Pages that were opened here before open without it; nothing that was entered is lost.</p><p><a class="way" href="/bench">Bench</a></p></div></main>`,
  { status: 503, headers: { "content-type": "text/html; charset=utf-8" } },
);

/**
 * The page as the program gives it, or as it was kept.
 * @param {FetchEvent} event
 * @param {URL} url
 * @returns {Promise<Response>}
 */
async function opened(event, url) {
  const asked = fetch(event.request).then((response) => {
    if (isPage(url)) event.waitUntil(keep(url, response.clone()));
    // Whoever has to pair this device isn't let in, and isn't shown what others opened.
    if (url.pathname === "/bench/pair" && response.ok) event.waitUntil(caches.delete(KEPT));
    return response;
  });
  /** @type {Promise<never>} */
  const late = new Promise((_, give) => { setTimeout(give, PATIENCE); });
  try {
    return await Promise.race([asked, late]);
  } catch {
    return (await kept(url)) ?? asked.catch(nothing);
  }
}

/**
 * What pages are drawn with never changes under its address.
 * @param {Request} request
 */
async function drawn(request) {
  const found = await caches.match(request);
  if (found) return found;
  const response = await fetch(request);
  if (response.ok) await (await caches.open(KEPT)).put(request, response.clone());
  return response;
}

/**
 * A page that a page asks for, to be shown and kept.
 * @param {FetchEvent} event
 * @param {URL} url
 */
async function renewed(event, url) {
  const response = await fetch(event.request);
  event.waitUntil(keep(url, response.clone()));
  return response;
}

worker.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (url.pathname.startsWith("/assets/")) event.respondWith(drawn(request));
  else if (request.mode === "navigate") event.respondWith(opened(event, url));
  else if (isPage(url) && request.headers.get("accept") === "text/html") event.respondWith(renewed(event, url));
});

/** Pages that will be opened next are kept beforehand, one after the other. */
worker.addEventListener("message", (event) => {
  const ahead = async () => {
    await dropOld();
    const cache = await caches.open(KEPT);
    for (const place of event.data.keep ?? []) {
      const url = new URL(place, location.origin);
      const at = (await cache.match(url.pathname + url.search))?.headers.get(WHEN);
      if (!isPage(url) || (at && Date.now() - Date.parse(at) < LATELY)) continue;
      const response = await fetch(url, { headers: { accept: "text/html" } }).catch(() => null);
      if (!response) return;
      await keep(url, response);
    }
  };
  event.waitUntil(ahead());
});
