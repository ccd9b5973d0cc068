import assert from "node:assert/strict";
import { test } from "node:test";

import { cameraElevation, heightOf, heightsTogether, triangle } from "../outing/height.js";
import { named, withLeaf } from "../outing/kinds.js";
import { together } from "../outing/position.js";
import { freshRecord, recordsTable, sightsTable } from "../outing/record.js";
import { metres, typed } from "../outing/units.js";
import { broken, grewOddly } from "../outing/warn.js";

const near = (a, b, within = 1e-9) => assert.ok(Math.abs(a - b) <= within, `${a} is not ${b}`);

test("height by hand: 20 m, 38° and −5°, and a foot above the eye", () => {
  near(heightOf({ baseline_m: 20, top_deg: 38, base_deg: -5 }), 17.3755, 1e-3);
  near(heightOf({ baseline_m: 20, top_deg: 50, base_deg: 8 }), 21.0243, 1e-3);
  assert.ok(Number.isNaN(heightOf({ baseline_m: 20, top_deg: -6, base_deg: -5 })));
  assert.ok(Number.isNaN(heightOf({ baseline_m: 0, top_deg: 38, base_deg: -5 })));
});

test("several heights: the middle, and how far apart", () => {
  const sights = [30, 45, 40].map((top_deg) => ({ baseline_m: 10, top_deg, base_deg: 0 }));
  const { count, middle, apart } = heightsTogether(sights);
  assert.equal(count, 3);
  near(middle, 10 * Math.tan((40 * Math.PI) / 180));
  near(apart, 10 - 10 * Math.tan(Math.PI / 6));
});

/* The axes of the W3C recommendation Device Orientation and Motion, turned step by step:
   R = Rz(alpha) Rx(beta) Ry(gamma); the camera looks along −z of the device. */
test("elevation of the camera equals the turned axis", () => {
  const rad = Math.PI / 180;
  for (const [beta, gamma] of [[90, 0], [128, 0], [85, 0], [100, 20], [60, -30], [0, 0]]) {
    const afterGamma = [-Math.sin(gamma * rad), 0, -Math.cos(gamma * rad)];
    const up = afterGamma[1] * Math.sin(beta * rad) + afterGamma[2] * Math.cos(beta * rad);
    near(cameraElevation(beta, gamma), Math.asin(up) / rad, 1e-9);
  }
  near(cameraElevation(128, 0), 38);
  near(cameraElevation(85, 0), -5);
});

test("the drawing is to scale: the angles can be read off it", () => {
  const drawn = triangle({ baseline_m: 20, top_deg: 38, base_deg: -5 }, 300, 220);
  const angle = ([x, y]) => (Math.atan2(drawn.eye[1] - y, x - drawn.eye[0]) * 180) / Math.PI;
  near(angle(drawn.tip), 38, 1e-6);
  near(angle(drawn.foot), -5, 1e-6);
});

test("limits: what is included and what is not", () => {
  const limits = [
    { column: "girth", lower: 0, upper: 10, included: "upper", severity: "error", why: "a" },
    { column: "angle", lower: 0, upper: 10, included: "none", severity: "error", why: "b" },
    { column: "eye", lower: 0, upper: 10, included: "both", severity: "error", why: "c" },
  ];
  const breaks = (column, value) => broken(limits, column, value)?.why;
  assert.deepEqual([0, 10, 11].map((v) => breaks("girth", v)), ["a", undefined, "a"]);
  assert.deepEqual([0, 10, 5].map((v) => breaks("angle", v)), ["b", "b", undefined]);
  assert.deepEqual([0, 10, 11].map((v) => breaks("eye", v)), [undefined, undefined, "c"]);
  assert.equal(breaks("girth", NaN), undefined);
});

test("growth: shrinking and leaping", () => {
  assert.equal(grewOddly(90, 100, 1, 13.8), "shrank");
  assert.equal(grewOddly(99, 100, 1, 13.8), undefined);
  assert.equal(grewOddly(130, 100, 2, 13.8), "leapt");
  assert.equal(grewOddly(120, 100, 2, 13.8), undefined);
  assert.equal(grewOddly(120, null, 2, 13.8), undefined);
});

test("typed numbers", () => {
  assert.equal(typed(" 2,5 "), 2.5);
  assert.equal(typed("−5"), -5);
  assert.ok(Number.isNaN(typed("2 m 30")));
  near(metres("66", "ft"), 20.1168);
});

test("a place from several fixes is no surer than the middle one", () => {
  const mean = together([
    { lat: 45, lon: 9, accuracy_m: 5 },
    { lat: 45.001, lon: 9.001, accuracy_m: 50 },
    { lat: 45, lon: 9, accuracy_m: 10 },
  ]);
  near(mean.lat, 45 + 0.001 * (1 / 2500) / (1 / 25 + 1 / 2500 + 1 / 100), 1e-7);
  assert.equal(mean.accuracy_m, 10);
});

test("kinds by name and by needles", () => {
  const kinds = [{ name: "Acer rubrum", common: "red maple" }, { name: "Quercus rubra", common: "red oak" }];
  assert.deepEqual(named(kinds, "quer").map((k) => k.common), ["red oak"]);
  assert.deepEqual(named(kinds, "MAPLE").map((k) => k.common), ["red maple"]);
  assert.deepEqual(named(kinds, "r"), []);
  const leaves = [
    { taxon: "Pinus strobus", common: "", leaf: ["needles in bundles"], low: 5, high: 5 },
    { taxon: "Pinus resinosa", common: "", leaf: ["needles in bundles"], low: 2, high: 2 },
    { taxon: "Abies", common: "", leaf: ["needles single"], low: 1, high: 1 },
  ];
  assert.deepEqual(withLeaf(leaves, "needles in bundles", 5).map((l) => l.taxon), ["Pinus strobus"]);
  assert.equal(withLeaf(leaves, "needles in bundles").length, 2);
});

test("tables: quotes, commas and line ends stay in their cell", () => {
  const record = { ...freshRecord("Wren", "2026-05-01", "metric"), tree: 'a,"b"', girth: "1,5", girth_unit: "m", note: "x\ny" };
  record.sights.push({ baseline: "20", unit: "m", method: "taped", top: 38, base: -5 });
  const [, row] = recordsTable([record]).split("\r\n");
  assert.equal(row, '"a,""b""",,2026-05-01,Wren,alive,1.5 m,,,,,,,,,x y');
  assert.equal(sightsTable([record]).split("\r\n")[1], '"a,""b""",2026-05-01,Wren,20 m,taped,38,-5');
  assert.equal(sightsTable([freshRecord("", "", "us")]), "");
});
