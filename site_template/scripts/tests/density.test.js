import assert from "node:assert/strict";
import test from "node:test";

import { densityOf, shadeOf } from "../density.js";

const VIEW = { scale: 1024, left: 0, top: 0, width: 64, height: 64, ratio: 1, metresPerPixel: 10 };

/** Trees at pixels of the view. */
function picture(places, shown = places.map(() => 1)) {
  return {
    trees: places.map((_, tree) => tree),
    x: Float64Array.from(places, ([x]) => x / VIEW.scale),
    y: Float64Array.from(places, ([, y]) => y / VIEW.scale),
    shown: Uint8Array.from(shown),
  };
}

test("every shown tree is counted once, in the cell it stands in", () => {
  const { cellPx, across, counts } = densityOf(VIEW, picture([[1, 1], [7, 3], [9, 1], [1, 17]]));
  assert.equal(cellPx, 8);
  assert.equal(counts.reduce((sum, each) => sum + each), 4);
  assert.deepEqual([counts[0], counts[1], counts[2 * across]], [2, 1, 1]);
});

test("a tree that the filter hides is not counted", () => {
  assert.equal(densityOf(VIEW, picture([[1, 1], [2, 2]], [1, 0])).counts[0], 1);
});

test("trees a hectare: 8 pixels of 10 m make a cell of 0.64 ha", () => {
  const { hectares, most } = densityOf(VIEW, picture([[1, 1], [2, 2]]));
  assert.ok(Math.abs(hectares - 0.64) < 1e-12);
  assert.ok(Math.abs(most - 2 / 0.64) < 1e-12);
});

test("cells lie still on the ground while the map is moved", () => {
  const moved = { ...VIEW, left: 5 };
  const one = (view) => densityOf(view, picture([[7.9, 1], [8.1, 1]])).counts.filter(Boolean);
  assert.deepEqual([...one(VIEW)], [...one(moved)]);
});

test("the darkest shade begins where the key says", () => {
  assert.equal(shadeOf(500, 500), 4);
  assert.equal(shadeOf(499, 500), 3);
  assert.equal(shadeOf(1, 500), 0);
  assert.equal(shadeOf(9999, 500), 4);
});
