// A card outside a round: each press is sent at once; without the network an enrolled tablet keeps it in its outbox.

import { envelopes, tenBytes, uuid7 } from "../outbox/envelope.js";
import { openStore } from "../outbox/store.js";
import { openLockStore } from "../round/lock_store.js";
import { draftsOf } from "./card_deeds.js";

const OLD_MS = 12 * 3_600_000; // a page kept since longer shows an emergency that is another by now
const main = document.getElementById("main");
const forms = /** @type {NodeListOf<HTMLFormElement>} */ (main?.querySelectorAll("form[data-card]"));

if (main && forms.length) {
  const shell = main.dataset;
  const isOld = Math.abs(Date.now() - Date.parse(shell.now ?? "")) > OLD_MS && shell.device;
  let isRunning = shell.running === "1" && !isOld;
  const fresh = uuid7(Date.now(), tenBytes());
  if (!isRunning) for (const form of forms) form.elements.namedItem("incident").value = fresh;

  for (const form of forms) form.addEventListener("submit", async (event) => {
    const pressed = event.submitter;
    if (!pressed?.value) return;
    event.preventDefault();
    const given = new FormData(form, pressed);
    try {
      const answer = await fetch(form.action, { method: "POST", body: given, credentials: "same-origin" });
      if (!answer.ok) throw new Error(String(answer.status));
      location.assign(answer.url);
    } catch {
      await keepHere(pressed, given);
    }
  });

  async function keepHere(pressed, given) {
    const at = new Date();
    try {
      if (!shell.device) throw new Error("no tablet");
      const who = await (await openLockStore()).get("who");
      const which = { id: String(given.get("incident")), card: String(shell.card), drill: given.get("drill") === "1" };
      const drafts = draftsOf(which, Object.fromEntries(given), isRunning);
      if (!drafts) return say("Write it first, or choose a place.");
      const store = await openStore({ deviceId: shell.device, nextSeq: Number(shell.nextSeq), keeps: "tablet" });
      if (store.holds !== "tablet") throw new Error("nothing is kept");
      const context = { device_id: shell.device, round_id: null, person_id: who?.person ?? shell.person, person_proof: "pin", boot_id: uuid7(at.getTime(), tenBytes()) };
      await store.append(envelopes(drafts, context, { now: () => at, monotonic: () => performance.now() }));
      isRunning = true;
      stamp(pressed, at);
      say("No network: kept on this tablet, sent when it is back. It has told nobody. Ring.");
    } catch {
      stamp(pressed, at);
      say("No network, and this page keeps nothing: write the times on paper. Ring.");
    }
  }

  function stamp(pressed, at) {
    const time = at.toLocaleTimeString("en-GB", { timeZone: shell.zone || undefined, hourCycle: "h23" });
    pressed.setAttribute("aria-pressed", "true");
    const told = pressed.querySelector(".stamp span, small") ?? pressed;
    told.className = "";
    told.textContent = pressed.querySelector(".stamp span, small") ? time : `${pressed.textContent} ${time}`;
    pressed.closest("li")?.classList.replace("is", "was");
  }

  function say(words) {
    const notice = document.getElementById("card-said");
    if (!notice) return;
    notice.className = "notice loud";
    notice.hidden = false;
    notice.textContent = words;
  }
}
