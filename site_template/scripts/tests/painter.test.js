import assert from "node:assert/strict";
import test from "node:test";

import { paint } from "../painter.js";

const COLOURS = { ink: "#000", paper: "#fff", accent: "#a00", species: Array(9).fill("#070") };
const VIEW = {
  scale: 1,
  left: 0,
  top: 0,
  width: 200,
  height: 200,
  ratio: 1,
  metresPerPixel: 1,
};

/** The radii of all arcs that are drawn for two trees, the first of them chosen. */
function radii(unsure, selected = 0) {
  const drawn = [];
  const nothing = () => undefined;
  const pen = new Proxy(
    { arc: (_x, _y, radius) => drawn.push(radius) },
    { get: (own, name) => own[name] ?? nothing, set: () => true },
  );
  const picture = {
    trees: [0, 1],
    x: Float64Array.of(50, 120),
    y: Float64Array.of(50, 120),
    radius: Float32Array.of(4, 4),
    outlineRadius: 0,
    colour: Uint8Array.of(0, 0),
    symbol: [0, 0],
    shown: Uint8Array.of(1, 1),
    highlighted: new Set(),
    selected,
    unsure,
    current: -1,
    marks: [],
  };
  paint(pen, VIEW, picture, COLOURS);
  return drawn;
}

test("the chosen tree has the circle that holds its true place", () => {
  assert.ok(radii(60).includes(60));
});

test("a circle no larger than the tree's sign, or of no tree in view, is not drawn", () => {
  assert.ok(!radii(9).includes(9));
  assert.ok(!radii(60, 7).includes(60));
  assert.ok(!radii(0).includes(0));
});
