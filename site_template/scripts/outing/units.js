/** Lengths as people type them, and back. */

const METRES = { m: 1, cm: 0.01, ft: 0.3048, in: 0.0254 };

/** @typedef {keyof typeof METRES} Unit */

/**
 * A typed number, with point or comma; NaN where it is none.
 * @param {string} text
 */
export function typed(text) {
  const plain = text.trim().replace(",", ".");
  return /^[-+−]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain.replace("−", "-")) : NaN;
}

/** @param {string} text @param {string} unit */
export const metres = (text, unit) => typed(text) * METRES[/** @type {Unit} */ (unit)];
