/** @import { Labels, Units } from "./types" */

const CM_PER_INCH = 2.54;
const M_PER_FOOT = 0.3048;

/**
 * Put values into the gaps of a label: fill("{n} trees", {n: 3}).
 * @param {string} text
 * @param {Record<string, string | number>} values
 */
export function fill(text, values) {
  return text.replace(/\{(\w+)\}/g, (gap, name) => String(values[name] ?? gap));
}

/** A part of an address as text; one cut short or typed by hand stays as it is. @param {string} part */
export function decoded(part) {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}

/**
 * "41.2 ± 1.2 cm": a value and two standard uncertainties, or the value alone without one. Broken
 * over two lines, if at all, behind the sign.
 * @param {number | null} value
 * @param {number | null} sd
 * @param {"cm" | "m"} unit
 * @param {Units} units
 * @param {Labels} labels
 */
export function measure(value, sd, unit, units, labels) {
  if (value === null || Number.isNaN(value)) return labels.not_measured;
  const [factor, shown] = displayed(unit, units);
  const spread = sd === null ? "" : `\u00a0± ${decimal(2 * sd * factor)}`;
  return `${decimal(value * factor)}${spread}\u00a0${labels[shown]}`;
}

/**
 * @param {"cm" | "m"} unit
 * @param {Units} units
 * @returns {[number, "cm" | "m" | "in" | "ft"]}
 */
function displayed(unit, units) {
  if (units === "metric") return [1, unit];
  return unit === "cm" ? [1 / CM_PER_INCH, "in"] : [1 / M_PER_FOOT, "ft"];
}

/** As the language of the page writes numbers. @param {number} value */
function decimal(value) {
  const language = globalThis.document?.documentElement.lang || "en";
  const places = { minimumFractionDigits: 1, maximumFractionDigits: 1, useGrouping: false };
  return value.toLocaleString(language, places).replace("-", "−");
}

/**
 * "White oak · Quercus alba", whichever of the two is known.
 * @param {{ name: string, common: string } | undefined} species
 * @param {Labels} labels
 */
export function speciesName(species, labels) {
  const known = [species?.common, species?.name].filter((name) => name);
  return [...new Set(known)].join(" · ") || labels.species_unknown;
}
