/* What a maker entered and the server has not answered yet, and what it refused, kept in this browser's own database:
   through a reload, a closed browser and a flat battery. One tab sends at a time. */

const NAME = "railwright";
const ENTRIES = "entries"; // in the order in which they were entered
const REFUSALS = "refusals";
const LEASE = "lease";
const LEASE_MS = 20000; // longer than one event may be on its way
const LEASE_AGAIN_MS = 100;

const channel = "BroadcastChannel" in window ? new BroadcastChannel(NAME) : null;
const holder = newId();
let opening = null;

/* RFC 9562, version 4; crypto.randomUUID is there on secure addresses alone. */
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

function database() {
  opening ??= new Promise((opened, failed) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore(ENTRIES, { keyPath: "place", autoIncrement: true });
      asked.result.createObjectStore(REFUSALS, { keyPath: "id" });
      asked.result.createObjectStore(LEASE, { keyPath: "name" });
    };
    asked.onsuccess = () => {
      asked.result.onclose = asked.result.onversionchange = () => {
        asked.result.close();
        opening = null;
      };
      opened(asked.result);
    };
    asked.onerror = asked.onblocked = () => failed(asked.error ?? new Error("blocked"));
  });
  opening.catch(() => (opening = null));
  return opening;
}

/* One transaction: `work` is given its stores, and what it returns is the answer once all of it is on the disk. */
async function act(mode, names, work) {
  const db = await database();
  return new Promise((done, failed) => {
    const all = db.transaction(names, mode, { durability: mode === "readwrite" ? "strict" : "default" });
    const asked = work(...names.map((name) => all.objectStore(name)));
    all.oncomplete = () => done(asked?.result);
    all.onabort = all.onerror = () => failed(all.error);
  });
}

/* Everything that waits for an answer, first entered first. */
export const entries = () => act("readonly", [ENTRIES], (store) => store.getAll());

export const refusals = () => act("readonly", [REFUSALS], (store) => store.getAll());

/* The entry as it is kept, or null where `isAmong` finds it among those that wait already. */
export async function put(entry, isAmong) {
  let place = null;
  await act("readwrite", [ENTRIES], (store) => {
    store.getAll().onsuccess = ({ target }) => {
      if (isAmong(entry, target.result)) return;
      store.add(entry).onsuccess = (added) => (place = added.target.result);
    };
  });
  return place && { ...entry, place };
}

export const answered = (entry) => act("readwrite", [ENTRIES], (store) => store.delete(entry.place));

export async function refused(entry, reasons) {
  await act("readwrite", [ENTRIES, REFUSALS], (waiting, kept) => {
    waiting.delete(entry.place);
    kept.put({ ...entry, reasons });
  });
  changed();
}

export async function acknowledged(id) {
  await act("readwrite", [REFUSALS], (store) => store.delete(id));
  changed();
}

/* What is not answered at once waits: only then is it shown. */
export async function letWait(some) {
  const fresh = some.filter((entry) => !entry.waits);
  if (!fresh.length) return;
  await act("readwrite", [ENTRIES], (store) => {
    for (const { place } of fresh) {
      const asked = store.get(place);
      asked.onsuccess = () => asked.result && store.put({ ...asked.result, waits: true }); // unless answered meanwhile
    }
  });
  changed();
}

/* Told to this page and to every other one of this browser. */
export function changed() {
  channel?.postMessage("changed");
  document.dispatchEvent(new Event("outbox"));
}

channel?.addEventListener("message", () => document.dispatchEvent(new Event("outbox")));

/* Do `work` while no other tab does the like, so that events leave one by one and in order. */
export function turn(work) {
  return navigator.locks ? navigator.locks.request(NAME, work) : queued(work);
}

let before = Promise.resolve();

function queued(work) {
  const mine = before.then(() => leased(work));
  before = mine.catch(() => null);
  return mine;
}

/* Without navigator.locks, which is there on secure addresses alone: a lease in the database, with an end in case its
   holder is closed. A clock that was put back must not make it last. */
async function leased(work) {
  while (!(await lease())) await new Promise((woken) => setTimeout(woken, LEASE_AGAIN_MS));
  const renewing = setInterval(lease, LEASE_MS / 4);
  try {
    return await work();
  } finally {
    clearInterval(renewing);
    await act("readwrite", [LEASE], (store) => store.delete(NAME));
  }
}

async function lease() {
  let mine = false;
  await act("readwrite", [LEASE], (store) => {
    const asked = store.get(NAME);
    asked.onsuccess = () => {
      const { holder: other, until = 0 } = asked.result ?? {};
      const left = until - Date.now();
      mine = !other || other === holder || left <= 0 || left > LEASE_MS;
      if (mine) store.put({ name: NAME, holder, until: Date.now() + LEASE_MS });
    };
  });
  return mine;
}
