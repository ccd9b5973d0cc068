/** Live warnings, from the very limits that the checks use (exported into the page). */

/**
 * @typedef {{ column: string, lower: number, upper: number, included: string, severity: string,
 *   why: string }} Limit
 */

/**
 * The first limit that a value breaks, or undefined.
 * @param {Limit[]} limits @param {string} column @param {number} value
 */
export function broken(limits, column, value) {
  return limits.find((limit) => limit.column === column && beyond(limit, value));
}

/** @param {Limit} limit @param {number} value */
function beyond({ lower, upper, included }, value) {
  if (Number.isNaN(value)) return false;
  const low = included === "both" ? value < lower : value <= lower;
  const high = included === "none" ? value >= upper : value > upper;
  return low || high;
}

/**
 * How much faster than any tree is known to grow; undefined where nothing is wrong.
 * @param {number} now_cm @param {number} last_cm @param {number} years @param {number} limit
 */
export function grewOddly(now_cm, last_cm, years, limit) {
  if (!(now_cm > 0 && last_cm > 0)) return undefined;
  if (now_cm < last_cm * 0.95) return "shrank";
  return now_cm - last_cm > limit * Math.max(years, 1) ? "leapt" : undefined;
}
