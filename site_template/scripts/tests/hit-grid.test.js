import assert from "node:assert/strict";
import test from "node:test";
import { HitGrid } from "../hit-grid.js";

const every = () => true;

/** @param {[number, number][]} places */
function gridOf(places) {
  const x = Float64Array.from(places, (place) => place[0]);
  const y = Float64Array.from(places, (place) => place[1]);
  return new HitGrid(x, y, Int32Array.from(places.keys()));
}

/** Numbers that look random and are the same each time (a linear congruential generator). */
function scattered(count) {
  let state = 7;
  const next = () => (state = (state * 1103515245 + 12345) % 2147483648) / 2147483648;
  return Array.from({ length: count }, () => [next(), next()]);
}

test("a rectangle holds the trees that a plain search finds", () => {
  const places = scattered(500);
  const grid = gridOf(places);
  const [left, top, right, bottom] = [0.21, 0.33, 0.58, 0.71];
  const inside = ([x, y]) => x >= left && x <= right && y >= top && y <= bottom;
  const expected = [...places.keys()].filter((tree) => inside(places[tree]));
  assert.ok(expected.length > 20);
  assert.deepEqual(
    grid.within(left, top, right, bottom).sort((a, b) => a - b),
    expected,
  );
  assert.equal(grid.within(-1, -1, 2, 2).length, 500);
  assert.deepEqual(grid.within(1.1, 1.1, 2, 2), []);
});

test("the nearest tree is the nearest of all, and must be accepted and in reach", () => {
  const places = scattered(400);
  const grid = gridOf(places);
  for (const [x, y] of scattered(450).slice(400)) {
    const distance = (tree) => Math.hypot(places[tree][0] - x, places[tree][1] - y);
    const best = [...places.keys()].reduce((a, b) => (distance(b) < distance(a) ? b : a));
    assert.equal(grid.nearest(x, y, 1, every), best);
    assert.notEqual(
      grid.nearest(x, y, 1, (tree) => tree !== best),
      best,
    );
    assert.equal(grid.nearest(x, y, distance(best) * 0.99, every), -1);
  }
});

test("the arrow keys go to the next tree on that side", () => {
  //  3
  //  0 1 2      y grows downwards
  //  4
  const grid = gridOf([
    [0, 0],
    [1, 0.1],
    [2, 0],
    [0, -1],
    [0.1, 1],
  ]);
  assert.equal(grid.nearestTowards(0, 0, [1, 0], every), 1);
  assert.equal(grid.nearestTowards(1, 0.1, [1, 0], every), 2);
  assert.equal(grid.nearestTowards(2, 0, [1, 0], every), -1);
  assert.equal(grid.nearestTowards(0, 0, [0, -1], every), 3);
  assert.equal(grid.nearestTowards(0, 0, [0, 1], every), 4);
  assert.equal(
    grid.nearestTowards(0, 0, [1, 0], (tree) => tree !== 1),
    2,
  );
});

test("spacing is the usual distance to the nearest neighbour", () => {
  const rows = Array.from({ length: 10 }, (_, i) => i);
  const square = gridOf(rows.flatMap((x) => rows.map((y) => [x * 3, y * 3])));
  assert.ok(Math.abs(square.spacing() - 3) < 1e-12);
});

test("one tree, or none, is no trouble", () => {
  const lone = gridOf([[0.5, 0.5]]);
  assert.equal(lone.spacing(), Infinity);
  assert.equal(lone.nearest(0.5, 0.5, 0.1, every), 0);
  assert.equal(gridOf([]).nearest(0, 0, 1, every), -1);
});
