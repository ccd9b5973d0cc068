import assert from "node:assert/strict";
import test from "node:test";
import { anyTree, passes, plain } from "../filter.js";

const OAK = { species: 2, stand: 0, size: 3, text: plain("14 Quercus alba white oak Old Grove") };

test("without a wish every tree passes, also one of no species", () => {
  assert.ok(passes(anyTree(), OAK));
  assert.ok(passes(anyTree(), { species: -1, stand: -1, size: -1, text: "" }));
});

test("each choice can turn a tree away", () => {
  for (const wish of [{ species: 1 }, { stand: 1 }, { size: 0 }, { only: new Set([1, 5]) }]) {
    assert.equal(passes({ ...anyTree(), ...wish }, OAK), false, JSON.stringify(wish));
  }
  const wish = { species: 2, stand: 0, size: 3, only: new Set([2]) };
  assert.ok(passes({ ...anyTree(), ...wish }, OAK));
});

test("a search wants every word, in any order, case or accent", () => {
  const search = (text) => passes({ ...anyTree(), search: text }, OAK);
  assert.ok(search("oak WHITE"));
  assert.ok(search("  "));
  assert.ok(search("Quércus"));
  assert.equal(search("red oak"), false);
});
