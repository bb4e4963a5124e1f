// A photo of what is seen at a stop: made smaller here, which leaves out where and with what it was
// taken, and kept with its entry in one go.

import { button, h } from "./dom.js";
import { vessel } from "./marks.js";
import { readRoom, tablet } from "./offline.js";
import { roomWords } from "./outbox_words.js";
import { photoNotKept, photosRest } from "./refusals.js";

/** @typedef {import("./app.js").App} App */
/** @typedef {import("./pack.js").Stop} Stop */
/** @typedef {import("../outbox/photos.js").Picture} Picture */
/** @typedef {import("../outbox/photos.js").KeptPhoto} KeptPhoto */

export const LONGEST_SIDE = 2_560;
const QUALITY = 0.85;
const TYPE = "image/jpeg";
const FRONT = "front";

/**
 * Width and height that fit, upright or lying; never larger than it was.
 * @param {number} width
 * @param {number} height
 * @returns {{width: number, height: number}} [px]
 */
export function fitted(width, height) {
  const by = Math.min(1, LONGEST_SIDE / Math.max(width, height));
  return { width: Math.max(1, Math.round(width * by)), height: Math.max(1, Math.round(height * by)) };
}

/**
 * @param {File} file
 * @returns {Promise<Picture>}
 */
async function shrunk(file) {
  const bitmap = await createImageBitmap(file, { imageOrientation: "from-image" });
  const canvas = document.createElement("canvas");
  Object.assign(canvas, fitted(bitmap.width, bitmap.height));
  const pen = canvas.getContext("2d");
  if (!pen) throw new Error("no canvas");
  pen.fillStyle = "white";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  bitmap.close();
  const blob = await new Promise((done) => canvas.toBlob(done, TYPE, QUALITY));
  if (!(blob instanceof Blob)) throw new Error("no picture");
  const bytes = await blob.arrayBuffer();
  return { bytes, sha256: await hashOf(bytes) };
}

