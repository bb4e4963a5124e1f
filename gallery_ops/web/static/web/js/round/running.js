// What keeps a round going: the sender's rhythm, keys, taps that come too soon, pictures.

import { EVERY_MS, keepSending } from "../outbox/rhythm.js";
import { fetchDrawing } from "./drawing.js";
import { tickClocks } from "./emergency_clocks.js";
import { listenToKeys } from "./keys.js";
import { openLockStore } from "./lock_store.js";
import { keepRound, tablet } from "./offline.js";
import { page } from "./shell.js";
import { lookForUpdate } from "./update.js";

/** @typedef {import("./making.js").RoundApp} RoundApp */
/** @typedef {import("../outbox/sender.js").Sender} Sender */

const LOOK_MS = 5_000;
const ASK_MS = 300_000;
const UPDATE_MS = 3_600_000;

/**
 * @param {RoundApp} app
 * @param {import("../outbox/sender.js").Store} store
 * @param {Sender} sender
 * @param {import("../outbox/photo_sender.js").PhotoSender} photoSender
 */
export function run(app, store, sender, photoSender) {
  const send = keepSending({ store, sender, photoSender, waiting: app.waiting, heard: () => void app.heard() });
  let photoState = photoSender.state;
  photoSender.onChange(() => {
    if (app.panel?.name === "outbox" || photoSender.state !== photoState) void app.heard();
    photoState = photoSender.state;
  });
  listenToKeys(app, page);
  if (app.lock) watchHands(app, app.lock);
  page.addEventListener("click", (event) => {
    if (app.isQuiet() && event.detail > 0) {
      event.preventDefault();
      event.stopPropagation();
    } else if (/** @type {Element} */ (event.target).closest("button:not(.tick), a, input")) {
      app.stay();
    }
  }, true);
  addEventListener("hashchange", () => {
    const code = decodeURIComponent(location.hash.slice(1));
    const stop = app.round.pack.stops.find((s) => app.round.codeOf(s) === code);
    if (stop && stop !== app.here()) void app.go(stop);
  });
  addEventListener("beforeunload", (event) => {
    if ((app.waiting() || photoSender.state !== "resting") && store.holds === "page") event.preventDefault();
  });
  setInterval(() => tickClocks(app, page), 1_000);
  for (const kind of ["online", "visibilitychange"]) addEventListener(kind, () => void hearEmergencies(app));
  setInterval(() => void hearEmergencies(app), EVERY_MS);
  setInterval(() => void hourCame(app), EVERY_MS);
  void drawWalk(app);
  void app.heard().then(() => {
    if (app.waiting()) send(); // of a page that went before
    else void sender.ask().then(() => photoSender.nudge());
  });
  setInterval(() => void sender.ask(), ASK_MS);
  if (page.dataset.keeps === "tablet") void keepWithoutNetwork(app);
  document.documentElement.dataset.ready = "1";
}

/**
 * Ten minutes without a touch lock the tablet; a rest is counted; what was tried is told.
 * @param {RoundApp} app
 * @param {import("./lock.js").Lock} lock
 */
function watchHands(app, lock) {
  lock.onChange = () => void app.changeHands();
  for (const kind of ["pointerdown", "keydown"]) addEventListener(kind, () => lock.touch(), { capture: true, passive: true });
  document.addEventListener("visibilitychange", () => lock.check());
  addEventListener("online", () => void lock.tell());
  setInterval(() => {
    lock.check();
    void lock.count();
  }, LOOK_MS);
  setInterval(() => void lock.tell(), EVERY_MS);
  void lock.tell();
}

/**
 * What another tablet opened or closed since the pack was made; without the network nothing is heard.
 * @param {RoundApp} app
 */
async function hearEmergencies(app) {
  if (document.visibilityState !== "visible") return;
  const told = app.round.told();
  const was = JSON.stringify(app.round.emergencies);
  try {
    const response = await fetch(String(page.dataset.emergencies), { credentials: "same-origin", headers: { Accept: "application/json" } });
    if (!response.ok) return;
    await app.round.hear(await response.json(), told);
  } catch {
    return;
  }
  const typing = ["INPUT", "TEXTAREA"].includes(document.activeElement?.tagName ?? "");
  if (!typing && JSON.stringify(app.round.emergencies) !== was) app.draw();
}

/**
 * What rested until an hour is to do when it has come, also without a tap.
 * @param {RoundApp} app
 */
async function hourCame(app) {
  if (!app.round.rests()) return;
  const said = () => [...app.round.states.values()].map((state) => state.done).join();
  const was = said();
  await app.round.refresh();
  const typing = ["INPUT", "TEXTAREA"].includes(document.activeElement?.tagName ?? "");
  if (!typing && said() !== was) app.draw();
}

/** @param {RoundApp} app */
async function keepWithoutNetwork(app) {
  const drawings = app.round.pack.tanks.flatMap((tank) => [tank.drawing_small, tank.drawing]).filter((address) => typeof address === "string");
  await keepRound({ worker: String(page.dataset.worker), keep: [location.pathname, String(page.dataset.pack), ...drawings] });
  if (app.panel?.name === "outbox") app.draw();
  const registration = await navigator.serviceWorker?.getRegistration().catch(() => undefined);
  const store = await openLockStore();
  let again = 0;
  const look = async () => {
    const { round } = app;
    const { waiting } = round.store.shut ? { waiting: 1 } : await round.store.counts(); // as it is: the page may not have counted yet; what cannot be known may wait
    const isOpen = round.isOpen && !round.closedAt;
    const said = await lookForUpdate({ store, registration, page: { round: round.pack.round.id, isOpen, waiting, now: Date.now() } });
    clearTimeout(again);
    if (registration?.waiting && !isOpen) again = setTimeout(() => void look(), LOOK_MS);
    if (said === tablet.update) return;
    tablet.update = said;
    if (app.panel?.name === "outbox") app.draw();
  };
  let known = "";
  app.round.store.onChange(() =>
    setTimeout(() => {
      const now = `${app.round.isOpen} ${app.round.closedAt !== null} ${app.waiting() > 0}`;
      if (now !== known) void look();
      known = now;
    }, LOOK_MS),
  );
  registration?.addEventListener("updatefound", () => registration.installing?.addEventListener("statechange", () => void look()));
  setInterval(() => void look(), EVERY_MS);
  setInterval(() => void registration?.update().catch(() => null), UPDATE_MS);
  await look();
}

/** Fetches the small drawings one after the other, then draws the walk once.
 * @param {RoundApp} app
 */
async function drawWalk(app) {
  for (const tank of app.round.pack.tanks) if (tank.drawing_small) await fetchDrawing(tank.drawing_small);
  app.refreshWalk(true);
}
