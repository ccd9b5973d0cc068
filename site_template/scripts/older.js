/** @import { Labels } from "./types" */
import { fill } from "./words.js";

/** As the program's own comparison has it: nearer to even than this is no answer. */
const EVEN = 0.6;
const NORMAL_95 = 1.959963984540054;

/**
 * @typedef {object} Age
 * @property {string} name
 * @property {[number, number] | null} ends from and to, in years
 * @property {number} start what it counts from; -1 by a rule of thumb
 */

/**
 * Which of two trees is older, "" where one has no age.
 * @param {Age} one @param {Age} two @param {Labels} labels
 */
export function olderWords(one, two, labels) {
  if (!one.ends || !two.ends) return "";
  const chance = chanceOlder(one.ends, two.ends);
  const [tree, other] = chance >= 0.5 ? [one, two] : [two, one];
  const names = { tree: tree.name, other: other.name };
  if (one.start >= 0 && one.start === two.start) {
    const likely = Math.max(chance, 1 - chance);
    if (likely < EVEN) return fill(labels.older_even, names);
    const shown = likely > 0.99 ? labels.over_99 : Math.round(likely * 100);
    return fill(labels.likely_older, { ...names, chance: shown });
  }
  const above = /** @type {number[]} */ (tree.ends)[0] > /** @type {number[]} */ (other.ends)[1];
  return fill(above ? labels.older : labels.older_unknown, names);
}

/**
 * methods.html#probability_older
 * @param {[number, number]} ends @param {[number, number]} other
 */
export function chanceOlder([low, high], [otherLow, otherHigh]) {
  const lead = (low + high) / 2 - (otherLow + otherHigh) / 2;
  const spread = Math.hypot(high - low, otherHigh - otherLow) / (2 * NORMAL_95);
  if (!spread) return lead > 0 ? 1 : lead < 0 ? 0 : 0.5;
  return shareBelow(lead / spread);
}

/** Share of the bell curve below a score: AS1964, formula 7.1.26. @param {number} score */
function shareBelow(score) {
  const size = Math.abs(score) / Math.SQRT2;
  const t = 1 / (1 + 0.3275911 * size);
  const terms = [1.061405429, -1.453152027, 1.421413741, -0.284496736, 0.254829592, 0];
  const tail = terms.reduce((sum, term) => sum * t + term) * Math.exp(-size * size);
  return score < 0 ? tail / 2 : 1 - tail / 2;
}
