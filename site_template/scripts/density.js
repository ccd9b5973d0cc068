/** @import { View } from "./types" */

export const SHADES = [0.1, 0.24, 0.42, 0.64, 0.9]; // of ink; the style sheet has the same for the key
const LEAST_CELL_PX = 6;
const M2_PER_HA = 10000;

/**
 * Where more trees stand than can be told apart: how many there are in each cell of a grid that
 * lies still on the ground, and the number of trees per hectare at which the darkest shade begins.
 * @param {View} view
 * @param {{ trees: number[], x: Float64Array, y: Float64Array, shown: Uint8Array }} picture
 */
export function densityOf(view, { trees, x, y, shown }) {
  const cellsPerWorld = 2 ** Math.floor(Math.log2(view.scale / LEAST_CELL_PX));
  const cellPx = view.scale / cellsPerWorld;
  const [left, top] = [view.left, view.top].map((edge) => Math.floor(edge / cellPx));
  const across = Math.ceil(view.width / cellPx) + 2;
  const down = Math.ceil(view.height / cellPx) + 2;
  const counts = new Uint32Array(across * down);
  for (const tree of trees) {
    const column = Math.floor(x[tree] * cellsPerWorld) - left;
    const row = Math.floor(y[tree] * cellsPerWorld) - top;
    if (column < 0 || row < 0 || column >= across || row >= down) continue;
    counts[row * across + column] += shown[tree];
  }
  const hectares = (cellPx * view.metresPerPixel) ** 2 / M2_PER_HA;
  return { cellPx, left, top, across, counts, hectares, most: usualMost(counts) / hectares };
}

/** A round number that all but the fullest twentieth of the cells stay below. @param {Uint32Array} counts */
function usualMost(counts) {
  const full = counts.filter((count) => count > 0).sort();
  return full[Math.floor(full.length * 0.95)] ?? 1;
}

/**
 * Shade the cells in ink, and tell what the darkest shade begins at.
 * @param {CanvasRenderingContext2D} pen
 * @param {View} view
 * @param {Parameters<typeof densityOf>[1]} picture
 * @param {{ ink: string }} colours
 */
export function paintDensity(pen, view, picture, { ink }) {
  const { cellPx, left, top, across, counts, hectares, most } = densityOf(view, picture);
  const power = 10 ** Math.floor(Math.log10(most));
  const darkest = Math.ceil(most / power) * power;
  const whole = (/** @type {number} */ px) => Math.round(px * view.ratio) / view.ratio;
  pen.fillStyle = ink;
  SHADES.forEach((shade, step) => {
    pen.globalAlpha = shade;
    counts.forEach((count, cell) => {
      if (count === 0 || shadeOf(count / hectares, darkest) !== step) return;
      const x = ((cell % across) + left) * cellPx - view.left;
      const y = (Math.floor(cell / across) + top) * cellPx - view.top;
      // On whole device pixels, or the seams between cells show.
      const [west, north] = [whole(x), whole(y)];
      pen.fillRect(west, north, whole(x + cellPx) - west, whole(y + cellPx) - north);
    });
  });
  pen.globalAlpha = 1;
  return darkest;
}

/** Which of the shades. @param {number} perHa @param {number} darkest */
export function shadeOf(perHa, darkest) {
  return Math.min(SHADES.length - 1, Math.floor((perHa / darkest) * (SHADES.length - 1)));
}
