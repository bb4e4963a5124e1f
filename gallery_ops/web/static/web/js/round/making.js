// The round's app: what a screen may ask of it, which stop is open, what happens after a tap.

import { fileName, savedFile } from "../outbox/saved_file.js";
import { closeScreen } from "./closing.js";
import { afterFrame, giveFile } from "./dom.js";
import { fetchDrawing } from "./drawing.js";
import { elapsed } from "./emergencies.js";
import { firstMinuteScreen } from "./first_minute.js";
import { handedOverScreen } from "./handover_read.js";
import { tablet } from "./offline.js";
import { leaveScreen } from "./leaving.js";
import { clearLock, lockScreen } from "./lock_screen.js";
import { outboxScreen } from "./outbox_list.js";
import { roomWords } from "./outbox_words.js";
import { wantsPhoto } from "./photos.js";
import { notKept } from "./refusals.js";
import { showRefused } from "./refused.js";
import { clock, page, voice } from "./shell.js";
import { skipScreen } from "./skipping.js";
import { nextStop } from "./state.js";
import { artOf, isSecondHalf, pressTick, stopScreen } from "./stop.js";
import { topLine } from "./top_line.js";
import { walk } from "./walk.js";
import { outboxWords, wordsFor } from "./words.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("./pack.js").Stop} Stop */
/** @typedef {import("./round.js").Round} Round */
/** @typedef {import("../outbox/sender.js").Sender} Sender */
/** @typedef {App & {here: () => Stop | null, heard: () => Promise<void>, waiting: () => number, stay: () => void, isQuiet: () => boolean, refreshWalk: (again: boolean) => void, takeUp: () => Promise<void>, changeHands: () => Promise<void>}} RoundApp */

const NEXT_MS = 400;
const QUIET_MS = 350;
const SHIFT_MS = 250; // what lies under the thumb has just changed

/**
 * @param {Round} round
 * @param {import("../outbox/sender.js").Store} store
 * @param {Sender} sender
 * @param {import("../outbox/photo_sender.js").PhotoSender} photoSender
 * @param {import("./lock.js").Lock | null} lock
 */
