/**
 * The plan symbols. Outlines are signs of one size, not crowns: nobody measured those. Only the dot
 * of the stem is to scale.
 */

export const BROADLEAF = 0;
export const CONIFER = 1;
export const DEAD = 2;

const SCALLOPS = 9;
const POINTS = 16;
const INNER = 0.8;

/** How many times life size a stem dot may be drawn. */
const EXAGGERATIONS = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000];
const READABLE_PX = { least: 1.2, usual: 2.2 }; // radius of a middling stem
const OUTLINE_PX = { least: 4.5, usual: 12, most: 26 };
const OVERLAP = 0.75; // of the distance to a neighbour: signs may touch, not bury each other

/** @typedef {Pick<CanvasPath, "moveTo" | "lineTo" | "arc" | "closePath">} Pen */

/**
 * Draw the outline of a symbol round the origin.
 * @param {Pen} pen
 * @param {number} symbol
 * @param {number} radius
 */
export function outline(pen, symbol, radius) {
  if (symbol === BROADLEAF) scallops(pen, radius);
  else if (symbol === CONIFER) star(pen, radius);
  else if (symbol === DEAD) cross(pen, radius * 0.7);
  else pen.arc(0, 0, radius, 0, 2 * Math.PI);
}

/** A closed ring of half rounds that bulge outwards. @param {Pen} pen @param {number} radius */
function scallops(pen, radius) {
  const half = Math.PI / SCALLOPS;
  const ring = radius / (Math.cos(half) + Math.sin(half)); // so that the bulges touch the radius
  for (let i = 0; i < SCALLOPS; i++) {
    const angle = 2 * half * i;
    const [x, y] = [
      Math.cos(angle) * ring * Math.cos(half),
      Math.sin(angle) * ring * Math.cos(half),
    ];
    pen.arc(x, y, ring * Math.sin(half), angle - Math.PI / 2, angle + Math.PI / 2);
  }
  pen.closePath();
}

/** @param {Pen} pen @param {number} radius */
function star(pen, radius) {
  for (let i = 0; i < 2 * POINTS; i++) {
    const angle = (Math.PI / POINTS) * i;
    const reach = i % 2 ? radius * INNER : radius;
    const [x, y] = [Math.cos(angle) * reach, Math.sin(angle) * reach];
    if (i) pen.lineTo(x, y);
    else pen.moveTo(x, y);
  }
  pen.closePath();
}

/** @param {Pen} pen @param {number} arm */
function cross(pen, arm) {
  pen.moveTo(-arm, -arm);
  pen.lineTo(arm, arm);
  pen.moveTo(-arm, arm);
  pen.lineTo(arm, -arm);
}

/**
 * How many times life size to draw the stems, so that a middling one can be seen. One number for
 * the whole view: dot areas stay proportional to basal area. Where trees crowd, dots are small.
 * @param {number} middleDiameterM
 * @param {number} metresPerPixel
 * @param {number} spacingPx
 */
export function exaggeration(middleDiameterM, metresPerPixel, spacingPx) {
  const radius = middleDiameterM / 2 / metresPerPixel;
  const readable = Math.max(READABLE_PX.least, Math.min(READABLE_PX.usual, spacingPx / 2));
  const first = EXAGGERATIONS.findIndex((times) => radius * times >= readable);
  const times = EXAGGERATIONS[first] ?? 1000;
  // One step less where middling stems would hide each other, unless they would be lost to the eye.
  const less = EXAGGERATIONS[first - 1] ?? times;
  const hidden = 2 * radius * times > spacingPx;
  return hidden && radius * less >= READABLE_PX.least * 0.8 ? less : times;
}

/**
 * The radius of all outlines in a view, 0 when trees stand too close together for any.
 * @param {number} spacingPx middle distance between neighbours
 * @param {number} stoutPx radius of a stout stem's dot
 */
export function outlineRadius(spacingPx, stoutPx) {
  const room = spacingPx * OVERLAP;
  if (room < OUTLINE_PX.least) return 0;
  const wanted = Math.max(OUTLINE_PX.usual, stoutPx + 4);
  return Math.min(wanted, room, OUTLINE_PX.most);
}
