/** @import { Block, Packed } from "./types" */

const TYPES = { 1: Uint8Array, 2: Uint16Array, 4: Uint32Array };
const CELLS = 2 ** 19; // across the world
const STEPS = 2 ** 16; // across a cell

/** What base64 of a deflated text or table stands for. @param {string} text */
export async function inflated(text) {
  const own = /** @type {{ fromBase64?: (text: string) => Uint8Array }} */ (Uint8Array);
  const bytes =
    own.fromBase64?.(text) ?? Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const parts = new Blob([/** @type {BlobPart} */ (bytes)]).stream();
  return new Response(parts.pipeThrough(new DecompressionStream("deflate"))).arrayBuffer();
}

/**
 * A table of whole numbers, column by column: 0 is none where a column may have gaps.
 * @param {Packed} packed
 * @returns {Promise<Record<string, Uint8Array | Uint16Array | Uint32Array>>}
 */
export async function unpack({ rows, columns, data }) {
  const bytes = await inflated(data);
  let start = 0;
  return Object.fromEntries(
    columns.map(([name, width]) => {
      const column = new TYPES[width](bytes, start, rows);
      start += rows * width;
      return [name, column];
    }),
  );
}

/**
 * World coordinates of a block's trees, NaN for those without a place, which come last.
 * @param {Block} block
 */
export async function unpackBlock(block) {
  const [cells, trees] = await Promise.all([unpack(block.cells), unpack(block.trees)]);
  const [x, y] = [new Float64Array(block.trees.rows), new Float64Array(block.trees.rows)];
  let tree = 0;
  for (let cell = 0; cell < block.cells.rows; cell++) {
    for (const end = tree + cells.trees[cell]; tree < end; tree++) {
      // The middle of the step: never further off than half of it.
      x[tree] = (cells.x[cell] + (trees.x[tree] + 0.5) / STEPS) / CELLS;
      y[tree] = (cells.y[cell] + (trees.y[tree] + 0.5) / STEPS) / CELLS;
    }
  }
  x.fill(NaN, tree);
  y.fill(NaN, tree);
  return { trees, x, y };
}
