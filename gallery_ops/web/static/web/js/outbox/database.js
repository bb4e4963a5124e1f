// Promises over IndexedDB: open, and one transaction that is durable before it resolves.

/**
 * @param {string} name
 * @param {number} version
 * @param {(db: IDBDatabase, from: number, tx: IDBTransaction) => void} make  makes or changes the stores
 * @returns {Promise<IDBDatabase>}
 */
export function openDatabase(name, version, make) {
  return new Promise((resolve, reject) => {
    if (!globalThis.indexedDB) return reject(new Error("This browser keeps nothing on the tablet."));
    const asked = indexedDB.open(name, version);
    asked.onupgradeneeded = (event) => make(asked.result, event.oldVersion, /** @type {IDBTransaction} */ (asked.transaction));
    asked.onblocked = () => reject(new Error("Another page of an older version is open: close it, then open this one again."));
    asked.onerror = () => reject(asked.error ?? new Error("This browser keeps nothing on the tablet."));
    asked.onsuccess = () => {
      const db = asked.result;
      db.onversionchange = () => db.close(); // a newer page wants in: entries stay, this page stops ticking
      resolve(db);
    };
  });
}

/**
 * Runs `work` in one transaction. Resolves with what it gave when everything is on the disk, rejects
 * when anything was not written; then nothing was. Work that waits for no answer is committed as
 * soon as it has asked: one way to the disk and back instead of two.
 * @template T
 * @param {IDBDatabase} db
 * @param {string[]} stores
 * @param {IDBTransactionMode} mode
 * @param {(tx: IDBTransaction) => T | Promise<T>} work  awaits requests of this transaction only
 * @returns {Promise<T>}
 */
export function transact(db, stores, mode, work) {
  return new Promise((resolve, reject) => {
    const tx = db.transaction(stores, mode, { durability: "strict" });
    /** @type {T} */
    let given;
    /** @type {unknown} */
    let thrown = null;
    tx.oncomplete = () => resolve(given);
    tx.onabort = () => reject(tx.error ?? thrown ?? new Error("Nothing was written.")); // what is behind it, as a full disk, before what followed
    const failed = (/** @type {unknown} */ error) => {
      thrown = error;
      try {
        tx.abort();
      } catch {
        reject(error); // it had ended already
      }
    };
    try {
      const asked = work(tx);
      if (asked instanceof Promise) {
        asked.then((value) => {
          given = value;
        }, failed);
      } else {
        given = asked;
        tx.commit?.();
      }
    } catch (error) {
      failed(error);
    }
  });
}

/**
 * @template T
 * @param {IDBRequest<T>} request
 * @returns {Promise<T>}
 */
export function answer(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/**
 * Walks a cursor until `visit` gives false.
 * @param {IDBRequest<IDBCursorWithValue | null>} request
 * @param {(cursor: IDBCursorWithValue) => boolean | void} visit
 * @returns {Promise<void>}
 */
export function walkCursor(request, visit) {
  return new Promise((resolve, reject) => {
    request.onerror = () => reject(request.error);
    request.onsuccess = () => {
      const cursor = request.result;
      if (!cursor || visit(cursor) === false) return resolve();
      cursor.continue();
    };
  });
}
