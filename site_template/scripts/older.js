/** @import { Labels } from "./types" */
import { fill } from "./words.js";

/** As the program's own comparison has it: nearer to even than this is no answer. */
const EVEN = 0.6;
const NORMAL_95 = 1.959963984540054;

/**
 * @typedef {object} Age
 * @property {string} name
 * @property {[number, number]} ends from and to, in years
 * @property {number} start what it counts from; -1 by a rule of thumb
 */

/**
 * Whether a tree is older than the one looked at before it.
 * @param {Age} tree @param {Age} before @param {Labels} labels
 */
export function olderWords(tree, before, labels) {
  const other = before.name;
  if (tree.start >= 0 && tree.start === before.start) {
    const chance = chanceOlder(tree.ends, before.ends);
    const likely = Math.max(chance, 1 - chance);
    if (likely < EVEN) return fill(labels.older_even, { other });
    const words = chance >= 0.5 ? labels.likely_older : labels.likely_younger;
    const shown = likely > 0.99 ? labels.over_99 : Math.round(likely * 100);
    return fill(words, { other, chance: shown });
  }
  if (tree.ends[0] > before.ends[1]) return fill(labels.older, { other });
  if (tree.ends[1] < before.ends[0]) return fill(labels.younger, { other });
  return fill(labels.older_unknown, { other });
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
