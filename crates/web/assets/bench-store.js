// The bench without a sure connection: what is entered is stored on this device first, then sent in its order, again
// and again, until the book has it. A row has a key of its own, so that the book keeps it once.

const STORE = "outbox";
/** Photographs by the keys of their rows: kept apart, as they are large and seldom read. */
const PICTURES = "pictures";
/** Rows that the book has stay here for a while: a page that was kept on the device may be older than they are. */
const SENT_STAYS_MS = 3 * 24 * 3_600_000;
const MOST_SENT = 1_000;

const place = (id) => document.getElementById(id);
const bench = () => place("bench");
const here = () => bench()?.dataset ?? {};
/** A setting of this device. */
const choice = (name) => localStorage.getItem(`hardtack-${name}`) ?? "";
const choose = (name, value) => localStorage.setItem(`hardtack-${name}`, value);

const opened = new Promise((done, failed) => {
  const asked = indexedDB.open("hardtack-bench", 2);
  asked.onupgradeneeded = () => {
    const names = asked.result.objectStoreNames;
    if (!names.contains(STORE)) asked.result.createObjectStore(STORE, { keyPath: "n", autoIncrement: true });
    if (!names.contains(PICTURES)) asked.result.createObjectStore(PICTURES);
  };
  asked.onsuccess = () => done(asked.result);
  asked.onerror = () => failed(asked.error);
});

/** Does something with what lies here; holds when it is on the disk. */
async function stored(mode, deed) {
  const base = await opened;
  return new Promise((done, failed) => {
    const work = base.transaction([STORE, PICTURES], mode, { durability: "strict" });
    const asked = deed(work.objectStore(STORE), work.objectStore(PICTURES));
    work.oncomplete = () => done(asked?.result);
    work.onabort = work.onerror = () => failed(work.error);
  });
}

const all = () => stored("readonly", (store) => store.getAll());
const put = (item) => stored("readwrite", (store) => store.put(item));
const pictureOf = (key) => stored("readonly", (_, pictures) => pictures.get(key));
const putWithPicture = (item, bytes) => stored("readwrite", (store, pictures) => { pictures.put(bytes, item.row.key); return store.put(item); });

/** Marks rows that the book has, and lets go what stayed long enough. */
const sent = (items, marks) => stored("readwrite", (store, pictures) => {
  for (const { thumb, ...item } of items) {
    store.put({ ...item, sent: marks.get(item.row.key), sentAt: Date.now() });
    pictures.delete(item.row.key);
  }
});
async function letGo() {
  const had = (await all()).filter((i) => i.sent);
  const old = had.filter((i, nth) => Date.now() - i.sentAt > SENT_STAYS_MS || nth < had.length - MOST_SENT);
  if (old.length) await stored("readwrite", (store) => { for (const { n } of old) store.delete(n); });
}

/** A key that no other row has. */
function newKey() {
  if (crypto.randomUUID) return crypto.randomUUID();
  return [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");
}
