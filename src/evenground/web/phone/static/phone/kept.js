// What is kept on this phone: entries, photographs, half-filled forms and what the farm has told.
// An entry is kept once the phone has confirmed the write; only then does a screen say so.

const NAME = "evenground-phone";

// One step a version; a phone that was away for long goes through all of them. Steps are never changed, only added.
const STEPS = [
  (base) => {
    const entries = base.createObjectStore("entries", { keyPath: "id" });
    entries.createIndex("state", "state");
    base.createObjectStore("facts", { keyPath: "name" });
  },
  (base, change) => {
    base.createObjectStore("photos", { keyPath: "id" });
    base.createObjectStore("drafts", { keyPath: "id" });
    // Entries of the first form had no number to be sent in order by.
    const entries = change.objectStore("entries");
    entries.createIndex("order", "order");
    let order = 0;
    entries.openCursor().onsuccess = (event) => {
      const cursor = event.target.result;
      if (!cursor) return;
      if (cursor.value.order === undefined) cursor.update({ ...cursor.value, order: (order += 1) });
      cursor.continue();
    };
  },
];
export const FORM = STEPS.length;

let opened = null;
let onNewer = () => {};

// Told when another window of this phone has a newer version and this one must begin anew.
export function whenNewer(call) {
  onNewer = call;
}

export function isFull(error) {
  return Boolean(error) && (error.name === "QuotaExceededError" || isFull(error.inner));
}

function open() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, FORM);
    asked.onupgradeneeded = (event) => {
      for (let step = event.oldVersion; step < FORM; step += 1) STEPS[step](asked.result, asked.transaction);
    };
    asked.onsuccess = () => {
      asked.result.onversionchange = () => {
        asked.result.close();
        opened = null;
        onNewer();
      };
      asked.result.onclose = () => { opened = null; };
      resolve(asked.result);
    };
    asked.onerror = () => reject(asked.error);
  });
  opened.catch(() => { opened = null; });
  return opened;
}

// One change of one or more stores; resolves only when it is on the phone's disk.
async function change(names, work) {
  const base = await open();
  return new Promise((resolve, reject) => {
    const tx = base.transaction(names, "readwrite", { durability: "strict" });
    let answer;
    tx.oncomplete = () => resolve(answer);
    tx.onabort = () => reject(tx.error || new Error("not kept"));
    tx.onerror = () => reject(tx.error);
    try {
      answer = work(tx);
    } catch (error) {
      try { tx.abort(); } catch { /* it has ended already */ }
      reject(error);
    }
  });
}

async function read(name, ask) {
  const base = await open();
  return new Promise((resolve, reject) => {
    const asked = ask(base.transaction(name, "readonly").objectStore(name));
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}

export const one = (name, id) => read(name, (store) => store.get(id));
export const every = (name) => read(name, (store) => store.getAll());
export const waiting = () => read("entries", (store) => store.index("state").getAll("waiting"));

export function put(name, ...values) {
  return change([name], (tx) => { for (const value of values) tx.objectStore(name).put(value); });
}

// Entries, their photograph and the end of the form they came from: all of it or nothing.
export function keepEntries(entries, photo, draft) {
  return change(["entries", "photos", "drafts"], (tx) => {
    for (const entry of entries) tx.objectStore("entries").put(entry);
    if (photo) tx.objectStore("photos").put(photo);
    if (draft) tx.objectStore("drafts").delete(draft);
  });
}

// Change entries that are there, each from its latest form, so that two windows do not undo each other's work.
export function mend(ids, how) {
  return change(["entries"], (tx) => {
    const store = tx.objectStore("entries");
    for (const id of ids) {
      store.get(id).onsuccess = (event) => {
        const found = event.target.result;
        if (found) store.put(how(found));
      };
    }
  });
}

export function remove(name, ...ids) {
  return change([name], (tx) => { for (const id of ids) tx.objectStore(name).delete(id); });
}

export async function fact(name, otherwise = null) {
  const found = await one("facts", name);
  return found === undefined ? otherwise : found.value;
}

export const setFact = (name, value) => put("facts", { name, value });
