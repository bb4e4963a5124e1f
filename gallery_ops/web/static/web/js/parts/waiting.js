// What is kept on this tablet, told on pages that are not the round, and sent from them.
// A tablet that is put down after a round lies on one of these when the network comes back.

import { tenBytes, uuid7 } from "../outbox/envelope.js";
import { keepSending } from "../outbox/rhythm.js";
import { makeSenders } from "../outbox/senders.js";
import { openIfThere } from "../outbox/tablet_store.js";
import { openLockStore } from "../round/lock_store.js";
import { lookForUpdate } from "../round/update.js";
import { outboxWords, wordsFor } from "../round/words.js";

const line = document.getElementById("waiting");
const shell = line.dataset;
const clock = { now: () => new Date(), monotonic: () => performance.now() };
const words = wordsFor({ zone: shell.zone, language: document.documentElement.lang, decimal_mark: "." });

/**
 * @param {{strong: string, text: string, notice: boolean}} said
 * @param {boolean} leads  to the list of what needs a person; what was not sent is not on it
 */
function say({ strong, text, notice }, leads) {
  line.className = notice ? "notice watch-wide" : "kept-line";
  const [all, weight] = [document.createElement("span"), document.createElement("b")];
  weight.textContent = strong;
  all.append(...(strong ? [weight, ` ${text}`] : [text]));
  if (all.textContent === line.firstElementChild?.textContent) return; // read aloud once
  line.replaceChildren(all);
  if (leads && shell.held) {
    const way = document.createElement("a");
    way.href = shell.held;
    way.textContent = shell.heldWords;
    line.append(way);
  }
  line.hidden = false;
}

async function begin() {
  const store = await openIfThere(shell.device);
  if (!store) return;
  /** @type {Awaited<ReturnType<typeof makeSenders>> | null} */
  let senders = null;
  let counts = await store.counts();

  const photosLeft = async () => {
    const all = await store.photos.all();
    return { waiting: all.filter((photo) => photo.waits).length, refused: 0, stuck: ["unnoted", "unread"].includes(senders?.photoSender.state ?? "") };
  };

  const look = async () => {
    const photos = await photosLeft();
    counts = await store.counts();
    if (!senders && !counts.waiting && !counts.held && !counts.unreadable && !photos.waiting) return;
    senders ??= await (making ??= make());
    const { sender } = senders;
    const lastAnswer = sender.lastAnswer && new Date(sender.lastAnswer.getTime() + (sender.offsetMs ?? 0));
    say(outboxWords({ counts, owing: sender.isOwing, photos, holds: "tablet", state: sender.state, lastAnswer, offsetMs: sender.offsetMs, now: clock.now() }, words), counts.held > 0);
  };

  /** @type {ReturnType<typeof makeSenders> | null} */
  let making = null;
  async function make() {
    const kept = await openLockStore();
    const made = await makeSenders({ store, kept, address: shell.outbox, headers: { "X-CSRFToken": shell.csrf, "X-Gallery-Ops": "outbox" }, deviceId: shell.device, bootId: uuid7(Date.now(), tenBytes()), epoch: "", clock });
    const heard = async () => {
      await look();
      const registration = await navigator.serviceWorker?.getRegistration();
      await lookForUpdate({ store: kept, page: { round: "", isOpen: false, waiting: counts.waiting, now: Date.now() }, registration });
    };
    keepSending({ store, ...made, waiting: () => counts.waiting, heard: () => void heard() })();
    return made;
  }

  store.onChange(() => void (senders || look()));
  await look();
}

begin()
  .catch(() => say(outboxWords({ counts: { waiting: 0, held: 0, unreadable: 0, oldest: null }, shut: true, holds: "tablet", state: "resting", lastAnswer: null, offsetMs: null, now: clock.now() }, words), false))
  .finally(() => (document.documentElement.dataset.looked = "1"));
