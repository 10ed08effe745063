// What every script asks of a page: its elements, each of a kind that is told, so that the types of the scripts hold.

/**
 * A kind of element.
 * @template {Element} T
 * @typedef {new () => T} Kind
 */

/** @typedef {HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement | HTMLButtonElement} Field A part of a form. */

/**
 * The first element that is named, or nothing.
 * @template {Element} T
 * @param {Kind<T>} kind
 * @param {string} css
 * @param {ParentNode | null} [within]
 * @returns {T | null}
 */
export function find(kind, css, within = document) {
  const found = within?.querySelector(css) ?? null;
  if (found !== null && !(found instanceof kind)) throw new TypeError(`${css} is not a ${kind.name}`);
  return found;
}

/**
 * The first element that is named; the page must have it.
 * @template {Element} T
 * @param {Kind<T>} kind
 * @param {string} css
 * @param {ParentNode} [within]
 * @returns {T}
 */
export function need(kind, css, within = document) {
  return must(find(kind, css, within), css);
}

/**
 * Every element of a kind that is named.
 * @template {Element} T
 * @param {Kind<T>} kind
 * @param {string} css
 * @param {ParentNode | null} [within]
 * @returns {T[]}
 */
export function every(kind, css, within = document) {
  return [...(within?.querySelectorAll(css) ?? [])].filter(/** @returns {found is T} */ (found) => found instanceof kind);
}

/**
 * The element that an event is about: its target, or the nearest around it that is named.
 * @template {Element} T
 * @param {EventTarget | null} target
 * @param {Kind<T>} kind
 * @param {string} css
 * @returns {T | null}
 */
export function about(target, kind, css) {
  const found = target instanceof Element ? target.closest(css) : null;
  return found instanceof kind ? found : null;
}

/**
 * What can't be missing.
 * @template T
 * @param {T | null | undefined} value
 * @param {string} what
 * @returns {T}
 */
export function must(value, what) {
  if (value === null || value === undefined) throw new Error(`The page has no ${what}.`);
  return value;
}

/**
 * Whether something is a part of a form that holds a value.
 * @param {unknown} thing
 * @returns {thing is Field}
 */
export const isField = (thing) =>
  thing instanceof HTMLInputElement || thing instanceof HTMLSelectElement || thing instanceof HTMLTextAreaElement || thing instanceof HTMLButtonElement;

/**
 * The one part of a form that has a name; nothing where none has it or several have.
 * @param {HTMLFormElement | null | undefined} form
 * @param {string} name
 * @returns {Field | null}
 */
export function field(form, name) {
  const found = form?.elements.namedItem(name);
  return isField(found) ? found : null;
}

/**
 * What stands in a form, as an address or the body of a question tells it.
 * @param {FormData} data
 */
export const asQuery = (data) => new URLSearchParams([...data].map(([name, value]) => [name, String(value)]));

/**
 * A piece of a page from its text.
 * @param {string} html
 */
export function fragment(html) {
  const box = document.createElement("template");
  box.innerHTML = html;
  return box.content;
}

/**
 * Milliseconds pass.
 * @param {number} ms
 * @returns {Promise<void>}
 */
export const pause = (ms) => new Promise((done) => { setTimeout(done, ms); });

/**
 * What was thrown, in words.
 * @param {unknown} error
 */
export const wordsOf = (error) => (error instanceof Error ? error.message : String(error));
