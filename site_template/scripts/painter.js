/** @import { View } from "./types" */
import { DEAD, outline } from "./symbols.js";
import { paintDensity } from "./density.js";

/**
 * What to draw: trees by number, with where and how.
 * @typedef {object} Picture
 * @property {number[]} trees those in view
 * @property {Float64Array} x
 * @property {Float64Array} y
 * @property {Float32Array} radius of the stem dots [px], NaN without a diameter
 * @property {number} outlineRadius 0 for none [px]
 * @property {Uint8Array} colour
 * @property {ArrayLike<number>} symbol
 * @property {Uint8Array} shown
 * @property {Set<number>} highlighted
 * @property {number} selected
 * @property {number} unsure how far the chosen tree's true place may be off, 0 if unknown [px]
 * @property {number} current the tree that the keyboard is at
 * @property {{ tree: number, letter: string }[]} marks
 */

/** @typedef {{ ink: string, paper: string, accent: string, species: string[] }} Colours */

export const MOST_SYMBOLS = 15000; // beyond, they could not be told apart and cost frames
export const FIRST_STEP = 9; // behind the colours of kinds come those of classes, low to high
const BATCH = 500; // arcs a path: longer ones fill slowly
const FAINT = 0.13;
const TINT = 0.18;
const UNMEASURED_PX = 2.2;
const LEAST_PX = 1;
const MANY = 30; // rings, that thick ones would hide
const CLEAR_PX = 6; // so much larger than a tree's sign is a circle of its own
const STOUT_PX = [9, 4.5];

/** The colours of the style sheet as they are now: light, dark or print. @returns {Colours} */
export function readColours() {
  const style = getComputedStyle(document.documentElement);
  /** @param {string} name */
  const colour = (name) => style.getPropertyValue(`--${name}`).trim() || "#1d2925";
  const names = (/** @type {string} */ name, /** @type {number} */ length) =>
    Array.from({ length }, (_, index) => colour(`${name}-${index}`));
  const species = [...names("species", FIRST_STEP), ...names("step", 7)];
  return { ink: colour("ink"), paper: colour("paper"), accent: colour("accent"), species };
}

/**
 * @param {CanvasRenderingContext2D} pen
 * @param {View} view
 * @param {Picture} picture
 * @param {Colours} colours
 * @returns {number} trees per hectare where the darkest shade begins, 0 where trees are drawn
 */
export function paint(pen, view, picture, colours) {
  pen.setTransform(1, 0, 0, 1, 0, 0);
  pen.clearRect(0, 0, view.width * view.ratio, view.height * view.ratio);
  pen.setTransform(view.ratio, 0, 0, view.ratio, 0, 0);
  const crowded = picture.trees.length > MOST_SYMBOLS;
  const darkest = crowded ? paintDensity(pen, view, picture, colours) : 0;
  if (!crowded) paintSymbols(pen, view, picture, colours);
  paintUnsure(pen, view, picture, colours);
  paintRings(pen, view, picture, colours);
  paintMarks(pen, view, picture, colours);
  return darkest;
}

/** @param {View} view @param {Picture} picture @param {number} tree @returns {[number, number]} */
export function placeOf({ scale, left, top }, { x, y }, tree) {
  return [x[tree] * scale - left, y[tree] * scale - top];
}

/**
 * @param {CanvasRenderingContext2D} pen
 * @param {View} view
 * @param {Picture} picture
 * @param {Colours} colours
 */
function paintSymbols(pen, view, picture, colours) {
  const groups = byStyle(picture);
  for (const group of groups) if (!group.shown) paintDots(pen, view, picture, colours, group);
  for (const group of groups) if (group.shown) paintOutlines(pen, view, picture, colours, group);
  for (const group of groups) if (group.shown) paintDots(pen, view, picture, colours, group);
}

/** @typedef {{ shown: number, colour: number, symbol: number, trees: number[] }} Group */

/**
 * Trees that look alike, drawn together, those of stout stems first: they must not hide the others.
 * @param {Picture} picture
 */
