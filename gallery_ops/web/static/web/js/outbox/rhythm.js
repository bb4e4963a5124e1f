// When does a page try to send? After each entry, when the network is back, when somebody looks at the page again,
// and every half minute while something waits.

export const EVERY_MS = 30_000;

/**
 * @param {object} parts
 * @param {import("./sender.js").Store} parts.store
 * @param {import("./sender.js").Sender} parts.sender
 * @param {import("./photo_sender.js").PhotoSender} parts.photoSender
 * @param {() => number} parts.waiting  entries that wait, as the page knows
 * @param {() => void} parts.heard  something has changed
 * @returns {() => void} tries at once, asks what became of what is held, then sends photos
 */
export function keepSending({ store, sender, photoSender, waiting, heard }) {
  store.onChange(() => {
    heard();
    if (sender.state !== "sending") sender.nudge();
  });
  sender.onChange(() => {
    heard();
    if (sender.state === "resting") void photoSender.nudge();
  });
  const send = () => void sender.tryNow().then(() => Promise.all([sender.ask(), photoSender.tryNow()]));
  addEventListener("online", send);
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") send();
    else void sender.lastWord();
  });
  setInterval(() => {
    if (waiting() && sender.state === "resting") void sender.send();
  }, EVERY_MS);
  return send;
}