export function makeApp(round, store, sender, photoSender, lock) {
  /** What this person began and has not entered yet, by stop. @type {Record<string, import("./app.js").StopDraft>} */
  let drafts = {};
  const { pack } = round;
  const words = wordsFor(pack.showroom);
  let counts = { waiting: 0, held: 0, unreadable: 0, oldest: /** @type {string | null} */ (null) };
  /** Photos that are not with the gallery. */
  let photos = { waiting: 0, refused: 0, stuck: false };
  let busy = false;
  let quietUntil = 0;
  /** @type {Stop | null} */
  let here = null;
  /** @type {unknown} */
  let nextTimer = null;
  let calmTimer = 0;
  /** What opened the panel: there the focus goes back to. @type {string | null} */
  let opener = null;

  /** @type {RoundApp} */
  const app = {
    round,
    words,
    message: null,
    refusal: null,
    warned: null,
    onUnderstood: () => {},
    understood: () => {
      app.warned = null;
      app.onUnderstood();
      app.draw();
      focusFirst();
    },
    shut: store.shut !== null,
    passed: [],
    panel: null,
    inHand: {},
    addresses: { list: String(page.dataset.list), paper: String(page.dataset.paper), board: String(page.dataset.board), firstMinute: String(page.dataset.firstMinute) },
    here: () => here,
    waiting: () => counts.waiting,
    holds: () => store.holds,
    isQuiet: () => performance.now() < quietUntil,
    refreshWalk: (again) => refreshWalk(again),
    lock,
    draftOf: (stop) => (drafts[stop.id] ??= { typed: {}, presses: {}, again: {}, sure: {} }),
    keepDraft: () => void store.keepDraft(draftsKey(), drafts).catch(() => null), // nothing entered is lost by it
    takeUp: async () => {
      drafts = /** @type {typeof drafts} */ ((await store.draft(draftsKey())) ?? {});
      begin();
    },
    changeHands: async () => {
      if (!lock) return;
      const { context } = round;
      const was = context.person_id;
      Object.assign(context, { person_id: lock.person, person_proof: lock.isLocked ? "pin" : lock.proof });
      if (was !== lock.person) await round.refresh(); // what was handed to this person is to do
      if (was !== lock.person) drafts = /** @type {typeof drafts} */ ((await store.draft(draftsKey())) ?? {});
      const isHere = app.panel?.name === "who" || page.classList.contains("sign");
      if (lock.isLocked ? app.panel?.name === "first_minute" : !isHere) return;
      clearLock();
      app.stay();
      app.panel = here ? null : { name: "close" };
      app.draw();
      scrollTo(0, 0);
      if (lock.isLocked) /** @type {HTMLElement | null} */ (page.querySelector('[data-key="title"]'))?.focus({ preventScroll: true });
      else focusFirst();
      app.say(lock.isLocked ? "Locked. Who is here?" : `${round.personName(lock.person)} is here. Everything entered is kept.`);
    },
    outbox: () => outboxWords({ counts, shut: store.shut !== null, owing: sender.isOwing, photos, full: roomWords(tablet).full, holds: store.holds, state: sender.state, lastAnswer: sender.lastAnswer && new Date(sender.lastAnswer.getTime() + round.offsetMs), offsetMs: sender.offsetMs, now: clock.now() }, words),
    say: (text) => {
      if (voice) voice.textContent = text;
    },
    sendNow: () => void sender.tryNow().then(() => photoSender.tryNow()),
    everything: [],
    photos: [],
    photoSender,
    makeRoom: () => store.photos.makeRoom(null),
    sending: () => sender,
    fileName: () => fileName(pack.showroom.name, round.context.device_id, round.now()),
    save: () => {
      const { device_id, boot_id } = round.context;
      const file = savedFile({ deviceId: device_id, epoch: sender.epoch, bootId: boot_id, at: clock.now(), offsetMs: sender.offsetMs, kept: app.everything });
      giveFile(app.fileName(), file.text);
      app.say(`${file.entries} ${file.entries === 1 ? "entry" : "entries"} saved to a file. Nothing was taken out.`);
    },
    signIn: () => (sender.state === "sign_in" ? (page.dataset.signIn ?? null) : null),
    sinceWords: (from, to = null) => elapsed((to ? Date.parse(to) : round.now().getTime()) - Date.parse(from)),
    firstMinute: (card) => app.open({ name: "first_minute", card }),

    enter: async (stop, list, spoken, pictures = []) => {
      app.refusal = null;
      if (busy || (lock?.isLocked && app.panel?.name !== "first_minute")) return false;
      busy = true;
      const keeping = round.append(list, showKept, pictures); // asked of the disk before anything else is done
      tellMoving();
      const was = stop ? round.stateOf(stop).finished : true;
      try {
        await keeping;
      } catch (error) {
        app.refusal = error;
        if (!pictures.length) refuse(error);
        return false;
      } finally {
        busy = false;
        tellMoving();
      }
      if (app.warned) app.onUnderstood();
      app.warned = null;
      app.panel = stop ? null : app.panel;
      if (stop) {
        delete app.draftOf(stop).presses[""];
        app.keepDraft(stop);
      }
      quietUntil = performance.now() + SHIFT_MS;
      app.say(`${spoken}, ${store.holds === "tablet" ? "kept on this tablet" : "kept"}`);
      app.draw();
      if (stop && stop === here && !was && round.stateOf(stop).finished && !app.message && !wantsPhoto(app, stop)) nextTimer = setTimeout(goOn, NEXT_MS);
      else if (stop) focusFirst();
      tellMoving();
      return true;
    },

    undo: async () => {
      const tap = round.undoable();
      if (!tap || busy || lock?.isLocked) return;
      busy = true;
      tellMoving();
      try {
        await round.undo(tap);
      } catch (error) {
        return refuse(error);
      } finally {
        busy = false;
        tellMoving();
      }
      app.message = null;
      app.say(`${round.codeOf(tap.stop)}: taken back`);
      show(tap.stop, []);
    },

    open: (panel) => {
      app.stay();
      if (lock?.isLocked && panel && panel.name !== "first_minute") return;
      if (panel?.name === "who") clearLock();
      if (panel?.name === "leave") return void leave();
      if (panel && !app.panel) opener = document.activeElement?.getAttribute("data-key") ?? null;
      app.panel = panel;
      void store.photos.all().then((photos) => (app.photos = photos));
      app.everything = round.log; // at once; the other rounds of this tablet a moment later
      app.draw();
      if (panel?.name === "outbox") void app.heard();
      const key = (/** @type {string | null} */ name) => /** @type {HTMLElement | null} */ (name && page.querySelector(`[data-key="${CSS.escape(name)}"]`));
      const present = /** @type {HTMLElement | null} */ (page.querySelector('[aria-current="step"] .line'));
      const to = panel ? (key("panel") ?? present ?? key("title")) : key(opener);
      if (to) to.focus({ preventScroll: panel?.name === "look" });
      else focusFirst();
      if (panel && ["skip", "close", "handover", "outbox", "first_minute", "who"].includes(panel.name)) scrollTo(0, 0);
    },

    go: async (stop) => {
      if (lock?.isLocked) return;
      await halfDone();
      show(stop, []);
    },

    stay: () => {
      clearTimeout(/** @type {number} */ (nextTimer));
      nextTimer = null;
      tellMoving();
    },

    leaveFor: async (address) => {
      await Promise.race([sender.tryNow(), new Promise((done) => setTimeout(done, 3_000))]);
      await app.heard();
      if (counts.waiting === 0) location.assign(address);
      else app.open({ name: "leave" });
    },

    draw: () => {
      const focused = document.activeElement?.getAttribute("data-key");
      const unfolded = [...page.querySelectorAll("details[open]")].map((details) => details.getAttribute("data-key"));
      const { classes, nodes } = screen();
      page.className = classes;
      page.replaceChildren(...nodes);
      for (const details of page.querySelectorAll("details")) if (unfolded.includes(details.getAttribute("data-key") ?? "")) details.open = true;
      showHere();
      if (focused) /** @type {HTMLElement | null} */ (page.querySelector(`[data-key="${CSS.escape(focused)}"]`))?.focus({ preventScroll: true });
    },

    heard: async () => {
      counts = await store.counts();
      photos = photosLeft(await store.photos.all());
      round.measured(sender.offsetMs);
      await round.refresh();
      if (app.panel?.name === "outbox") [app.everything, app.photos] = await Promise.all([store.everything(), store.photos.all()]);
      const busyHere = ["INPUT", "TEXTAREA"].includes(document.activeElement?.tagName ?? "");
      if (app.panel?.name === "outbox" || (app.panel?.name === "close" && !busyHere)) return app.draw();
      refreshWalk();
      const old = page.querySelector('[data-key="outbox"]');
      const fresh = topLine(app, "").querySelector('[data-key="outbox"]');
      if (old && fresh && old.textContent !== fresh.textContent) {
        const focused = old === document.activeElement;
        old.replaceWith(fresh);
        if (focused) /** @type {HTMLElement} */ (fresh).focus();
      }
    },
  };

  /** Said aloud and shown; nothing goes on, and what is open and typed stays. @param {unknown} error */
  function refuse(error) {
    const { strong, text } = notKept(error);
    app.say(`${strong} ${text}`);
    if (showRefused(app, page)) return;
    app.panel = null;
    app.draw();
  }

  /** @param {import("../outbox/photos.js").KeptPhoto[]} all */
  function photosLeft(all) {
    return { waiting: all.filter((photo) => photo.waits).length, refused: all.filter((photo) => photo.state === "refused" && round.log.some(({ action }) => action.action_id === photo.action_id)).length, stuck: ["unnoted", "unread"].includes(photoSender.state) };
  }

  /** The tick under the thumb, as soon as it is kept; everything else after the next frame. */
  function showKept() {
    const asked = [...page.querySelectorAll(".tick[data-asked]")];
    for (const tick of asked) pressTick(/** @type {HTMLElement} */ (tick));
    return asked.length ? afterFrame() : null;
  }

  function screen() {
    const { panel } = app;
    if (lock && (panel?.name === "who" || (lock.isLocked && panel?.name !== "first_minute"))) return { classes: "sign", nodes: lockScreen(app) };
    if (panel?.name === "close" || (!here && !panel)) return { classes: "stop close", nodes: closeScreen(app) };
    if (panel?.name === "outbox") return { classes: "stop close ob", nodes: outboxScreen(app) };
    if (panel?.name === "first_minute") return { classes: panel.card ? "stop fm card" : "stop fm", nodes: firstMinuteScreen(app, panel) };
    if (panel?.name === "handover") return { classes: "stop close", nodes: handedOverScreen(app) };
    if (panel?.name === "leave") return { classes: "stop close", nodes: leaveScreen(app, counts.waiting) };
    const stop = /** @type {Stop} */ (here);
    if (panel?.name === "skip") return { classes: "stop skip", nodes: skipScreen(app, stop) };
    if (!round.canKeep) return { classes: "stop stop-2 cannot", nodes: stopScreen(app, stop) };
    return { classes: panel ? "stop stop-2 stop-open" : isSecondHalf(app, stop) ? "stop stop-2" : "stop", nodes: stopScreen(app, stop) };
  }

  /** @param {Stop | null} stop @param {Stop[]} passed */
  function show(stop, passed) {
    app.stay();
    if (app.message && app.message.stop !== stop?.id) app.message = null;
    here = stop;
    app.passed = passed;
    app.panel = stop ? null : { name: "close" };
    quietUntil = performance.now() + QUIET_MS;
    if (stop) history.replaceState(null, "", `#${encodeURIComponent(round.codeOf(stop))}`);
    app.draw();
    scrollTo(0, 0);
    const next = /** @type {HTMLElement | null} */ (page.querySelector("[data-next]")); // a stop half done goes on where it was left
    if (next) next.focus({ preventScroll: true });
    else focusFirst();
    tellMoving();
    if (stop) void fetchAround(stop);
  }

  /** On the page while an entry is being kept, the next stop is due, or what lies under the thumb has just changed. */
  function tellMoving() {
    const quiet = quietUntil - performance.now();
    document.documentElement.toggleAttribute("data-moving", busy || nextTimer !== null || quiet > 0);
    clearTimeout(calmTimer);
    if (quiet > 0) calmTimer = setTimeout(tellMoving, Math.ceil(quiet));
  }

  let drawn = "";
  /** Draws the walk again where a vessel has changed; what is under the thumb stays. */
  function refreshWalk(again = false) {
    const box = page.querySelector(".walkbox");
    const now = pack.stops.map((stop) => round.stateOf(stop).mark).join();
    if (!box || (now === drawn && !again) || box.contains(document.activeElement)) return;
    drawn = now;
    box.replaceChildren(walk(round, app.panel?.name === "close" ? null : here));
    showHere();
  }

  /** Where the walk is wider than the glass: the tank in hand is in sight. */
  function showHere() {
    const box = page.querySelector(".walkbox");
    const slot = box?.querySelector(".here");
    if (!box || !slot || box.scrollWidth <= box.clientWidth) return;
    const [outer, inner] = [box.getBoundingClientRect(), slot.getBoundingClientRect()];
    box.scrollLeft += inner.left + inner.width / 2 - outer.left - outer.width / 2;
  }

  function goOn() {
    const { stop, passed } = nextStop(pack.stops, round.states, here?.id ?? null);
    show(stop, passed);
  }

  function focusFirst() {
    const wanted = ['.tick[aria-pressed="false"]', ".stop-do .stepper input", ".stop-do .choice", '[data-key="title"]'];
    const to = wanted.map((selector) => page.querySelector(selector)).find(Boolean);
    /** @type {HTMLElement | null | undefined} */ (to)?.focus({ preventScroll: true });
  }

  /** A stop that was begun and is left: said to the gallery, so that "2 of 6" is known there too. */
  async function halfDone() {
    if (!here) return;
    const state = round.stateOf(here);
    const begunHere = round.log.some(({ action }) => action.stop_id === here?.id && action.kind !== "stop_leave");
    if (state.finished || state.done === 0 || !begunHere) return;
    await round.append([{ kind: "stop_leave", stop_id: here.id, body: { done: state.done, of: state.of, reason: null } }]).catch(() => null);
  }

  async function leave() {
    await halfDone();
    await Promise.race([sender.tryNow(), new Promise((done) => setTimeout(done, 3_000))]);
    counts = await store.counts();
    if (counts.waiting === 0) return location.assign(app.addresses.board);
    app.panel = { name: "leave" };
    app.draw();
  }

  /** @param {Stop} stop */
  async function fetchAround(stop) {
    const at = pack.stops.indexOf(stop);
    const near = pack.stops.slice(at, at + 3).map((s) => round.tankOf(s)?.drawing).filter((a) => typeof a === "string");
    await fetchDrawing(near[0] ?? "");
    const art = page.querySelector(".stop-art");
    if (here === stop && art) art.replaceWith(artOf(app, stop));
    for (const address of near.slice(1)) await fetchDrawing(address);
  }

  /** With the drawings of the tanks that its lines are about, which may be of another zone. */
  async function openHandover() {
    app.open({ name: "handover" });
    const told = new Set(round.unread().map((line) => line.tank));
    for (const tank of pack.tanks) if (told.has(tank.code)) await fetchDrawing(tank.drawing ?? "");
    if (app.panel?.name === "handover") app.draw();
  }

  function draftsKey() {
    return `${pack.round.id} ${round.context.person_id}`;
  }

  function begin() {
    matchMedia("(max-width: 40rem)").addEventListener("change", () => app.draw()); // how much of the walk there is room for
    const wanted = decodeURIComponent(location.hash.slice(1));
    const first = pack.stops.find((stop) => round.codeOf(stop) === wanted && stop.empty_day === null);
    const begun = first ? { stop: first, passed: [] } : nextStop(pack.stops, round.states, null);
    show(round.closedAt || page.dataset.screen === "close" ? null : begun.stop, begun.passed);
    if (page.dataset.screen === "stop" && !round.closedAt && round.unread().length) void openHandover();
  if (page.dataset.screen === "skip" && here) app.open({ name: "skip" });
  }

  return app;
}