/** @param {ArrayBuffer} bytes @returns {Promise<string>} SHA-256 in hex */
export async function hashOf(bytes) {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/**
 * @param {Stop} stop
 * @param {Picture} picture
 * @param {string} viewpoint
 * @returns {import("../outbox/envelope.js").Draft}
 */
export function photoDraft(stop, picture, viewpoint) {
  return { kind: "photo", stop_id: stop.id, body: { sha256: picture.sha256, size_bytes: picture.bytes.byteLength, media_type: TYPE, viewpoint: viewpoint.slice(0, 20), entry: null } };
}

/** @param {Stop} stop @param {import("./pack.js").Entry[]} entries @param {string} viewpoint */
function taken(stop, entries, viewpoint) {
  return entries.filter((entry) => entry.kind === "photo" && entry.body.viewpoint === viewpoint.slice(0, 20));
}

/**
 * Is there room, as the browser says now? From 80 % on photos wait first, entries never; what the gallery has is let go before.
 * @param {App} app
 * @returns {Promise<boolean>}
 */
async function hasRoom(app) {
  const isThere = async () => {
    await readRoom();
    return !roomWords(tablet).full;
  };
  return app.holds() === "page" || (await isThere()) || ((await app.makeRoom().catch(() => 0)) > 0 && (await isThere()));
}

/**
 * A button that opens the camera. What became of the photo is said beneath it, whatever it was.
 * @param {App} app
 * @param {{label: string, key: string, use: (picture: Picture) => Promise<string> | string}} of  use: with what was taken; says why it was not kept, empty where it was
 * @returns {HTMLElement}
 */
export function photoInput(app, { label, key, use }) {
  const said = h("p", { class: "note", role: "status", "aria-live": "polite" });
  const say = (/** @type {string} */ text, bad = false) => {
    said.className = bad ? "notice" : "note";
    said.replaceChildren(text);
    if (bad) app.say(text); // also where the page was drawn anew meanwhile
  };
  if (!globalThis.crypto?.subtle) return h("p", { class: "note" }, "Photos need an address that begins with https.");
  const input = /** @type {HTMLInputElement} */ (h("input", { class: "vh", type: "file", accept: "image/jpeg,image/png,image/webp", capture: "environment", "data-key": key }));
  input.addEventListener("change", async () => {
    const file = input.files?.[0];
    input.value = "";
    if (!file) return;
    say("Making it smaller…");
    if (!(await hasRoom(app))) return say(photosRest(roomWords(tablet).words), true);
    let picture;
    try {
      picture = await shrunk(file);
    } catch {
      return say("Not kept: this cannot be read as a picture. Take it again, or choose a JPEG, PNG or WebP.", true);
    }
    try {
      const why = await use(picture);
      say(why, Boolean(why));
    } catch (error) {
      say(photoNotKept(error), true);
    }
  });
  return h("div", { class: "photo-in" }, h("label", { class: "btn btn-wet" }, label, input), said);
}

/**
 * Photos of one look, or of what else is meant; each is an entry of its own.
 * @param {App} app
 * @param {Stop} stop
 * @param {string} viewpoint
 * @param {string} [label]
 */
export function photoField(app, stop, viewpoint, label = "Take a photo") {
  const count = taken(stop, app.round.stateOf(stop).entries, viewpoint).length;
  const { panel } = app;
  const use = async (/** @type {Picture} */ picture) => {
    if (!(await app.enter(stop, [photoDraft(stop, picture, viewpoint)], "Photo", [picture]))) return photoNotKept(app.refusal);
    if (panel) app.open(panel);
    return "";
  };
  return h("div", { class: "field" }, count > 0 && h("p", { class: "note" }, vessel("done"), ` ${count === 1 ? "One photo" : `${count} photos`} kept.`), photoInput(app, { label: count ? "Take another" : label, key: `photo ${viewpoint}`, use }));
}

/**
 * @param {App} app
 * @param {Stop} stop
 * @returns {boolean} a photo was asked for and is not taken yet
 */
export function wantsPhoto(app, stop) {
  return Boolean(stop.asks_photo) && !taken(stop, app.round.stateOf(stop).entries, FRONT).length;
}

/**
 * The photo that this stop asks for today; it may be left.
 * @param {App} app
 * @param {Stop} stop
 * @param {Stop | null} next  where to go on without it, once all else is done
 * @param {(action: string) => Node | null} undo
 */
export function askedPhoto(app, stop, next, undo) {
  if (!stop.asks_photo) return null;
  const entry = taken(stop, app.round.stateOf(stop).entries, FRONT).at(-1);
  if (entry) return h("div", { class: "row" }, vessel("done"), h("p", {}, h("b", {}, "Photo"), ` from the front, ${app.words.time(entry.done_at)}`), undo(entry.action_id) ?? h("span", {}));
  return [h("h2", { class: "half-h" }, "One photo, asked for this week"), photoField(app, stop, FRONT, "Take it from the front"), app.round.stateOf(stop).finished && next && h("p", {}, button(`Go on to ${app.round.codeOf(next)} without it`, () => app.go(next), { class: "btn btn-wet", "data-key": "go on" }))];
}

/**
 * What became of a photo, for the list of what waits here.
 * @param {KeptPhoto} photo
 * @param {import("../outbox/photo_sender.js").PhotoSender} sender
 * @returns {string}
 */
export function photoWords(photo, sender) {
  const size = photo.size_bytes >= 1e6 ? `${(photo.size_bytes / 1e6).toFixed(1)} MB` : `${Math.ceil(photo.size_bytes / 1e3)} kB`;
  if (photo.state === "sent") return `${size}, with the gallery`;
  if (photo.state === "refused") return photo.why || "Not sent: the gallery could not read it.";
  if (sender.travels?.action_id === photo.action_id) return `${size}, ${Math.round(sender.travels.part * 100)} % sent`;
  const why = { resting: "waits", last: "waits for the entries", sending: "waits for the one before", away: "waits, no answer", sign_in: "waits, asks who is here", unnoted: "waits, no room here to note that it was sent: make room", unread: "waits, this tablet does not give it out: load this page again" };
  return `${size}, ${why[sender.state]}`;
}
