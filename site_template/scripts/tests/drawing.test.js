import assert from "node:assert/strict";
import test from "node:test";
import { sightOf } from "../drawing.js";

test("two angles: top and base are seen from the eye", () => {
  const sight = sightOf("20 × (tan 45° − tan (−45°))");
  assert.equal(sight?.distance, 20);
  assert.equal(sight?.baseAngle, -45);
  assert.ok(Math.abs((sight?.top ?? 0) - 20) < 1e-9);
  assert.ok(Math.abs((sight?.base ?? 0) + 20) < 1e-9);
});

test("two angles uphill: the base may lie above the eye", () => {
  const sight = sightOf("12.5 × (tan 50.5° − tan 4°)");
  assert.ok((sight?.base ?? 0) > 0);
});

test("one angle: the ground lies an eye's height below", () => {
  const sight = sightOf("18 × tan 45° + 1.6");
  assert.equal(sight?.base, -1.6);
  assert.equal(sight?.baseAngle, null);
});

test("no other formula, and no impossible triangle, is drawn", () => {
  for (const formula of ["", "273 / π", "π / 4 × (86.90 / 100)²", "20 × (tan 5° − tan 30°)"]) {
    assert.equal(sightOf(formula), null, formula);
  }
  assert.equal(sightOf("20 × tan 90° + 1.6"), null);
});
