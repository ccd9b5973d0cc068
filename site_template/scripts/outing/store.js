/** Records kept on this device: in its database, or, where that is closed, until the page closes. */

/**
 * @typedef {{ put: (record: Rec) => Promise<void>, all: () => Promise<Rec[]>,
 *   remove: (id: string) => Promise<void>, lasting: boolean }} Store
 * @typedef {import("./record.js").Rec} Rec
 */

/**
 * @param {string} name
 * @returns {Promise<Store>}
 */
export async function openStore(name) {
  try {
    const database = await opened(name);
    /** @param {IDBTransactionMode} mode @param {(s: IDBObjectStore) => IDBRequest} ask */
    const run = (mode, ask) =>
      new Promise((resolve, reject) => {
        const work = database.transaction("records", mode);
        const request = ask(work.objectStore("records"));
        work.oncomplete = () => resolve(request.result);
        work.onabort = work.onerror = () => reject(work.error ?? request.error);
      });
    return {
      lasting: true,
      put: async (record) => void (await run("readwrite", (records) => records.put(record))),
      all: async () => /** @type {Rec[]} */ (await run("readonly", (records) => records.getAll())),
      remove: async (id) => void (await run("readwrite", (records) => records.delete(id))),
    };
  } catch {
    return passing();
  }
}

/** @param {string} name @returns {Promise<IDBDatabase>} */
function opened(name) {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(name, 1);
    request.onupgradeneeded = () => request.result.createObjectStore("records", { keyPath: "id" });
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/** @returns {Store} */
function passing() {
  /** @type {Map<string, Rec>} */
  const records = new Map();
  return {
    lasting: false,
    put: async (record) => void records.set(record.id, structuredClone(record)),
    all: async () => [...records.values()],
    remove: async (id) => void records.delete(id),
  };
}
