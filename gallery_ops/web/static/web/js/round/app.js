// What every screen of the round may ask for. Types only; main.js makes it.

/**
 * What lies over or instead of the stop.
 * @typedef {{name: "look", look: string} | {name: "reading", parameter: string} | {name: "unable", check: string, look?: string | null} | {name: "again", task: string} | {name: "amount", task: string} | {name: "less", task: string} | {name: "correct", id: string} | {name: "bottle", task: string} | {name: "trouble"} | {name: "wrong_tank"} | {name: "not_dry", stop: string} | {name: "skip", chosen?: import("./skipping.js").Chosen} | {name: "outbox"} | import("./first_minute.js").FirstMinute | {name: "close"} | {name: "handover"} | {name: "leave"} | {name: "who"}} Panel
 */

/**
 * What was begun at a stop and not yet entered.
 * @typedef {object} StopDraft
 * @property {Record<string, string>} typed  texts of number fields
 * @property {Record<string, number>} presses  counted along, by task
 * @property {Record<string, string>} again  reason for a second dose, by task
 * @property {Record<string, string>} [less]  why fewer presses, by task and presses; empty: the bottle ran empty
 * @property {Record<string, boolean>} sure  asked about and confirmed, by task
 */

/**
 * @typedef {object} App
 * @property {import("./round.js").Round} round
 * @property {import("./words.js").Words} words
 * @property {{stop: string, text: string, card: string | null} | null} message  what an entry led to; shown at its stop
 * @property {unknown} refusal  why the last tap was not kept; null where it was, or was not tried
 * @property {{strong: string, text: string} | null} warned  said before the first entry; null once it was understood
 * @property {() => void} understood
 * @property {() => void} onUnderstood
 * @property {boolean} shut  what this tablet keeps could not be opened: what waits is not known
 * @property {import("./pack.js").Stop[]} passed  empty places passed by on the way here
 * @property {Panel | null} panel
 * @property {Record<string, string>} inHand  code of the bottle whose label was read, by product
 * @property {{list: string, paper: string, board: string, firstMinute: string}} addresses
 * @property {(stop: import("./pack.js").Stop) => StopDraft} draftOf
 * @property {(stop: import("./pack.js").Stop) => void} keepDraft
 * @property {(stop: import("./pack.js").Stop | null, drafts: import("../outbox/envelope.js").Draft[], spoken: string, pictures?: import("../outbox/photos.js").Picture[]) => Promise<boolean>} enter  writes one tap; false when it could not be kept
 * @property {() => Promise<void>} undo  takes the last tap back
 * @property {(panel: Panel | null) => void} open
 * @property {(stop: import("./pack.js").Stop) => Promise<void>} go
 * @property {() => void} draw
 * @property {(text: string) => void} say  spoken politely once
 * @property {() => {strong: string, text: string, notice: boolean, loud: boolean}} outbox
 * @property {() => void} sendNow
 * @property {import("../outbox/store.js").Kept[]} everything  kept here, of every round; read when the outbox is opened
 * @property {import("../outbox/photos.js").KeptPhoto[]} photos  kept here; read when the outbox is opened
 * @property {import("../outbox/photo_sender.js").PhotoSender} photoSender
 * @property {() => Promise<number>} makeRoom  lets go photos that the gallery has; how many
 * @property {() => {state: import("../outbox/sender.js").State, nextAt: Date | null, offsetMs: number | null, lastAnswer: Date | null, offeredAgain: number, isOwing: boolean}} sending
 * @property {() => string} fileName  under which the outbox is saved
 * @property {() => void} save  the outbox to a file; nothing is taken out
 * @property {() => string | null} signIn  where to sign in again; null when the gallery does not ask
 * @property {(address: string) => Promise<void>} leaveFor  goes to another page when nothing would be lost
 * @property {(card: string | null) => void} firstMinute
 * @property {(from: string, to?: string | null) => string} sinceWords  how long ago, or from one to the other: "2:14"
 * @property {() => "page" | "tablet"} holds
 * @property {() => number} waiting  not sent yet
 * @property {() => import("./pack.js").Stop | null} here
 * @property {import("./lock.js").Lock | null} lock  who holds the tablet; null at a desk
 */

export {};
