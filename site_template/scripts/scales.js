/** @import { Units } from "./types" */

const SECOND = 1 / 3600;
const DMS_STEPS = [
  ...[0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30].map((seconds) => seconds * SECOND),
  ...[1, 2, 5, 10, 15, 30].map((minutes) => minutes / 60),
  ...[1, 2, 5, 10, 15, 30, 45],
];
const M_PER_FOOT = 0.3048;
const FEET_PER_MILE = 5280;

/** The next 1, 2 or 5 times a power of ten, at or above a value. @param {number} value */
export function roundUp(value) {
  const power = 10 ** Math.floor(Math.log10(value));
  const times = [1, 2, 5, 10].find((each) => each * power >= value * (1 - 1e-9)) ?? 10;
  return times * power;
}

/** The longest 1, 2 or 5 times a power of ten, at or below a value. @param {number} value */
export function roundDown(value) {
  const power = 10 ** Math.floor(Math.log10(value));
  const times = [5, 2, 1].find((each) => each * power <= value * (1 + 1e-9)) ?? 1;
  return times * power;
}

/**
 * Coordinates in round numbers between two limits, at least `least` degrees apart.
 * @param {number} low @param {number} high @param {number} least
 * @param {"dms" | "decimal"} format
 */
export function ticks(low, high, least, format) {
  const dms = DMS_STEPS.find((each) => each >= least);
  const step = format === "dms" && least >= DMS_STEPS[0] && dms ? dms : roundUp(least);
  const first = Math.ceil(low / step - 1e-9);
  const last = Math.floor(high / step + 1e-9);
  const count = Math.max(0, last - first + 1);
  return { step, values: Array.from({ length: count }, (_, i) => (first + i) * step) };
}

/**
 * 42°21′30″N, or 42.3583°N, with just the digits that the step needs.
 * @param {number} degrees @param {number} step
 * @param {"dms" | "decimal"} format
 * @param {[string, string]} sides the letters for above and below zero
 */
export function coordinate(degrees, step, format, sides) {
  const side = degrees < 0 ? sides[1] : sides[0];
  const size = Math.abs(degrees);
  if (format === "decimal" || step < DMS_STEPS[0]) return `${size.toFixed(digits(step))}°${side}`;
  const tenths = step < SECOND * 0.999;
  const all = tenths ? Math.round(size * 36000) / 10 : Math.round(size * 3600);
  const [whole, rest] = [Math.floor(all / 3600), all % 3600];
  const [minutes, seconds] = [Math.floor(rest / 60), rest % 60];
  const text = [`${whole}°`];
  if (step < 1) text.push(`${String(minutes).padStart(2, "0")}′`);
  if (step < 1 / 60 - 1e-9)
    text.push(`${seconds.toFixed(tenths ? 1 : 0).padStart(tenths ? 4 : 2, "0")}″`);
  return text.join("") + side;
}

/** Decimals that tell multiples of a step apart. @param {number} step */
function digits(step) {
  return Math.max(0, Math.ceil(-Math.log10(step) - 1e-9));
}

/**
 * The longest round scale bar that fits.
 * @param {number} metresPerPixel @param {number} mostPx @param {Units} units
 * @returns {{ length: number, unit: "m" | "km" | "ft" | "mi", px: number }}
 */
export function scaleBar(metresPerPixel, mostPx, units) {
  const metres = metresPerPixel * mostPx;
  const [unit, inMetres] = barUnit(metres, units);
  const length = roundDown(metres / inMetres);
  return { length, unit, px: (length * inMetres) / metresPerPixel };
}

/** @param {number} metres @param {Units} units @returns {["m" | "km" | "ft" | "mi", number]} */
function barUnit(metres, units) {
  if (units === "metric") return metres >= 1000 ? ["km", 1000] : ["m", 1];
  const mile = M_PER_FOOT * FEET_PER_MILE;
  return metres >= mile ? ["mi", mile] : ["ft", M_PER_FOOT];
}