function byStyle({ trees, shown, colour, symbol, radius }) {
  /** @type {Map<number, Group>} */
  const groups = new Map();
  for (const tree of trees) {
    const band = radius[tree] > STOUT_PX[0] ? 0 : radius[tree] > STOUT_PX[1] ? 1 : 2;
    const key = ((band * 2 + shown[tree]) * 16 + colour[tree]) * 4 + symbol[tree];
    let group = groups.get(key);
    if (!group) {
      group = { shown: shown[tree], colour: colour[tree], symbol: symbol[tree], trees: [] };
      groups.set(key, group);
    }
    group.trees.push(tree);
  }
  return [...groups.entries()].sort((a, b) => a[0] - b[0]).map(([, group]) => group);
}

/**
 * One sign, drawn once and stamped on every tree of its kind.
 * @param {CanvasRenderingContext2D} pen
 * @param {View} view
 * @param {Picture} picture
 * @param {Colours} colours
 * @param {Group} group
 */
function paintOutlines(pen, view, picture, colours, group) {
  const radius = group.symbol === DEAD ? picture.outlineRadius || 4 : picture.outlineRadius;
  if (!radius) return;
  const sign = stamp(radius, view.ratio, colours, group);
  const size = sign.width / view.ratio;
  for (const tree of group.trees) {
    const [x, y] = placeOf(view, picture, tree);
    // On whole device pixels, or the hairlines blur.
    const left = Math.round((x - size / 2) * view.ratio) / view.ratio;
    const top = Math.round((y - size / 2) * view.ratio) / view.ratio;
    pen.drawImage(sign, left, top, size, size);
  }
}

/** @param {number} radius @param {number} ratio @param {Colours} colours @param {Group} group */
function stamp(radius, ratio, colours, { colour, symbol }) {
  const sign = document.createElement("canvas");
  sign.width = sign.height = Math.ceil((radius + 2) * 2 * ratio);
  const pen = /** @type {CanvasRenderingContext2D} */ (sign.getContext("2d"));
  pen.setTransform(ratio, 0, 0, ratio, sign.width / 2, sign.height / 2);
  pen.beginPath();
  outline(pen, symbol, radius);
  pen.globalAlpha = TINT;
  pen.fillStyle = colours.species[colour];
  if (symbol !== DEAD) pen.fill();
  pen.globalAlpha = 0.75;
  pen.strokeStyle = colours.ink;
  // A class has a line of its own as well: thin is low, thick is high.
  const step = colour - FIRST_STEP;
  pen.lineWidth = step >= 0 ? 0.6 + 0.25 * step : symbol === DEAD ? 1.4 : 0.9;
  pen.stroke();
  return sign;
}

/**
 * The stems. A dead tree's dot is hollow, and so is that of a stem without a measured diameter.
 * @param {CanvasRenderingContext2D} pen
 * @param {View} view
 * @param {Picture} picture
 * @param {Colours} colours
 * @param {Group} group
 */
function paintDots(pen, view, picture, colours, group) {
  const measured = group.trees.filter((tree) => picture.radius[tree] > 0);
  const others = group.trees.filter((tree) => !(picture.radius[tree] > 0));
  const fill = group.symbol === DEAD ? colours.paper : colours.species[group.colour];

  pen.globalAlpha = group.shown ? 1 : FAINT;
  pen.strokeStyle = colours.ink;
  pen.lineWidth = 0.9;
  paintArcs(pen, view, picture, measured, fill);
  paintArcs(pen, view, picture, others, colours.paper);
  pen.globalAlpha = 1;
}

/**
 * @param {CanvasRenderingContext2D} pen
 * @param {View} view
 * @param {Picture} picture
 * @param {number[]} trees
 * @param {string} fill
 */
