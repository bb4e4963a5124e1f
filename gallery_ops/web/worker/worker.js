// What opens on a tablet when there is no network: the round, its pack and drawings, the first minute.
// It never touches the outbox. Served from / with SHELL (files, addresses, version) written before it.
/* global SHELL */

const FILES = `files ${SHELL.version}`;
const PAGES = "pages";
const DRAWINGS = "drawings";
const PATIENCE_MS = 4_000;
const MOST_PAGES = 60;
const MOST_DRAWINGS = 400;

self.addEventListener("install", (event) => {
  event.waitUntil(
    (async () => {
      const files = await caches.open(FILES);
      await files.addAll(SHELL.files);
      await keepOpenPages();
    })(),
  );
});

// A new version waits until no page of the old one is open: no round is changed under the hand.
self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      if (await refreshPages()) {
        for (const name of await caches.keys()) {
          if (name.startsWith("files ") && name !== FILES) await caches.delete(name);
        }
      }
      await self.clients.claim();
    })(),
  );
});

self.addEventListener("message", (event) => {
  if (Array.isArray(event.data?.keep)) event.waitUntil(keepAll(event.data.keep));
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (request.method === "POST" && url.pathname === SHELL.signOut) {
    event.respondWith(signOut(event, request));
    return;
  }
  if (request.method !== "GET") return;
  if (url.pathname.startsWith(SHELL.static)) event.respondWith(keptOrFetched(request, null));
  else if (url.pathname.startsWith(SHELL.drawings)) event.respondWith(keptOrFetched(request, DRAWINGS));
  else if (isKept(url)) event.respondWith(freshOrKept(event, request));
  else if (request.mode === "navigate") event.respondWith(fetch(request).catch(noNetwork));
});

/** @param {URL} url */
function isKept({ pathname }) {
  if (SHELL.open.includes(pathname)) return true;
  const round = pathname.startsWith(SHELL.rounds) && pathname.length > SHELL.rounds.length;
  return round || (pathname.startsWith(SHELL.packs) && pathname.endsWith("/pack"));
}

/** Files and drawings never change under one name. */
async function keptOrFetched(request, keepIn) {
  const kept = await caches.match(request, { ignoreVary: true });
  if (kept) return kept;
  const fresh = await fetch(request);
  if (keepIn && fresh.ok) await put(keepIn, request, fresh.clone(), MOST_DRAWINGS);
  return fresh;
}

/** The newest when the gallery answers in time, else the last that it gave, marked as kept. */
async function freshOrKept(event, request) {
  const kept = await caches.match(request, { ignoreVary: true, cacheName: PAGES });
  const fresh = fetch(request).then(async (response) => {
    if (response.ok && !response.redirected) await put(PAGES, request, response.clone(), MOST_PAGES);
    return response;
  });
  event.waitUntil(fresh.catch(() => null));
  const late = new Promise((resolve) => setTimeout(() => resolve(null), kept ? PATIENCE_MS : 60_000));
  const first = await Promise.race([fresh.catch(() => null), late]);
  if (first && (first.status < 500 || !kept)) return first;
  return kept ? marked(kept) : noNetwork();
}

/** @param {Response} kept */
function marked(kept) {
  const headers = new Headers(kept.headers);
  headers.set("X-Kept", "1");
  return new Response(kept.body, { status: kept.status, statusText: kept.statusText, headers });
}

async function noNetwork() {
  return (await caches.match(SHELL.noNetwork)) ?? new Response("No network.", { status: 503 });
}

/** Pages carry the name of who signed in: with them they go. The first minute stays, without names. */
async function signOut(event, request) {
  const response = await fetch(request);
  await caches.delete(PAGES);
  event.waitUntil(keepOpenPages().catch(() => null));
  return response;
}

async function keepOpenPages() {
  const pages = await caches.open(PAGES);
  await pages.addAll([...SHELL.open, SHELL.noNetwork]);
}

/** @param {string[]} addresses */
async function keepAll(addresses) {
  for (const address of addresses) {
    const url = new URL(address, self.location.origin);
    if (url.origin !== self.location.origin) continue;
    const isDrawing = url.pathname.startsWith(SHELL.drawings);
    if (!isDrawing && !isKept(url)) continue;
    if (isDrawing && (await caches.match(url.href))) continue;
    const response = await fetch(url.href, { credentials: "same-origin" }).catch(() => null);
    if (response?.ok && !response.redirected) await put(isDrawing ? DRAWINGS : PAGES, url.href, response, isDrawing ? MOST_DRAWINGS : MOST_PAGES);
  }
}

/** Keeps it as the newest, and lets the oldest go beyond `most`; what is open to all stays. */
async function put(name, request, response, most) {
  const cache = await caches.open(name);
  await cache.delete(request, { ignoreVary: true });
  await cache.put(request, response);
  const old = (await cache.keys()).filter((key) => ![...SHELL.open, SHELL.noNetwork].includes(new URL(key.url).pathname));
  for (const key of old.slice(0, Math.max(0, old.length - most))) await cache.delete(key);
}

/** Pages name their files: after an update they are asked for again. False when one was not had. */
async function refreshPages() {
  const pages = await caches.open(PAGES);
  let whole = true;
  for (const request of await pages.keys()) {
    const response = await fetch(request.url, { credentials: "same-origin" }).catch(() => null);
    if (!response || response.status >= 500) whole = false;
    else if (response.ok && !response.redirected) await pages.put(request, response);
    else await pages.delete(request);
  }
  return whole;
}
