/** @import { Step } from "./types" */

/**
 * What was sighted, in the working's own unit and in degrees. Heights count from the eye.
 * @typedef {{ distance: number, top: number, topAngle: number, base: number, baseAngle: number | null }} Sight
 */

const SVG = "http://www.w3.org/2000/svg";
const SIZE = { width: 300, height: 190 };
const ROOM = { left: 14, right: 66, top: 12, bottom: 24 };
const ARC_PX = 30;
const SHOWN_DEGREES = 8; // a narrower angle has no room for its number
const ANGLE = String.raw`\(?([−\d.]+)°\)?`;
const TWO_ANGLES = new RegExp(String.raw`^([\d.]+) × \(tan ${ANGLE} − tan ${ANGLE}\)$`);
const ONE_ANGLE = new RegExp(String.raw`^([\d.]+) × tan ${ANGLE} \+ ([\d.]+)$`);

/**
 * Read the sight out of a step's formula, where the numbers stand as they were put in.
 * @param {string} formula
 * @returns {Sight | null} null for any other formula
 */
export function sightOf(formula) {
  const two = formula.match(TWO_ANGLES)?.slice(1).map(asNumber);
  const one = formula.match(ONE_ANGLE)?.slice(1).map(asNumber);
  const [distance, topAngle, last] = two ?? one ?? [];
  const top = distance * tan(topAngle);
  const base = two ? distance * tan(last) : -last;
  // What no tree shows is left to the words: a top below its base, or a ray to the sky.
  if (!(distance > 0 && top > base && Math.abs(topAngle) < 89)) return null;
  return { distance, top, topAngle, base, baseAngle: two ? last : null };
}

/** @param {string} text */
function asNumber(text) {
  return Number(text.replace("−", "-"));
}

/** @param {number} degrees */
function tan(degrees) {
  return Math.tan((degrees * Math.PI) / 180);
}

/**
 * The triangle with this tree's angles and distance, one scale both ways.
 * @param {Step} step
 * @param {string} words what it shows, for who cannot see it
 * @returns {SVGElement | null}
 */
export function heightDrawing(step, words) {
  const sight = sightOf(step.formula);
  if (!sight) return null;
  const high = Math.max(sight.top, 0) - Math.min(sight.base, 0);
  const scale = Math.min(
    (SIZE.width - ROOM.left - ROOM.right) / sight.distance,
    (SIZE.height - ROOM.top - ROOM.bottom) / high,
  );
  const eye = { x: ROOM.left, y: ROOM.top + Math.max(sight.top, 0) * scale };
  const tree = eye.x + sight.distance * scale;
  const [top, base] = [eye.y - sight.top * scale, eye.y - sight.base * scale];
  const height = Math.ceil(Math.max(base, eye.y) + ROOM.bottom);

  const drawing = make("svg", { class: "step-drawing", viewBox: `0 0 ${SIZE.width} ${height}` });
  drawing.setAttribute("role", "img");
  drawing.setAttribute("aria-label", words);
  // The formula is metric, and so is the unit that comes first: 17.4 ± 0.8 m (57.1 ± 2.6 ft).
  const unit = step.result.match(/[a-z]+/)?.[0] ?? "";
  const ground = `M${eye.x} ${base}H${tree + 14}`;
  if (sight.baseAngle === null) drawing.append(make("path", { d: ground, class: "drawn-ground" }));
  drawing.append(
    make("path", { d: `M${eye.x} ${eye.y}H${tree}`, class: "drawn-level" }),
    make("path", { d: `M${tree} ${top}L${eye.x} ${eye.y}L${tree} ${base}`, class: "drawn-sight" }),
    make("path", { d: `M${tree} ${base}V${top}`, class: "drawn-tree" }),
    arc(eye, sight.topAngle),
    make("circle", { cx: eye.x, cy: eye.y, r: 2.5, class: "drawn-eye" }),
    label(tree + 8, (top + base) / 2 + 4, `${step.result.split(" ")[0]} ${unit}`),
    label((eye.x + tree) / 2, Math.max(base, eye.y) + 16, `${sight.distance} ${unit}`, "middle"),
    angleLabel(eye, sight.topAngle),
  );
  const down = sight.baseAngle ?? 0;
  if (Math.abs(down) >= SHOWN_DEGREES) drawing.append(arc(eye, down), angleLabel(eye, down));
  return drawing;
}

/** @param {string} name @param {Record<string, string | number>} attributes */
function make(name, attributes) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, String(value));
  return made;
}

/** @param {number} x @param {number} y @param {string} text @param {"start" | "middle"} [anchor] */
function label(x, y, text, anchor = "start") {
  const made = make("text", { x, y, class: "drawn-label", "text-anchor": anchor });
  made.textContent = text;
  return made;
}

/** @param {{ x: number, y: number }} eye @param {number} degrees */
function arc({ x, y }, degrees) {
  const [across, up] = turned(degrees, ARC_PX);
  const sweep = degrees < 0 ? 1 : 0;
  const path = `M${x + ARC_PX} ${y}A${ARC_PX} ${ARC_PX} 0 0 ${sweep} ${x + across} ${y - up}`;
  return make("path", { d: path, class: "drawn-angle" });
}

/** @param {{ x: number, y: number }} eye @param {number} degrees */
function angleLabel({ x, y }, degrees) {
  const [across, up] = turned(degrees / 2, ARC_PX + 5);
  return label(x + across, y - up + 4, `${degrees}°`.replace("-", "−"));
}

/** @param {number} degrees @param {number} length @returns {[number, number]} */
function turned(degrees, length) {
  const angle = (degrees * Math.PI) / 180;
  return [Math.cos(angle) * length, Math.sin(angle) * length];
}
