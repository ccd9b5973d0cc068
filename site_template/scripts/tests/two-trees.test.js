import assert from "node:assert/strict";
import test from "node:test";
import labels from "../labels.json" with { type: "json" };
import { difference, largerWords, twoTreesAddress } from "../two-trees.js";

const tall = (value, sd) => ({ value, sd, unit: "m" });
const words = (...pair) => largerWords("taller", ["A", "B"], pair, labels, "metric");

test("a difference carries the errors of both", () => {
  assert.deepEqual(difference([tall(20, 0.3), tall(25, 0.4)]), { value: 5, sd: 0.5, unit: "m" });
  assert.equal(difference([tall(20, 0.3), tall(null, null)]).value, null);
});

test("taller is said only where the difference is more than its ±", () => {
  assert.equal(words(tall(20, 0.3), tall(25, 0.4)), "B is taller than A by 5.0\u00a0± 1.0\u00a0m.");
  assert.equal(words(tall(25, 0.3), tall(20, 0.4)), "A is taller than B by 5.0\u00a0± 1.0\u00a0m.");
  assert.match(words(tall(20, 0.3), tall(20.9, 0.4)), /cannot tell: they differ/);
  assert.match(words(tall(20, null), tall(25, 0.4)), /^By the numbers handed in B is taller than A/);
  assert.equal(words(tall(null, null), tall(25, 0.4)), "");
});

test("any name of a tree can stand in the address", () => {
  assert.equal(twoTreesAddress(["a&b", "7"]), "two-trees.html#a%26b&7");
});
