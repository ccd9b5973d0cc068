import assert from "node:assert/strict";
import test from "node:test";
import { anyTree, passes, within } from "../filter.js";

test("a class holds its lower limit and not its upper one, rounded half up before", () => {
  assert.equal(within(20, [20, 25, 2]), true);
  assert.equal(within(25, [20, 25, 2]), false);
  assert.equal(within(19.9994, [20, 25, 2]), true); // 62.83 cm round, as classes are told
  assert.equal(within(19.994, [20, 25, 2]), false);
  assert.equal(within(12.192, [12.192, 15.24, 3]), true); // 40 ft
});

test("without a range everything passes; with one a tree without that size does not", () => {
  assert.equal(within(null, undefined), true);
  assert.equal(within(null, [0, 5, 2]), false);
});

test("a range is one more condition of the filter", () => {
  const facts = { species: 0, stand: 0, size: 0, text: "", diameter_cm: 31, height_m: null };
  const asks = (ranges) => passes({ ...anyTree(), ranges }, facts);
  assert.equal(asks({}), true);
  assert.equal(asks({ diameter_cm: [30, 35, 2] }), true);
  assert.equal(asks({ diameter_cm: [35, 40, 2] }), false);
  assert.equal(asks({ diameter_cm: [30, 35, 2], height_m: [0, 50, 2] }), false);
});
