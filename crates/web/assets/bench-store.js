// The bench without a sure connection: what is entered is stored on this device first, then sent in its order, again
// and again, until the book has it. A row has a key of its own, so that the book keeps it once.

import { find } from "./dom.js";

/**
 * A row as the book keeps it: its own key, the batch, when, who, what; then what it is of and on, the value with its unit, the
 * row that it strikes through, and why.
 * @typedef {{
 *   key: string, kind: "batch", thing: string | undefined, at: string, who: string | undefined, what: string | undefined,
 *   of?: string, on?: string, value?: string, unit?: string, strikes?: string, why?: string,
 * }} Row
 */

/**
 * A row as it lies here: its number, the row, what it is called on the page, whether its value is the moment alone, whether a
 * photograph waits beside it, why it was refused, its number in the book, and when the book took it.
 * @typedef {{
 *   n?: number, row: Row, label?: string, moment?: boolean, pictured?: boolean, thumb?: string, refused?: string, sent?: number, sentAt?: number,
 * }} Item
 */

const STORE = "outbox";
/** Photographs by the keys of their rows: kept apart, as they are large and seldom read. */
const PICTURES = "pictures";
/** Rows that the book has stay here for a while: a page that was kept on the device may be older than they are. */
const SENT_STAYS_MS = 3 * 24 * 3_600_000;
const MOST_SENT = 1_000;

export const bench = () => find(HTMLElement, "#bench");
/**
 * What the page tells of itself.
 * @returns {DOMStringMap}
 */
export const here = () => bench()?.dataset ?? {};
/** When this page was kept, where it is one that was kept. */
export const keptAt = () => document.documentElement.dataset.kept;
/**
 * A setting of this device.
 * @param {string} name
 */
export const choice = (name) => localStorage.getItem(`hardtack-${name}`) ?? "";
/** @type {(name: string, value: string) => void} */
export const choose = (name, value) => localStorage.setItem(`hardtack-${name}`, value);

/** @type {Promise<IDBDatabase>} */
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

/**
 * Does something with what lies here; holds when it is on the disk.
 * @template T
 * @param {IDBTransactionMode} mode
 * @param {(items: IDBObjectStore, pictures: IDBObjectStore) => IDBRequest<T> | undefined} deed
 * @returns {Promise<T | undefined>}
 */
async function stored(mode, deed) {
  const base = await opened;
  return new Promise((done, failed) => {
    const work = base.transaction([STORE, PICTURES], mode, { durability: "strict" });
    const asked = deed(work.objectStore(STORE), work.objectStore(PICTURES));
    work.oncomplete = () => done(asked?.result);
    work.onabort = work.onerror = () => failed(work.error);
  });
}

/**
 * All rows that lie here, the oldest first.
 * @returns {Promise<Item[]>}
 */
export const all = async () => (await stored("readonly", (store) => store.getAll())) ?? [];
/** @param {Item} item */
export const put = (item) => stored("readwrite", (store) => store.put(item));
/**
 * The photograph of a row.
 * @param {string} key
 * @returns {Promise<ArrayBuffer | undefined>}
 */
export const pictureOf = (key) => stored("readonly", (_, pictures) => pictures.get(key));
/** @type {(item: Item, bytes: ArrayBuffer) => Promise<unknown>} */
export const putWithPicture = (item, bytes) => stored("readwrite", (store, pictures) => { pictures.put(bytes, item.row.key); return store.put(item); });

/**
 * Marks rows that the book has with their numbers in it.
 * @param {Item[]} items
 * @param {Map<string, number | undefined>} marks
 */
export const sent = (items, marks) => stored("readwrite", (store, pictures) => {
  for (const { thumb, ...item } of items) {
    store.put({ ...item, sent: marks.get(item.row.key), sentAt: Date.now() });
    pictures.delete(item.row.key);
  }
  return undefined;
});
/** Lets go what stayed long enough. */
export async function letGo() {
  const had = (await all()).filter((i) => i.sent);
  const old = had.filter((i, nth) => Date.now() - (i.sentAt ?? NaN) > SENT_STAYS_MS || nth < had.length - MOST_SENT);
  if (old.length) await stored("readwrite", (store) => { for (const { n } of old) if (n !== undefined) store.delete(n); return undefined; });
}

/** A key that no other row has. */
export function newKey() {
  if (crypto.randomUUID) return crypto.randomUUID();
  return [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");
}
