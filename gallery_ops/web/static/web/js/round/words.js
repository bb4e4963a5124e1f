// Every sentence of the round that is more than a label: amounts, times, what waits, what follows.

/**
 * @typedef {object} Words  bound to one showroom's zone, language and decimal mark
 * @property {(ul: number, places?: number) => string} ml
 * @property {(mg: number) => string} grams
 * @property {(value: number | string) => string} number
 * @property {(at: string | Date) => string} time
 * @property {(at: string | Date) => string} second
 * @property {(at: string, now: Date) => string} when
 * @property {(at: string, now: Date) => string} moment  the time; with its day where that is not today
 * @property {(date: string) => string} day
 * @property {(date: string) => string} shortDay
 * @property {(date: string) => string} weekday
 */

const NUMBERS = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];

/**
 * @param {number} n
 * @returns {string} in a word up to twelve
 */
export function count(n) {
  return NUMBERS[n] ?? String(n);
}

/** @param {string} text */
export function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/**
 * @param {string[]} parts
 * @returns {string} a, b and c
 */
export function listed(parts) {
  return parts.length < 2 ? (parts[0] ?? "") : `${parts.slice(0, -1).join(", ")} and ${parts.at(-1)}`;
}

/**
 * An integer of thousandths as text, without binary fractions.
 * @param {number} thousandths
 * @param {number} places  0 to 3, rounded half up
 * @param {string} mark
 * @param {boolean} trim  leaves out closing noughts
 */
export function thousandthsText(thousandths, places, mark, trim) {
  const unit = 10 ** (3 - places);
  const rounded = Math.floor((thousandths + unit / 2) / unit);
  const whole = Math.floor(rounded / 10 ** places);
  let part = String(rounded % 10 ** places).padStart(places, "0");
  if (places === 0) part = "";
  if (trim) part = part.replace(/0+$/, "");
  return part ? `${whole}${mark}${part}` : String(whole);
}

/**
 * @param {{zone: string, language: string, decimal_mark: string}} showroom
 * @returns {Words}
 */
