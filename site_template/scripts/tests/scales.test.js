import assert from "node:assert/strict";
import test from "node:test";
import { metresPerPixel, worldX, worldY } from "../places.js";
import { coordinate, roundDown, roundUp, scaleBar, ticks } from "../scales.js";

const NORTH = ["N", "S"];

test("round numbers are 1, 2 or 5 times a power of ten", () => {
  for (const [value, up, down] of [
    [3, 5, 2],
    [1, 1, 1],
    [0.03, 0.05, 0.02],
    [900, 1000, 500],
  ]) {
    assert.ok(Math.abs(roundUp(value) - up) < up * 1e-9, `${value} up: ${roundUp(value)}`);
    assert.ok(Math.abs(roundDown(value) - down) < down * 1e-9, `${value} down`);
  }
});

test("ticks stand on whole seconds, apart enough, and within the limits", () => {
  const { step, values } = ticks(42.36, 42.362, 1.4 / 3600, "dms");
  assert.equal(step, 2 / 3600);
  assert.ok(values.length >= 3);
  for (const value of values) {
    assert.ok(value >= 42.36 - 1e-9 && value <= 42.362 + 1e-9);
    const seconds = value * 3600;
    assert.ok(Math.abs(seconds - 2 * Math.round(seconds / 2)) < 1e-6);
  }
});

test("decimal ticks step in 1, 2, 5", () => {
  const { step, values } = ticks(-0.00011, 0.00042, 0.00013, "decimal");
  assert.ok(Math.abs(step - 0.0002) < 1e-15);
  assert.deepEqual(
    values.map((value) => Math.round(value / step)),
    [0, 1, 2],
  );
});

test("coordinates are written with what the step needs", () => {
  const at = 42 + 21 / 60 + 30 / 3600;
  assert.equal(coordinate(at, 2 / 3600, "dms", NORTH), "42°21′30″N");
  assert.equal(coordinate(-42.35, 1 / 60, "dms", NORTH), "42°21′S");
  assert.equal(coordinate(42, 1, "dms", NORTH), "42°N");
  assert.equal(coordinate(at, 0.0002, "decimal", NORTH), "42.3583°N");
  assert.equal(coordinate(at + 0.2 / 3600, 0.2 / 3600, "dms", NORTH), "42°21′30.2″N");
});

test("a second that rounds up carries into the minute", () => {
  const almost = 10 + 59.9999 / 3600;
  assert.equal(coordinate(almost, 1 / 3600, "dms", NORTH), "10°01′00″N");
});

test("the scale bar is the longest round length that fits", () => {
  assert.deepEqual(scaleBar(0.3, 160, "metric"), { length: 20, unit: "m", px: 20 / 0.3 });
  assert.deepEqual(scaleBar(10, 160, "metric"), { length: 1, unit: "km", px: 100 });
  const feet = scaleBar(0.3, 160, "us"); // 48 m are 157 ft
  assert.equal(feet.length, 100);
  assert.equal(feet.unit, "ft");
  assert.ok(Math.abs(feet.px - 101.6) < 1e-9); // 30.48 m at 0.3 m a pixel
});

test("Web Mercator ends where it is known to end", () => {
  // 85.0511287798066°: the latitude at which the projection is square. EPSG:3857, well known.
  assert.ok(Math.abs(worldY(85.0511287798066)) < 1e-12);
  assert.equal(worldX(0), 0.5);
  assert.ok(Math.abs(worldY(0) - 0.5) < 1e-15);
  // 156543.034 m a pixel at zoom 0 on the equator, half of it at 60°
  assert.ok(Math.abs(metresPerPixel(0, 0) - 156543.0339) < 1e-3);
  assert.ok(Math.abs(metresPerPixel(60, 0) - 78271.517) < 1e-3);
});
