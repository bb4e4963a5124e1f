// What the lock keeps beyond its page: who holds the tablet, wrong tries, tries to tell, what is busy.
// The worker reads the same database: it forgets who is here on signing out, and asks what is busy.

import { answer, openDatabase, transact } from "../outbox/database.js";

export const NAME = "lock";
export const KEPT = "kept";

/**
 * As much of a store as the lock needs; a test hands in a Map.
 * @typedef {{get: (key: string) => Promise<any>, put: (key: string, value: unknown) => Promise<void>}} LockStore
 */

/** @returns {Promise<LockStore>} in memory only where the browser keeps nothing */
export async function openLockStore() {
  /** @type {IDBDatabase} */
  let db;
  try {
    db = await openDatabase(NAME, 1, (made) => made.createObjectStore(KEPT));
  } catch {
    return memoryStore();
  }
  return withoutRoom({
    get: (key) => transact(db, [KEPT], "readonly", (tx) => answer(tx.objectStore(KEPT).get(key))),
    put: (key, value) =>
      transact(db, [KEPT], "readwrite", (tx) => {
        tx.objectStore(KEPT).put(structuredClone(value), key);
      }),
  });
}

/**
 * A full tablet refuses to keep: this page then goes on from memory, until there is room again.
 * No entry is kept here, so nothing of the round is lost by it; a page loaded meanwhile knows what was kept last.
 * @param {LockStore} kept
 * @returns {LockStore} its `put` never fails
 */
export function withoutRoom(kept) {
  const meanwhile = memoryStore();
  /** @type {Set<string>} */
  const refused = new Set();
  return {
    get: (key) => (refused.has(key) ? meanwhile.get(key) : kept.get(key)),
    put: async (key, value) => {
      try {
        await kept.put(key, value);
        refused.delete(key);
      } catch {
        await meanwhile.put(key, value);
        refused.add(key);
      }
    },
  };
}

/** @returns {LockStore} */
export function memoryStore() {
  /** @type {Map<string, unknown>} */
  const kept = new Map();
  return {
    get: async (key) => structuredClone(kept.get(key)),
    put: async (key, value) => void kept.set(key, structuredClone(value)),
  };
}