function paintArcs(pen, view, picture, trees, fill) {
  pen.fillStyle = fill;
  for (let start = 0; start < trees.length; start += BATCH) {
    pen.beginPath();
    for (const tree of trees.slice(start, start + BATCH)) {
      const [x, y] = placeOf(view, picture, tree);
      const radius = Math.max(picture.radius[tree] || UNMEASURED_PX, LEAST_PX);
      pen.moveTo(x + radius, y);
      pen.arc(x, y, radius, 0, 2 * Math.PI);
    }
    pen.fill();
    pen.stroke();
  }
}

/**
 * The circle that holds the true place of the chosen tree, where it is larger than its sign.
 * @param {CanvasRenderingContext2D} pen
 * @param {View} view
 * @param {Picture} picture
 * @param {Colours} colours
 */
function paintUnsure(pen, view, picture, colours) {
  const { selected, unsure } = picture;
  if (!picture.trees.includes(selected) || unsure <= reachOf(picture, selected) + CLEAR_PX) return;
  const [x, y] = placeOf(view, picture, selected);
  pen.beginPath();
  pen.arc(x, y, unsure, 0, 2 * Math.PI);
  pen.fillStyle = pen.strokeStyle = colours.accent;
  pen.globalAlpha = 0.07;
  pen.fill();
  pen.globalAlpha = 1;
  pen.lineWidth = 1;
  pen.setLineDash([6, 4]);
  pen.stroke();
  pen.setLineDash([]);
}

/**
 * Rings in the accent round what the reader chose, points at, or has reached with the keys.
 * @param {CanvasRenderingContext2D} pen
 * @param {View} view
 * @param {Picture} picture
 * @param {Colours} colours
 */
function paintRings(pen, view, picture, colours) {
  pen.strokeStyle = colours.accent;
  const few = picture.trees.length <= MOST_SYMBOLS;
  const looked = few ? picture.trees : [...picture.highlighted].slice(0, MANY);
  const pointedAt = looked.filter((tree) => picture.highlighted.has(tree));
  ring(pen, view, picture, pointedAt, pointedAt.length > MANY ? 1 : 2);
  const inView = (/** @type {number} */ tree) => picture.trees.includes(tree);
  ring(pen, view, picture, [picture.selected].filter(inView), 3);
  pen.setLineDash([3, 2]);
  ring(pen, view, picture, [picture.current].filter(inView), 2);
  pen.setLineDash([]);
}

/**
 * @param {CanvasRenderingContext2D} pen
 * @param {View} view
 * @param {Picture} picture
 * @param {number[]} trees
 * @param {number} width
 */
function ring(pen, view, picture, trees, width) {
  pen.lineWidth = width;
  for (const tree of trees) {
    const [x, y] = placeOf(view, picture, tree);
    pen.beginPath();
    pen.arc(x, y, reachOf(picture, tree) + width, 0, 2 * Math.PI);
    pen.stroke();
  }
}

/** How far a tree's drawing reaches. @param {Picture} picture @param {number} tree */
function reachOf(picture, tree) {
  return Math.max(picture.outlineRadius, picture.radius[tree] || UNMEASURED_PX, 5);
}

/**
 * The letters of the margin notes, each at the end of a short leader.
 * @param {CanvasRenderingContext2D} pen
 * @param {View} view
 * @param {Picture} picture
 * @param {Colours} colours
 */
function paintMarks(pen, view, picture, colours) {
  pen.font = 'italic 17px "Iowan Old Style", "Palatino Linotype", Palatino, Georgia, serif';
  pen.lineJoin = "round";
  for (const { tree, letter } of picture.marks) {
    const [x, y] = placeOf(view, picture, tree);
    const start = reachOf(picture, tree) * 0.72;
    const end = start + 9;
    pen.strokeStyle = colours.ink;
    pen.lineWidth = 0.8;
    pen.beginPath();
    pen.moveTo(x + start, y - start);
    pen.lineTo(x + end, y - end);
    pen.stroke();
    pen.strokeStyle = colours.paper; // a halo keeps the letter readable over other trees
    pen.lineWidth = 5;
    pen.strokeText(letter, x + end + 1, y - end);
    pen.fillStyle = colours.ink;
    pen.fillText(letter, x + end + 1, y - end);
  }
}
