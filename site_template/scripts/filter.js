/** @import { Filter, Range, Sizes } from "./types" */

/** @returns {Filter} */
export function anyTree() {
  return { search: "", species: -1, stand: -1, size: -1, only: new Set(), ranges: {} };
}

/**
 * Does a tree, or a row of the table, pass? Every word of the search must stand in its text.
 * @param {Filter} filter
 * @param {{ species: number, stand: number, size: number, text: string } & Sizes} facts
 */
export function passes(filter, facts) {
  return (
    fits(filter.species, facts.species) &&
    fits(filter.stand, facts.stand) &&
    fits(filter.size, facts.size) &&
    within(facts.diameter_cm, filter.ranges.diameter_cm) &&
    within(facts.height_m, filter.ranges.height_m) &&
    (filter.only.size === 0 || filter.only.has(facts.species)) &&
    (!filter.search || words(filter.search).every((word) => facts.text.includes(word)))
  );
}

/**
 * Is a size in a class, rounded half up first as the classes on the pages are?
 * @param {number | null | undefined} value @param {Range} [range]
 */
export function within(value, range) {
  if (!range || value === null || value === undefined) return !range;
  const [low, high, decimals] = range;
  const rounded = Math.floor(value * 10 ** decimals + 0.5) / 10 ** decimals;
  return rounded >= low && rounded < high;
}

/** @param {number} wanted @param {number} actual */
function fits(wanted, actual) {
  return wanted === -1 || wanted === actual;
}

/** A search is split once, not once a tree. */
let split = { text: "", words: /** @type {string[]} */ ([]) };

/** @param {string} text */
function words(text) {
  if (text !== split.text) split = { text, words: plain(text).split(/\s+/).filter(Boolean) };
  return split.words;
}

/**
 * Lower case without accents, so that "chene" finds "Chêne".
 * @param {string} text
 */
export function plain(text) {
  return text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase().replaceAll("æ", "ae");
}

/** @param {import("./sheet.js").Sheet} sheet @param {number} tree */
export function searchText({ columns, lists }, tree) {
  if (!columns) return "";
  const species = lists.species[columns.species[tree]];
  const stand = lists.stands[columns.stand[tree]];
  return plain([columns.id[tree], species?.name, species?.common, stand?.name].join(" "));
}
