/** Which kinds of trees fit: by a part of the name, or by leaves and needles. */

/**
 * @typedef {{ name: string, common: string }} Kind
 * @typedef {{ taxon: string, common: string, leaf: string[], low: number | null, high: number | null }} Leaf
 */

/** @param {string} text */
const plain = (text) => text.normalize("NFKD").replace(/[\u0300-\u036f]/g, "").toLowerCase();

/**
 * Kinds whose name begins with what is typed first, then those that hold it.
 * @param {Kind[]} kinds @param {string} text
 */
export function named(kinds, text, most = 6) {
  const wanted = plain(text.trim());
  if (wanted.length < 2) return [];
  const rank = (/** @type {Kind} */ kind) => {
    const at = [kind.common, kind.name].map((name) => plain(name).indexOf(wanted));
    return at.includes(0) ? 0 : Math.max(...at) > 0 ? 1 : 2;
  };
  return kinds.filter((kind) => rank(kind) < 2).sort((a, b) => rank(a) - rank(b)).slice(0, most);
}

/**
 * Groups of trees with such leaves; with such a number of needles in a bundle where one is given.
 * @param {Leaf[]} leaves @param {string} leaf @param {number} needles
 */
export function withLeaf(leaves, leaf, needles = NaN) {
  return leaves.filter(
    (group) =>
      group.leaf.includes(leaf) &&
      (Number.isNaN(needles) || group.low === null || group.high === null ||
        (group.low <= needles && needles <= group.high)),
  );
}
