import assert from "node:assert/strict";
import test from "node:test";
import { deflateSync } from "node:zlib";

import { unpack, unpackBlock } from "../unpack.js";

/** A table as the program packs it, widest column first. */
function packed(rows, columns) {
  const parts = columns.map(([, column]) => Buffer.from(column.buffer));
  return {
    rows,
    columns: columns.map(([name, column]) => [name, column.BYTES_PER_ELEMENT]),
    data: deflateSync(Buffer.concat(parts)).toString("base64"),
  };
}

test("columns of every width come back", async () => {
  const table = packed(3, [
    ["wide", Uint32Array.of(70000, 1, 4294967295)],
    ["middle", Uint16Array.of(1, 65535, 3)],
    ["small", Uint8Array.of(9, 8, 7)],
  ]);
  const { wide, middle, small } = await unpack(table);
  assert.deepEqual([...wide], [70000, 1, 4294967295]);
  assert.deepEqual([...middle], [1, 65535, 3]);
  assert.deepEqual([...small], [9, 8, 7]);
});

test("trees stand in the middle of their step, and without a place nowhere", async () => {
  const cells = packed(2, [
    ["x", Uint32Array.of(5, 6)],
    ["y", Uint32Array.of(9, 9)],
    ["trees", Uint8Array.of(2, 1)],
  ]);
  const trees = packed(4, [
    ["x", Uint16Array.of(0, 65535, 32768, 0)],
    ["y", Uint16Array.of(0, 0, 0, 0)],
  ]);
  const { x, y } = await unpackBlock({ cells, trees });
  const world = (cell, step) => (cell + (step + 0.5) / 65536) / 524288;
  assert.deepEqual([...x.slice(0, 3)], [world(5, 0), world(5, 65535), world(6, 32768)]);
  assert.equal(y[2], world(9, 0));
  assert.ok(Number.isNaN(x[3]) && Number.isNaN(y[3]));
});
