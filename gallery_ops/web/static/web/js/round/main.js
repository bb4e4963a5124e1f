// The round in the browser: fetches the pack, opens the outbox, shows one stop at a time.

import { makeSenders } from "../outbox/senders.js";
import { openStore } from "../outbox/store.js";
import { uuid7, tenBytes } from "../outbox/envelope.js";
import { button, h } from "./dom.js";
import { Lock } from "./lock.js";
import { memoryStore, openLockStore } from "./lock_store.js";
import { makeApp } from "./making.js";
import { askToStay, tablet } from "./offline.js";
import { readPack } from "./pack.js";
import { stillKept } from "./refusals.js";
import { Round } from "./round.js";
import { run } from "./running.js";
import { clock, page } from "./shell.js";
import { forgetting } from "./start_notice.js";

const ASKED_MS = 400; // a browser that asks the person answers later: the round does not wait for that

/** @param {string} sentence @param {string} detail */
function cannotBegin(sentence, detail) {
  page.className = "stop close";
  page.replaceChildren(
    h("h1", { class: "lede ob-h", tabindex: -1 }, sentence),
    h("p", {}, detail),
    h("div", { class: "acts" }, button("Try again", () => location.reload(), { class: "btn btn-act btn-wet" }), h("a", { class: "btn btn-wet", href: page.dataset.paper }, "Take the paper round"), h("a", { class: "btn btn-wet", href: page.dataset.board }, "Today"), h("a", { class: "firstmin", href: page.dataset.firstMinute }, "First minute")),
  );
}

/**
 * @param {import("./pack.js").Pack} pack
 * @param {string} page  names this opening of the page
 * @param {boolean} isKept
 * @param {import("./lock_store.js").LockStore} store
 */
async function theLock(pack, page, isKept, store) {
  const shell = document.getElementById("main")?.dataset ?? {};
  const world = { now: clock.now, monotonic: clock.monotonic, fetch: (/** @type {Parameters<typeof fetch>} */ ...given) => fetch(...given), subtle: globalThis.crypto?.subtle ?? null, wait: (/** @type {number} */ ms) => new Promise((done) => setTimeout(done, ms)) };
  const lock = new Lock({ people: pack.people, you: pack.you.person, salt: pack.tablet?.pin_salt ?? "", store, world, page, session: String(shell.signedIn ?? ""), addresses: { unlock: String(shell.unlock), tries: String(shell.tries) } });
  await lock.begin(isKept);
  return lock;
}

/** Of this tablet, as soon as it was opened. @type {import("../outbox/sender.js").Store | null} */
let opened = null;

/** @returns {Promise<Response>} */
async function fetchPack() {
  try {
    return await fetch(String(page.dataset.pack), { credentials: "same-origin", headers: { Accept: "application/json" } });
  } catch {
    throw new Error("The gallery does not answer, and this round was not put on this tablet before.");
  }
}

async function begin() {
  const shell = page.dataset;
  const store = (opened = await openStore({ deviceId: shell.device ?? "", nextSeq: Number(shell.nextSeq ?? 1), keeps: shell.keeps === "tablet" ? "tablet" : "page" }));
  const staying = shell.keeps === "tablet" ? askToStay() : null;
  const had = await store.acknowledgedIds();
  const response = await fetchPack();
  if (!response.ok) throw new Error(response.status === 401 || response.status === 403 ? "Sign in again: the gallery asks who is here." : `The gallery answered ${response.status}.`);
  const pack = readPack(await response.json());
  const boot_id = uuid7(Date.now(), tenBytes());
  const context = { device_id: String(shell.device), round_id: pack.round.id, person_id: pack.you.person, person_proof: /** @type {"pin" | "session"} */ (shell.proof ?? "session"), boot_id };
  const isKept = response.headers.has("X-Kept"); // of before: what was acknowledged since is not in it
  const round = new Round({ pack, store, context, clock, inPack: isKept ? new Set() : had });
  const kept = shell.keeps === "tablet" ? await openLockStore() : memoryStore();
  const headers = { "X-CSRFToken": String(shell.csrf ?? ""), "X-Gallery-Ops": "outbox" };
  const { sender, photoSender, offsetMs } = await makeSenders({ store, kept, address: String(shell.outbox), headers, deviceId: context.device_id, bootId: boot_id, epoch: pack.epoch, clock });
  round.measured(offsetMs);
  if (!isKept && shell.keeps === "tablet") await sender.meet(pack.epoch, Number(shell.nextSeq ?? 1) - 1);
  const lock = shell.keeps === "tablet" ? await theLock(pack, boot_id, isKept, kept) : null;
  if (lock) Object.assign(context, { person_id: lock.person, person_proof: lock.isLocked ? "pin" : lock.proof });
  await round.refresh();
  await round.readHandover();
  const app = makeApp(round, store, sender, photoSender, lock);
  if (staying) {
    await Promise.race([staying, new Promise((done) => setTimeout(done, ASKED_MS))]);
    const key = `told ${pack.round.id}`;
    if (!round.closedAt && !(await kept.get(key))) app.warned = forgetting(tablet, { isSecure: globalThis.isSecureContext, hasWorker: Boolean(navigator.serviceWorker) });
    app.onUnderstood = () => void kept.put(key, true);
  }
  await app.takeUp();
  run(app, store, sender, photoSender);
}

begin().catch(async (/** @type {Error} */ error) => {
  const counts = opened && !opened.shut ? await opened.counts().catch(() => null) : null;
  const said = /[.!?]$/.test(error.message) ? error.message : `${error.message}.`;
  cannotBegin("The round cannot be opened here.", `${said} ${stillKept(counts, page.dataset.keeps === "tablet" ? "tablet" : "page")} Take the paper round, or a tablet that is enrolled.`);
  document.documentElement.dataset.ready = "failed";
});
