// Puts fresh contents in the place of old ones and touches only what differs, since what is touched
// is styled, laid out and painted again.

/**
 * Makes the children of `place` like those of `fresh`; those alike stay, and one that differs inside is gone into.
 * @param {Node} place
 * @param {Node} fresh
 */
export function patch(place, fresh) {
  const [old, now] = [childrenOf(place), childrenOf(fresh)];
  let from = 0;
  while (from < old.length && from < now.length && old[from].isEqualNode(now[from])) from += 1;
  let [o, n] = [old.length, now.length];
  while (o > from && n > from && old[o - 1].isEqualNode(now[n - 1])) { o -= 1; n -= 1; }
  const [was, is, next] = [old.slice(from, o), now.slice(from, n), old[o] ?? null];
  if (was.length === is.length) {
    was.forEach((node, i) => { if (sameShell(node, is[i])) patch(node, is[i]); else node.replaceWith(is[i]); });
    return;
  }
  let at = 0;
  for (const node of is) {
    const same = was.findIndex((one, i) => i >= at && one.isEqualNode(node));
    if (same < 0) { place.insertBefore(node, was[at] ?? next); continue; }
    for (const gone of was.slice(at, same)) gone.remove();
    at = same + 1;
  }
  for (const gone of was.slice(at)) gone.remove();
}

/**
 * Whether two nodes differ in nothing but what is in them.
 * @param {Node} a
 * @param {Node} b
 */
function sameShell(a, b) {
  return a.nodeType === Node.ELEMENT_NODE && a.cloneNode(false).isEqualNode(b.cloneNode(false));
}

/**
 * Everything that is put into a place is an element, a text or a comment.
 * @param {Node} place
 */
const childrenOf = (place) => /** @type {ChildNode[]} */ ([...place.childNodes]);
