import assert from "node:assert/strict";
import test from "node:test";
import { compareCells } from "../table.js";

/** @param {string[]} cells @param {1 | -1} direction */
const sorted = (cells, direction) => cells.toSorted((a, b) => compareCells(a, b, direction));

test("numbers sort by size, with or without an uncertainty", () => {
  const cells = ["100.0 ± 2.0", "9.5", "−3", "20"];
  assert.deepEqual(sorted(cells, 1), ["−3", "9.5", "20", "100.0 ± 2.0"]);
  assert.deepEqual(sorted(cells, -1), ["100.0 ± 2.0", "20", "9.5", "−3"]);
});

test("names sort so that 9 comes before 10", () => {
  assert.deepEqual(sorted(["A-10", "A-9", "A-100"], 1), ["A-9", "A-10", "A-100"]);
  assert.deepEqual(sorted(["12a", "9", "12"], 1), ["9", "12", "12a"]);
});

test("empty cells come last either way", () => {
  assert.deepEqual(sorted(["", "2", "1"], 1), ["1", "2", ""]);
  assert.deepEqual(sorted(["", "1", "2"], -1), ["2", "1", ""]);
});
