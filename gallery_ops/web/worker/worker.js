// What opens on a tablet when there is no network: the round, its pack and drawings, the first minute.
// It never touches the outbox. Served from / with SHELL (files, addresses, version) written before it.
/* global SHELL */

const FILES = `files ${SHELL.version}`;
const PAGES = "pages";
const DRAWINGS = "drawings";
const PATIENCE_MS = 4_000;
const MOST_PAGES = 60;
const MOST_DRAWINGS = 400;
const VERSION = "X-Gallery-Version";
const LONGEST_ROUND_MS = 20 * 3_600_000; // one that was left open counts no longer

self.addEventListener("install", (event) => {
  event.waitUntil(
    (async () => {
      const files = await caches.open(FILES);
      await files.addAll(SHELL.files);
      await keepOpenPages();
    })(),
  );
});

// A new version takes over only when no round is open on this tablet and nothing waits in its outbox:
// a page asks for it, here it is looked at once more, since another page may have begun meanwhile.
// Where the browser starts it by itself, because every page was closed, the kept pages and the files
// of before stay in use until then: no round is changed under the hand.
self.addEventListener("activate", (event) => {
  event.waitUntil(renew().then(() => self.clients.claim()));
});

self.addEventListener("message", (event) => {
  if (Array.isArray(event.data?.keep)) event.waitUntil(keepAll(event.data.keep));
  if (event.data === "take over") event.waitUntil(takeOver(event.ports[0]));
});

/** @param {MessagePort | undefined} port  is told whether it did */
async function takeOver(port) {
  const may = !(await isBusy());
  if (may && self.registration.waiting) await self.skipWaiting();
  else if (may) await renew();
  port?.postMessage(may);
}

/** Pages name their files: with the new pages the files of before go. */
async function renew() {
  const old = (await caches.keys()).filter((name) => name.startsWith("files ") && name !== FILES);
  if (!old.length || (await isBusy()) || !(await refreshPages())) return;
  for (const name of old) await caches.delete(name);
}

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
    const isNew = response.ok && kept && isOther(response, kept);
    if (response.ok && !response.redirected && !(isNew && (await isBusy()))) await put(PAGES, request, response.clone(), MOST_PAGES);
    return response;
  });
  event.waitUntil(fresh.catch(() => null));
  const late = new Promise((resolve) => setTimeout(() => resolve(null), kept ? PATIENCE_MS : 60_000));
  const first = await Promise.race([fresh.catch(() => null), late]);
  if (first && kept && isOther(first, kept) && (await isBusy())) return marked(kept);
  if (first && (first.status < 500 || !kept)) return first;
  return kept ? marked(kept) : noNetwork();
}

/** Two pages of different versions? @param {Response} one @param {Response} other */
function isOther(one, other) {
  const [mine, yours] = [one.headers.get(VERSION), other.headers.get(VERSION)];
  return mine !== null && yours !== null && mine !== yours;
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

/** Whoever was here is forgotten; the kept round stays, and opens at the lock. */
async function signOut(event, request) {
  const response = await fetch(request);
  await inLock("readwrite", (kept) => kept.delete("who"));
  event.waitUntil(keepOpenPages().catch(() => null));
  return response;
}

/** Is a round open on this tablet, or does something wait? The pages write it down. */
async function isBusy() {
  const busy = await inLock("readonly", (kept) => kept.get("busy"));
  if (!busy) return false;
  const since = Date.now() - LONGEST_ROUND_MS;
  return busy.waiting > 0 || Object.values(busy.rounds).some((at) => at > since);
}

/**
 * One request to what the lock of the round keeps; undefined where nothing can be read.
 * @param {IDBTransactionMode} mode
 * @param {(kept: IDBObjectStore) => IDBRequest} ask
 */
function inLock(mode, ask) {
  return new Promise((done) => {
    const asked = indexedDB.open("lock", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("kept");
    asked.onerror = () => done(undefined);
    asked.onsuccess = () => {
      const db = asked.result;
      const tx = db.transaction(["kept"], mode);
      const request = ask(tx.objectStore("kept"));
      tx.oncomplete = () => (db.close(), done(request.result));
      tx.onabort = () => (db.close(), done(undefined));
    };
  });
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
    if (!response?.ok || response.redirected) continue;
    const kept = isDrawing ? null : await caches.match(url.href, { ignoreVary: true, cacheName: PAGES });
    if (kept && isOther(response, kept) && (await isBusy())) continue; // no round is changed under the hand
    await put(isDrawing ? DRAWINGS : PAGES, url.href, response, isDrawing ? MOST_DRAWINGS : MOST_PAGES);
  }
}

/**
 * Keeps it as the newest, and lets the oldest go beyond `most`; what is open to all stays. A full tablet
 * refuses: then what was kept before stays, and whoever asked is given the answer all the same.
 */
async function put(name, request, response, most) {
  const cache = await caches.open(name);
  try {
    await cache.put(request, response);
  } catch {
    return;
  }
  const same = await cache.keys(request, { ignoreVary: true });
  for (const key of same.slice(0, -1)) await cache.delete(key);
  const old = (await cache.keys()).filter((key) => ![...SHELL.open, SHELL.noNetwork].includes(new URL(key.url).pathname));
  for (const key of old.slice(0, Math.max(0, old.length - most))) await cache.delete(key);
}

/** Pages name their files: after an update they are asked for again. False when one was not had, as without somebody signed in. */
async function refreshPages() {
  const pages = await caches.open(PAGES);
  let whole = true;
  for (const request of await pages.keys()) {
    const response = await fetch(request.url, { credentials: "same-origin" }).catch(() => null);
    if (response?.ok && !response.redirected) await pages.put(request, response);
    else if (response?.status === 404) await pages.delete(request);
    else whole = false;
  }
  return whole;
}
