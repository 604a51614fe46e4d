/* What the phone keeps, in the browser's own database.

   things    single values by name: packet, device, seq, epoch, settings …
   drafts    forms, half filled or kept, by key
   outbox    events without a receipt, by event_id
   receipts  events of the last 14 days with what the book said of them, by event_id
   photos    pictures that are not with the book yet, by sha256
   sent      pictures that are, kept for some days more lest the book is restored without them

   A transaction is written to the disk before it counts as done. */

const NAME = "field";
const SHAPE = 2;
const KEYS = { drafts: "key", outbox: "event_id", receipts: "event_id", photos: "sha256", sent: "sha256" };

let opening = null;

/** Makes the stores that are not there yet; what an older page has written stays. */
const make = (db) => {
  const isMissing = (name) => !db.objectStoreNames.contains(name);
  if (isMissing("things")) db.createObjectStore("things");
  for (const [name, keyPath] of Object.entries(KEYS)) {
    if (isMissing(name)) db.createObjectStore(name, { keyPath });
  }
};

const connect = () =>
  new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, SHAPE);
    request.onupgradeneeded = () => make(request.result);
    request.onerror = () => reject(request.error);
    request.onblocked = () => reject(new Error("blocked"));
    request.onsuccess = () => {
      const db = request.result;
      db.onversionchange = () => db.close();
      db.onclose = () => (opening = null);
      resolve(db);
    };
  });

const opened = () => {
  opening ??= connect();
  opening.catch(() => (opening = null));
  return opening;
};

/** Returns what a request of a transaction answers. */
export const asked = (request) =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

const endOf = (transaction) =>
  new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = () => reject(transaction.error ?? new Error("aborted"));
  });

/**
 * Does work in one transaction and returns its result, once all that was written is on the disk;
 * throws, with nothing of it written, where that cannot be.  The work may wait for `asked` and nothing else.
 * @template T
 * @param {string[]} names of the stores
 * @param {(stores: Record<string, IDBObjectStore>) => Promise<T> | T} work
 * @param {"readwrite" | "readonly"} [mode]
 * @returns {Promise<T>}
 */
export const transact = async (names, work, mode = "readwrite") => {
  try {
    return await transactOnce(names, work, mode);
  } catch (error) {
    if (error.name !== "QuotaExceededError" || !(await dropSent())) throw error;
    return transactOnce(names, work, mode);
  }
};

/** Makes room: what is sent gives way to what is not.  Says whether there was anything. */
const dropSent = () =>
  transactOnce(["sent"], async ({ sent }) => {
    const number = await asked(sent.count());
    sent.clear();
    return number > 0;
  }, "readwrite");

const transactOnce = async (names, work, mode) => {
  const db = await opened();
  const transaction = db.transaction(names, mode, { durability: "strict" });
  const end = endOf(transaction);
  end.catch(() => {}); // told below
  try {
    const stores = Object.fromEntries(names.map((name) => [name, transaction.objectStore(name)]));
    const result = await work(stores);
    if (mode !== "readonly") await end;
    return result;
  } catch (error) {
    if (transaction.error === null) abort(transaction);
    throw error;
  }
};

const abort = (transaction) => {
  try {
    transaction.abort();
  } catch (error) {
    if (error.name !== "InvalidStateError") throw error; // it had ended already
  }
};

export const readAll = (names, work) => transact(names, work, "readonly");

/** Writes single values by name. */
export const putThings = (values) =>
  transact(["things"], ({ things }) => {
    for (const [name, value] of Object.entries(values)) things.put(value, name);
  });

/** Empties every store but the settings of the person. */
export const forgetAll = () =>
  transact(["things", ...Object.keys(KEYS)], async (stores) => {
    const settings = await asked(stores.things.get("settings"));
    for (const store of Object.values(stores)) store.clear();
    stores.things.put(settings ?? {}, "settings");
  });
