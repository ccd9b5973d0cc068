import assert from "node:assert/strict";
import test from "node:test";
import { BROADLEAF, CONIFER, DEAD, exaggeration, outline, outlineRadius } from "../symbols.js";

/** A pen that only remembers how far from the origin it got, and what it did. */
function recorder() {
  const seen = { reach: 0, calls: [], nearest: Infinity };
  const point = (x, y) => {
    seen.reach = Math.max(seen.reach, Math.hypot(x, y));
    seen.nearest = Math.min(seen.nearest, Math.hypot(x, y));
  };
  return {
    seen,
    moveTo: (x, y) => (seen.calls.push("moveTo"), point(x, y)),
    lineTo: (x, y) => (seen.calls.push("lineTo"), point(x, y)),
    closePath: () => seen.calls.push("closePath"),
    arc(x, y, radius, start, end) {
      seen.calls.push("arc");
      for (let i = 0; i <= 60; i++) {
        const angle = start + ((end - start) * i) / 60;
        point(x + Math.cos(angle) * radius, y + Math.sin(angle) * radius);
      }
    },
  };
}

for (const [name, symbol] of [
  ["broadleaf", BROADLEAF],
  ["conifer", CONIFER],
  ["unknown", 3],
]) {
  test(`the ${name} outline touches its radius and stays inside`, () => {
    const pen = recorder();
    outline(pen, symbol, 11);
    assert.ok(Math.abs(pen.seen.reach - 11) < 1e-9, `reach ${pen.seen.reach}`);
  });
}

test("a broadleaf bulges outwards: its notches lie nearer than its tips", () => {
  const pen = recorder();
  outline(pen, BROADLEAF, 10);
  assert.equal(pen.seen.calls.filter((call) => call === "arc").length, 9);
  assert.ok(pen.seen.nearest > 7 && pen.seen.nearest < 9, `nearest ${pen.seen.nearest}`);
});

test("a conifer has 16 teeth that go in to four fifths", () => {
  const pen = recorder();
  outline(pen, CONIFER, 10);
  assert.equal(pen.seen.calls.filter((call) => call === "lineTo").length, 31);
  assert.ok(Math.abs(pen.seen.nearest - 8) < 1e-9);
});

test("a dead tree is two strokes, not a closed shape", () => {
  const pen = recorder();
  outline(pen, DEAD, 10);
  assert.deepEqual(pen.seen.calls, ["moveTo", "lineTo", "moveTo", "lineTo"]);
});

test("stems are drawn at life size as soon as they can be seen so", () => {
  assert.equal(exaggeration(0.4, 0.02, 50), 1); // 10 px of radius
  assert.equal(exaggeration(0.4, 0.4, 50), 5); // half a pixel: 5 times makes 2.5
  assert.equal(exaggeration(0.4, 40, 50), 500);
  assert.equal(exaggeration(0.4, 1e6, 50), 1000); // no further than that
});

test("where trees crowd, stems are drawn smaller", () => {
  assert.equal(exaggeration(0.25, 1.4, 2.5), 20); // 1.8 px of radius at 2.5 px from stem to stem
  assert.equal(exaggeration(0.25, 1.4, 100), 50);
});

test("outlines shrink with the room between trees, then go", () => {
  assert.equal(outlineRadius(100, 2), 12);
  assert.equal(outlineRadius(10, 2), 7.5);
  assert.equal(outlineRadius(5, 2), 0);
  assert.equal(outlineRadius(100, 15), 19); // stays round a stout stem
});
