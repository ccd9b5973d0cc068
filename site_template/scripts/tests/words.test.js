import assert from "node:assert/strict";
import test from "node:test";
import labels from "../labels.json" with { type: "json" };
import { countWords } from "../controls.js";
import { fill, measure, speciesName } from "../words.js";

/** No-break spaces look like spaces here. */
const written = (...args) => measure(...args, labels).replaceAll("\u00a0", " ");

test("a measure carries two standard uncertainties", () => {
  assert.equal(written(41.23, 0.6, "cm", "metric"), "41.2 ± 1.2 cm");
  assert.equal(written(18.4, null, "m", "metric"), "18.4 m");
  assert.equal(written(null, 0.6, "cm", "metric"), "not measured");
});

test("US units convert value and uncertainty alike", () => {
  assert.equal(written(25.4, 1.27, "cm", "us"), "10.0 ± 1.0 in");
  assert.equal(written(30.48, 1.524, "m", "us"), "100.0 ± 10.0 ft");
});

test("a species goes by the names that are known", () => {
  assert.equal(
    speciesName({ common: "white oak", name: "Quercus alba" }, labels),
    "white oak · Quercus alba",
  );
  assert.equal(speciesName({ common: "", name: "Quercus alba" }, labels), "Quercus alba");
  assert.equal(speciesName(undefined, labels), labels.species_unknown);
});

test("gaps in labels are filled, unknown ones stay to be seen", () => {
  assert.equal(fill("{n} of {total}, {what}", { n: 0, total: 3 }), "0 of 3, {what}");
});

test("the count says what is shown", () => {
  assert.equal(countWords(5, 5, labels), "5 trees");
  assert.equal(countWords(2, 5, labels), "2 of 5 trees");
  assert.equal(countWords(0, 5, labels), labels.shown_none);
  assert.equal(countWords(0, 0, labels), "0 trees");
});
