// One task skipped: which reason, what it needs, what follows.

/** @typedef {import("../pack.js").Reason} Reason */
/** @typedef {import("../pack.js").Task} Task */
/** @typedef {{person: string | null, name: string | null, at: string}} Claim  who is said to have done it; at: local date and hour */
/** @typedef {{text: string, until: string | null, links: string | null, claim?: Claim | null}} Answer */

/** @type {Answer} */
export const NO_ANSWER = Object.freeze({ text: "", until: null, links: null });

/**
 * What still has to be given inside the row; null when the reason can be used.
 * @param {Reason} reason
 * @param {Answer} answer
 * @returns {string | null}
 */
export function missing(reason, answer) {
  const text = answer.text.trim();
  if (text.length > 500) return "At most 500 characters. Say it shorter.";
  switch (reason.asks) {
    case "value":
      return text ? null : "Write the value or what you saw that shows it is not needed.";
    case "words":
      return text ? null : "Say it in a few words.";
    case "date":
      return answer.until ? null : "Choose the day until which it rests.";
    case "hour":
      return answer.until ? null : "Choose the hour until which it rests.";
    case "person":
      return answer.links ? null : "Choose who does it.";
    case "entry":
      if (answer.links) return null;
      if (!answer.claim?.person && !answer.claim?.name?.trim()) return "Choose the entry, or say who did it.";
      return answer.claim.at ? null : "Say at what time it was done.";
    default:
      return null;
  }
}

/**
 * What the books say against a tank that is called empty; null where they agree or another reason is meant.
 * @param {Reason} reason
 * @param {import("../pack.js").Stop} stop
 * @returns {string | null}
 */
export function notEmpty(reason, stop) {
  if (reason.code !== "tank_empty" || !stop.tank || stop.empty_day !== null) return null;
  const heads = stop.batches.reduce((sum, batch) => sum + (batch.count ?? 0), 0);
  const lives = heads ? `${heads} ${heads === 1 ? "animal lives" : "animals live"} here` : "a layout stands here";
  return `By the books ${lives}. Is it this tank? The skip is kept, its tasks stay due, and a person looks at it.`;
}

/**
 * What the button says: the result.
 * @param {Reason} reason
 * @param {Answer} answer
 * @param {{day: (date: string) => string, person: (id: string) => string}} read
 * @param {Task[]} [tasks]  what is skipped
 * @returns {string}
 */
export function result(reason, answer, read, tasks = []) {
  if (reason.asks === "date" && answer.until) return `rests until ${read.day(answer.until)}`;
  if (reason.asks === "hour" && answer.until) return `rests until ${answer.until.slice(11)}`;
  if (reason.asks === "entry" && !answer.links) return "counts done, as said";
  if (reason.asks === "person" && answer.links) return `goes to ${read.person(answer.links)}`;
  if (reason.code === "not_needed") {
    const dates = new Set(tasks.map((task) => task.next_on ?? null));
    const [on] = dates;
    if (dates.size === 1 && on) return `next on ${read.day(on)}`;
  }
  const results = { moves: "the next date moves", late: "stays due, counts late", handed: "goes to another person", rests: "rests until the tank is filled", linked: "counts done", first_minute: "then First minute" };
  return results[reason.line];
}

/**
 * @param {import("../pack.js").Stop} stop
 * @param {Task} task
 * @param {Reason} reason
 * @param {Answer} answer
 * @returns {import("../../outbox/envelope.js").Draft}
 */
export function draft(stop, task, reason, answer) {
  const { claim, links } = answer;
  const said = reason.asks === "entry" && !links && claim ? { claim: { person: claim.person, name: claim.person ? null : (claim.name?.trim() ?? null), at: claim.at } } : {};
  return { kind: "skip", stop_id: stop.id, task_id: task.id, body: { task: task.id, reason: reason.code, text: answer.text.trim() || null, until: answer.until, links, ...said } };
}

/**
 * A time of the clock as the local date and hour of this business day.
 * @param {string} clock  "23:50"
 * @param {{business_date: string, cut_off_hour: number}} day
 */
export function hourOfDay(clock, { business_date, cut_off_hour }) {
  if (!/^\d{2}:\d{2}$/.test(clock)) return "";
  const later = Number(clock.slice(0, 2)) < cut_off_hour ? 86_400_000 : 0;
  const date = new Date(Date.parse(`${business_date}T12:00:00Z`) + later).toISOString().slice(0, 10);
  return `${date}T${clock}`;
}

const RANK = ["C1", "C2", "C3"];

/**
 * The highest skill that these tasks need; empty where everybody has it.
 * @param {Task[]} tasks
 */
export function needs(tasks) {
  const rank = Math.max(0, ...tasks.map((task) => RANK.indexOf(task.skill)));
  return rank ? RANK[rank] : "";
}

/**
 * Who can be handed all of these tasks.
 * @param {import("../pack.js").Person[]} people
 * @param {Task[]} tasks
 * @param {string} me
 */
export function able(people, tasks, me) {
  const wanted = needs(tasks);
  return people.filter((person) => person.id !== me && (!wanted || person.skills.includes(wanted)));
}

/**
 * When each task comes up next if it is not needed now.
 * @param {Task[]} tasks
 */
export function nextOn(tasks) {
  return tasks.map((task) => ({ task, on: task.next_on ?? null }));
}
