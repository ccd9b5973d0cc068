/** @import { TreeLayer } from "./tree-layer.js" */
import { fill, speciesName } from "./words.js";

const FLIGHT_S = 0.25;
const CLOSE_UP = 20; // the zoom at which stems a few metres apart stand clear of each other

/** @type {Record<string, [number, number]>} */
const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

export const calm = () => matchMedia("(prefers-reduced-motion: reduce)").matches;

/** Let mouse, finger and keys reach the trees of a map. @param {TreeLayer} layer */
export function makeReachable(layer) {
  const { map, sheet } = layer;
  const container = map.getContainer();
  const hint = L.DomUtil.create("div", "tree-hint", container);
  const status = L.DomUtil.create("div", "map-status", container);
  status.setAttribute("aria-live", "polite");
  hint.hidden = true;

  container.tabIndex = 0;
  container.setAttribute("role", "application");
  const describe = () => container.setAttribute("aria-label", mapWords(layer));
  sheet.addEventListener("trees", describe);
  describe();

  map.on("click", (event) => sheet.select(layer.treeAt(event.latlng)));
  map.on("mousemove", (event) => pointAt(layer, hint, layer.treeAt(event.latlng, 14)));
  map.on("mouseout movestart zoomstart", () => pointAt(layer, hint, -1));
  container.addEventListener("keydown", (event) => {
    if (event.target === container) onKey(layer, event, { hint, status });
  });
  container.addEventListener("blur", () => {
    layer.moveTo(-1);
    hint.hidden = true;
  });
  sheet.addEventListener("select", () => layer.has(sheet.selected) && (hint.hidden = true));
}

/** @param {TreeLayer} layer */
function mapWords({ sheet, grid }) {
  return fill(sheet.labels.map, { n: grid?.trees.length ?? 0 });
}

/** @param {TreeLayer} layer @param {HTMLElement} hint @param {number} tree */
function pointAt(layer, hint, tree) {
  layer.map.getContainer().classList.toggle("over-tree", tree >= 0);
  hint.hidden = tree < 0;
  if (tree < 0) return;
  const place = layer.map.latLngToContainerPoint(layer.latLng(tree));
  hint.textContent = treeWords(layer, tree);
  // To the left of trees near the right edge, so that the words stay inside the neat line.
  hint.classList.toggle("to-the-left", place.x > layer.map.getSize().x * 0.6);
  hint.style.left = `${place.x}px`;
  hint.style.top = `${place.y}px`;
}

/** @param {TreeLayer} layer @param {number} tree */
function treeWords({ sheet }, tree) {
  const { columns, lists, labels } = sheet;
  if (!columns) return "";
  const name = fill(labels.tree, { id: columns.id[tree] });
  return `${name}, ${speciesName(lists.species[columns.species[tree]], labels)}`;
}

/**
 * @param {TreeLayer} layer
 * @param {KeyboardEvent} event
 * @param {{ hint: HTMLElement, status: HTMLElement }} words
 */
function onKey(layer, event, words) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const step = STEPS[event.key];
  if (step) goOn(layer, step, words);
  else if (event.key === "Enter") layer.sheet.select(layer.current);
  else if (event.key === "+" || event.key === "=") layer.map.zoomIn();
  else if (event.key === "-") layer.map.zoomOut();
  else return;
  event.preventDefault();
}

/**
 * @param {TreeLayer} layer
 * @param {[number, number]} step
 * @param {{ hint: HTMLElement, status: HTMLElement }} words
 */
function goOn(layer, step, { hint, status }) {
  const tree = layer.step(step);
  status.textContent = tree < 0 ? layer.sheet.labels.no_tree_there : treeWords(layer, tree);
  if (tree < 0) return;
  layer.map.panInside(layer.latLng(tree), { padding: [40, 40], animate: false });
  pointAt(layer, hint, tree);
}

/**
 * Bring a tree into the part of the map that the open panel leaves free.
 * @param {TreeLayer} layer
 * @param {number} tree
 * @param {HTMLElement | null} panel
 */
export function bringIntoView(layer, tree, panel) {
  const { map } = layer;
  const free = freePart(map.getContainer().getBoundingClientRect(), panel);
  const place = map.latLngToContainerPoint(layer.latLng(tree));
  const edge = 24;
  const inside =
    place.x > free.left + edge &&
    place.x < free.right - edge &&
    place.y > free.top + edge &&
    place.y < free.bottom - edge;
  if (inside) return;

  const far = !map.getBounds().contains(layer.latLng(tree));
  const zoom = far ? Math.max(map.getZoom(), Math.min(CLOSE_UP, map.getMaxZoom())) : map.getZoom();
  const aside = L.point((free.left + free.right) / 2, (free.top + free.bottom) / 2);
  const shift = map.getSize().divideBy(2).subtract(aside);
  const center = map.unproject(map.project(layer.latLng(tree), zoom).add(shift), zoom);
  map.setView(center, zoom, { animate: !calm(), duration: FLIGHT_S });
}

/** @param {DOMRect} box @param {HTMLElement | null} panel */
function freePart(box, panel) {
  const free = { left: 0, top: 0, right: box.width, bottom: box.height };
  const cover = panel && !panel.hidden ? panel.getBoundingClientRect() : null;
  const apart =
    !cover ||
    cover.left >= box.right ||
    cover.right <= box.left ||
    cover.top >= box.bottom ||
    cover.bottom <= box.top;
  if (apart) return free;
  if (cover.width > box.width * 0.7) free.bottom = Math.max(cover.top - box.top, 120);
  else if (cover.left > box.left + box.width / 2) free.right = cover.left - box.left;
  else free.left = cover.right - box.left;
  return free;
}
