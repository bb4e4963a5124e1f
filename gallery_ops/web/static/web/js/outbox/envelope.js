// How does one entry become an action that can be sent twice and count once?

/**
 * What a screen says about one entry.
 * @typedef {object} Draft
 * @property {string} kind
 * @property {string | null} [stop_id]
 * @property {string | null} [task_id]
 * @property {string | null} [plan_version]
 * @property {string | null} [corrects]  action_id of the entry it corrects
 * @property {Record<string, unknown>} body
 */

/**
 * Who enters, on what, in which round.
 * @typedef {object} Context
 * @property {string} device_id
 * @property {string} round_id
 * @property {string} person_id
 * @property {"pin" | "badge" | "session"} person_proof
 * @property {string} boot_id
 */

/**
 * An action as it is sent. Written once, never changed.
 * @typedef {Required<Draft> & Context & {action_id: string, seq: number, schema: 1, done_at: string, monotonic_ms: number}} Action
 */

/**
 * UUID version 7: milliseconds since 1970, then random bits (RFC 9562, 5.7).
 * @param {number} ms
 * @param {Uint8Array} random  10 bytes
 * @returns {string}
 */
export function uuid7(ms, random) {
  const bytes = new Uint8Array(16);
  let rest = Math.floor(ms);
  for (let i = 5; i >= 0; i -= 1) {
    bytes[i] = rest % 256;
    rest = Math.floor(rest / 256);
  }
  bytes.set(random.subarray(0, 10), 6);
  bytes[6] = (bytes[6] & 0x0f) | 0x70;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (b) => b.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

/** @returns {Uint8Array} ten random bytes */
export function tenBytes() {
  return crypto.getRandomValues(new Uint8Array(10));
}

/**
 * The device's wall clock with its offset, RFC 3339.
 * @param {Date} at
 * @param {number} [offset]  minutes behind UTC, as Date.getTimezoneOffset
 * @returns {string}
 */
export function wallClock(at, offset = at.getTimezoneOffset()) {
  const local = new Date(at.getTime() - offset * 60_000).toISOString().slice(0, 23);
  const ahead = Math.abs(offset);
  const hours = String(Math.floor(ahead / 60)).padStart(2, "0");
  const minutes = String(ahead % 60).padStart(2, "0");
  return `${local}${offset > 0 ? "-" : "+"}${hours}:${minutes}`;
}

/**
 * One text for one content: keys sorted, no spaces.
 * @param {unknown} value
 * @returns {string}
 */
export function canonical(value) {
  if (Array.isArray(value)) return `[${value.map(canonical).join(",")}]`;
  if (value !== null && typeof value === "object") {
    const pairs = Object.entries(value)
      .filter(([, v]) => v !== undefined)
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([k, v]) => `${JSON.stringify(k)}:${canonical(v)}`);
    return `{${pairs.join(",")}}`;
  }
  return JSON.stringify(value) ?? "null";
}

/**
 * Everything of an action but its seq, which the store gives when it writes.
 * Entries of one tap share their moment.
 * @param {Draft[]} drafts
 * @param {Context} context
 * @param {{now: () => Date, monotonic: () => number, random?: () => Uint8Array}} clock
 * @returns {Omit<Action, "seq">[]}
 */
export function envelopes(drafts, context, clock) {
  const at = clock.now();
  const done_at = wallClock(at);
  const monotonic_ms = Math.max(0, Math.floor(clock.monotonic()));
  const random = clock.random ?? tenBytes;
  return drafts.map((draft) => ({
    action_id: uuid7(at.getTime(), random()),
    device_id: context.device_id,
    schema: 1,
    kind: draft.kind,
    round_id: context.round_id,
    stop_id: draft.stop_id ?? null,
    task_id: draft.task_id ?? null,
    person_id: context.person_id,
    person_proof: context.person_proof,
    done_at,
    monotonic_ms,
    boot_id: context.boot_id,
    plan_version: draft.plan_version ?? null,
    corrects: draft.corrects ?? null,
    body: draft.body,
  }));
}
