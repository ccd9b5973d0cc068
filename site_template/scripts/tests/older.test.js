import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import test from "node:test";
import labels from "../labels.json" with { type: "json" };
import { chanceOlder, olderWords } from "../older.js";

const CASES = new URL("../../../tests/published/probability_older.csv", import.meta.url);

test("the chance is that of the published cases", () => {
  const rows = readFileSync(CASES, "utf-8").trim().split("\n").slice(1);
  for (const row of rows) {
    const [low, high, otherLow, otherHigh, expected] = row.split(",").map(Number);
    const chance = chanceOlder([low, high], [otherLow, otherHigh]);
    assert.ok(Math.abs(chance - expected) <= 5e-5, row);
  }
  assert.ok(rows.length >= 2);
});

const planted = (name, low, high) => ({ name, ends: [low, high], start: 0 });
const thumb = (name, low, high) => ({ name, ends: [low, high], start: -1 });

test("measured ranges of one start give chances", () => {
  const words = olderWords(planted("A", 90, 110), planted("B", 80, 100), labels);
  assert.equal(words, "A is older than B, with 92 chances in 100.");
  const younger = olderWords(planted("A", 20, 21), planted("B", 80, 100), labels);
  assert.equal(younger, "B is older than A, with more than 99 chances in 100.");
  assert.match(olderWords(planted("A", 90, 111), planted("B", 90, 110), labels), /even chances/);
});

test("a rule of thumb orders only where the ranges do not touch", () => {
  assert.match(olderWords(thumb("A", 90, 110), planted("B", 80, 100), labels), /cannot tell/);
  assert.match(olderWords(thumb("A", 90, 110), thumb("B", 60, 89), labels), /^A is older than B/);
  assert.match(olderWords(thumb("A", 60, 89), thumb("B", 90, 110), labels), /^B is older than A/);
});