export function wordsFor({ zone, language, decimal_mark }) {
  const locale = language === "en" ? "en-GB" : language;
  const clock = new Intl.DateTimeFormat(locale, { timeZone: zone, hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
  const seconds = new Intl.DateTimeFormat(locale, { timeZone: zone, hour: "2-digit", minute: "2-digit", second: "2-digit", hourCycle: "h23" });
  const dayIn = new Intl.DateTimeFormat("en-CA", { timeZone: zone, year: "numeric", month: "2-digit", day: "2-digit" });
  const format = (/** @type {Intl.DateTimeFormatOptions} */ options) => new Intl.DateTimeFormat(locale, { timeZone: "UTC", ...options });
  const parts = { weekday: format({ weekday: "long" }), short: format({ weekday: "short" }), long: format({ weekday: "short", day: "numeric", month: "long" }), button: format({ weekday: "short", day: "numeric" }), month: format({ day: "numeric", month: "long" }) };
  const noon = (/** @type {string} */ date) => new Date(`${date}T12:00:00Z`);
  const time = (/** @type {string | Date} */ at) => clock.format(new Date(at));
  return {
    ml: (ul, places = 1) => `${thousandthsText(ul, places, decimal_mark, true)} mL`,
    grams: (mg) => `${thousandthsText(mg, 3, decimal_mark, true)} g`,
    number: (value) => String(value).replace(".", decimal_mark),
    time,
    second: (at) => seconds.format(new Date(at)),
    when: (at, now) => {
      const then = dayIn.format(new Date(at));
      const today = dayIn.format(now);
      const days = Math.round((noon(today).getTime() - noon(then).getTime()) / 86_400_000);
      if (days === 0) return `today ${time(at)}`;
      if (days > 0 && days < 7) return `${parts.short.format(noon(then))} ${time(at)}`;
      return parts.month.format(noon(then));
    },
    moment: (at, now) => {
      const then = dayIn.format(new Date(at));
      const days = Math.round((noon(dayIn.format(now)).getTime() - noon(then).getTime()) / 86_400_000);
      return days === 0 ? time(at) : `${(days > 0 && days < 7 ? parts.short : parts.month).format(noon(then))} ${time(at)}`;
    },
    day: (date) => parts.long.format(noon(date)),
    shortDay: (date) => parts.button.format(noon(date)),
    weekday: (date) => parts.weekday.format(noon(date)),
  };
}

/**
 * A last value as hint: what, when, by whom.
 * @param {import("./pack.js").Last | null} last
 * @param {Words} words
 * @param {Date} now
 */
export function hint(last, words, now) {
  if (!last) return "";
  return `${last.text}. ${words.when(last.at, now)}${last.by ? `, ${last.by}` : ""}`;
}

/**
 * Photos that are not with the gallery. stuck: this tablet has no room to note what was sent, or does not give one out.
 * @typedef {{waiting: number, refused: number, stuck: boolean}} PhotosLeft
 */

/**
 * What waits, in the line at the top. Few entries ask nothing of anybody, with the network or without:
 * they are kept and go by themselves. Many, or old ones, are a notice.
 * @param {{counts: import("../outbox/store.js").Counts, shut?: boolean, owing?: boolean, photos?: PhotosLeft, full?: boolean, holds: "page" | "tablet", state: import("../outbox/sender.js").State, lastAnswer: Date | null, offsetMs: number | null, now: Date}} outbox
 * @param {Words} words
 * @returns {{strong: string, text: string, notice: boolean, loud: boolean}}
 */
export function outboxWords({ counts, shut = false, owing = false, photos = { waiting: 0, refused: 0, stuck: false }, full = false, holds, state, lastAnswer, offsetMs, now }, words) {
  const hours = counts.oldest ? (now.getTime() - Date.parse(counts.oldest)) / 3_600_000 : 0;
  const onTablet = holds === "tablet";
  const kept = onTablet ? "Kept on this tablet" : "Kept in this page, leave it open";
  const goes = counts.waiting === 1 ? "it goes by itself" : "they go by themselves";
  if (shut) return { strong: "This tablet does not open its list", text: "What waits in it cannot be known", notice: true, loud: true };
  if (state === "sign_in") return { strong: "Sign in again", text: `${counts.waiting} ${counts.waiting === 1 ? "waits" : "wait"} for it. ${kept}`, notice: true, loud: false };
  if (state === "unnoted") return { strong: `${counts.waiting} to be confirmed`, text: "The gallery has them, this tablet has no room to note it. Make room on it", notice: true, loud: true };
  if (state === "stopped") return { strong: `${counts.waiting} not sent`, text: `The gallery could not read them. ${kept}; tell the manager`, notice: true, loud: true };
  if (owing) return { strong: "Some must be sent again", text: "The gallery lost them, this tablet has no room to note it. Make room on it", notice: true, loud: true };
  if (counts.unreadable) return { strong: `${counts.unreadable} could not be read`, text: "Kept; tell the manager", notice: true, loud: true };
  if (hours >= 24) return { strong: `${counts.waiting} not sent for more than a day`, text: counts.held ? `${kept}. ${counts.held} besides ${counts.held === 1 ? "needs" : "need"} a person` : onTablet ? `${kept}. Bring it where the network is` : kept, notice: true, loud: true };
  if (counts.held) return { strong: `${counts.held} ${counts.held === 1 ? "needs" : "need"} a person`, text: counts.waiting ? `${counts.waiting} kept here` : "Kept, the manager sees it", notice: true, loud: false };
  if (counts.waiting >= 12 || hours >= 4) return { strong: `${counts.waiting} not sent${hours >= 4 ? ` for ${Math.floor(hours)} h` : ""}`, text: onTablet ? `${kept}, ${goes}` : kept, notice: true, loud: false };
  if (counts.waiting && state === "away" && !onTablet) return { strong: `${counts.waiting} kept in this page`, text: `Leave it open, ${goes}`, notice: true, loud: false };
  if (photos.refused) return { strong: photos.refused === 1 ? "One photo did not arrive" : `${photos.refused} photos did not arrive`, text: "Tap to see why", notice: true, loud: false };
  if (photos.stuck && photos.waiting) return { strong: `${photos.waiting === 1 ? "One photo is" : `${photos.waiting} photos are`} stuck here`, text: "Tap to see why", notice: true, loud: false };
  if (full) return { strong: "Tablet nearly full", text: counts.waiting ? `${counts.waiting} kept here` : "Save or make room", notice: true, loud: false };
  if (offsetMs !== null && Math.abs(offsetMs) > 300_000) {
    return { strong: `Clock ${spell(Math.abs(offsetMs))} ${offsetMs > 0 ? "slow" : "fast"}`, text: "Times are put right when they are sent", notice: true, loud: false };
  }
  if (counts.waiting) return { strong: "", text: `${counts.waiting} kept ${onTablet ? "here" : "in this page"}, ${goes}`, notice: false, loud: false };
  if (photos.waiting) return { strong: "", text: `${photos.waiting === 1 ? "One photo" : `${photos.waiting} photos`} kept here, ${photos.waiting === 1 ? "it goes" : "they go"} last`, notice: false, loud: false };
  return { strong: "", text: lastAnswer ? `All sent, ${words.time(lastAnswer)}` : "Nothing waits here", notice: false, loud: false };
}

/** @param {number} ms @returns {string} how far a clock is off: minutes, hours or days */
export function spell(ms) {
  const minutes = Math.round(ms / 60_000);
  if (minutes < 120) return `${minutes} min`;
  const hours = Math.round(minutes / 60);
  return hours < 72 ? `${hours} h` : `${Math.round(hours / 24)} days`;
}

/**
 * @param {import("../outbox/store.js").Kept} kept
 * @returns {string} what the gallery said, in words
 */
export function verdictWords({ verdict }) {
  if (!verdict) return "waits";
  /** @type {Record<string, string>} */
  const said = { accepted: "stored", duplicate: "counted before", held: "needs a person", differs: "two versions, both kept", malformed: "cannot be read, report it", noted: "kept as a note, not counted", refused: "a slip, not counted", withdrawn: "taken back before a person looked at it" };
  if (verdict.decided_at && verdict.words) return verdict.words;
  const more = [verdict.words, verdict.help].filter(Boolean).join(" ");
  return verdict.verdict === "accepted" || verdict.verdict === "duplicate" || !more ? said[verdict.verdict] : `${said[verdict.verdict]}: ${more}`;
}
