/** @import { Columns, Labels, Units } from "./types" */
/** @import { Sheet } from "./sheet.js" */
import { olderWords } from "./older.js";
import { decoded, fill, measure, speciesName } from "./words.js";

const SIDES = ["left", "right"];
const GROUND = 176; // of the template's drawing, as the next two
const TALLEST = 150;
const WIDEST = 44;

/** @typedef {{ value: number | null, sd: number | null, unit: "cm" | "m" }} Size */

/** The address of two trees side by side. @param {string[]} ids */
export function twoTreesAddress(ids) {
  return `two-trees.html#${ids.map(encodeURIComponent).join("&")}`;
}

/** Two trees that the reader names, on the sheet made for it. @param {Sheet} sheet */
export function connectTwoTrees(sheet) {
  const main = document.querySelector(".page-two-trees main");
  const fields = [...(main?.querySelectorAll("input") ?? [])];
  if (!main || !sheet.columns) return;
  const update = () => {
    const asked = location.hash.slice(1).split("&").map(decoded);
    fields.forEach((field, side) => (field.value = asked[side] || field.value));
    const ids = fields.map((field) => field.value.trim());
    show(main, sheet, ids);
  };
  for (const field of fields) {
    field.addEventListener("change", () => {
      location.hash = twoTreesAddress(fields.map((each) => each.value.trim())).split("#")[1];
    });
  }
  addEventListener("hashchange", update);
  update();
}

/** @param {Element} main @param {Sheet} sheet @param {string[]} ids */
function show(main, sheet, ids) {
  const { labels, lists, units } = sheet;
  const columns = /** @type {Columns} */ (sheet.columns);
  const trees = ids.map((id) => sheet.find(id));
  const names = ids.map((id) => fill(labels.tree, { id }));
  const sizes = trees.map((tree) => sizesOf(columns, tree));
  const ages = trees.map((tree, side) => ({
    name: names[side],
    ends: columns.age_ends[tree],
    start: columns.age_start[tree],
  }));
  const write = (/** @type {string} */ cell, /** @type {string} */ text) =>
    main.querySelectorAll(`[data-cell="${cell}"]`).forEach((each) => (each.textContent = text));

  const sentences = [
    ...ids.map((id, side) => (trees[side] < 0 ? fill(labels.no_such_tree, { id }) : "")),
    largerWords("stouter", names, [sizes[0].girth, sizes[1].girth], labels, units),
    largerWords("taller", names, [sizes[0].height, sizes[1].height], labels, units),
    olderWords(ages[0], ages[1], labels),
  ];
  for (const line of main.querySelectorAll("#comparison-sentences li"))
    line.textContent = sentences.shift() ?? "";
  trees.forEach((tree, side) => {
    write(`name-${SIDES[side]}`, names[side]);
    write(`kind-${SIDES[side]}`, speciesName(lists.species[columns.species[tree]], labels));
    write(`age-${SIDES[side]}`, columns.age[tree] || labels.not_known);
  });
  for (const name of /** @type {const} */ (["girth", "diameter", "height"])) {
    const pair = sizes.map((each) => each[name]);
    [...pair, difference(pair)].forEach(({ value, sd, unit }, at) => {
      const text = value === null ? labels.not_known : measure(value, sd, unit, units, labels);
      write(`${name}-${SIDES[at] ?? "difference"}`, text);
    });
  }
  draw(main, sizes);
}

/** @param {Columns} columns @param {number} tree */
function sizesOf(columns, tree) {
  /** @returns {Size} */
  const size = (/** @type {any} */ value, /** @type {any} */ sd, /** @type {"cm" | "m"} */ unit) => ({
    value: value ?? null,
    sd: sd ?? null,
    unit,
  });
  const sd = columns.diameter_sd_cm[tree];
  return {
    girth: size(columns.girth_cm[tree], sd && sd * Math.PI, "cm"), // girth is π times diameter
    diameter: size(columns.diameter_cm[tree], sd, "cm"),
    height: size(columns.height_m[tree], columns.height_sd_m[tree], "m"),
  };
}

/** Right less left; not known where one is missing. @param {Size[]} pair @returns {Size} */
export function difference([left, right]) {
  const value = left.value === null || right.value === null ? null : right.value - left.value;
  const sd = left.sd === null || right.sd === null ? null : Math.hypot(left.sd, right.sd);
  return { value, sd, unit: left.unit };
}

/**
 * Which is stouter or taller, as sure as both ± allow.
 * @param {"stouter" | "taller"} asked @param {string[]} names @param {Size[]} pair
 * @param {Labels} labels @param {Units} units
 */
export function largerWords(asked, names, pair, labels, units) {
  const { value, sd, unit } = difference(pair);
  if (value === null) return "";
  const [tree, other] = value > 0 ? [names[1], names[0]] : names;
  const [surely, unsure, unknown] = {
    stouter: [labels.stouter, labels.stouter_unsure, labels.stouter_unknown],
    taller: [labels.taller, labels.taller_unsure, labels.taller_unknown],
  }[asked];
  const by = measure(Math.abs(value), sd, unit, units, labels);
  const words = sd === null ? unknown : Math.abs(value) > 2 * sd ? surely : unsure;
  return fill(words, { tree, other, by });
}

/**
 * Both stems at one scale, both cuts at another.
 * @param {Element} main @param {ReturnType<typeof sizesOf>[]} sizes
 */
function draw(main, sizes) {
  const tall = Math.max(...sizes.map(({ height }) => height.value ?? 0)) || 1;
  const thick = Math.max(...sizes.map(({ diameter }) => diameter.value ?? 0)) || 1;
  sizes.forEach(({ diameter, height }, side) => {
    const group = main.querySelector(`[data-side="${SIDES[side]}"]`);
    const [up, across] = [(height.value ?? 0) / tall, (diameter.value ?? 0) / 100 / tall];
    const [high, wide] = [up * TALLEST, across * TALLEST];
    const box = { x: -wide / 2, y: GROUND - high, width: wide, height: high };
    for (const [name, value] of Object.entries(box))
      group?.querySelector("rect")?.setAttribute(name, String(value));
    const radius = ((diameter.value ?? 0) / thick) * WIDEST;
    group?.querySelector("circle")?.setAttribute("r", String(radius));
  });
}
