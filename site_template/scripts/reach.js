/** @import { TreeLayer } from "./tree-layer.js" */
import { fill, speciesName } from "./words.js";

const FLIGHT_S = 0.25;
const EDGE_PX = 24;
const LEAST_FREE_PX = 200;
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
  const kind = speciesName(lists.species[columns.species[tree]], labels);
  const id = columns.id[tree]; // of a large survey it comes when the tree is opened
  return id ? `${fill(labels.tree, { id })}, ${kind}` : kind;
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
  else if (event.key === "+" || event.key === "=") zoomBy(layer, 1);
  else if (event.key === "-") zoomBy(layer, -1);
  else return;
  event.preventDefault();
}

/**
 * Zoom round the tree that the keys have reached, if any.
 * @param {TreeLayer} layer @param {number} levels
 */
function zoomBy(layer, levels) {
  const { map, current } = layer;
  const zoom = map.getZoom() + levels;
  if (current < 0) map.setZoom(zoom);
  else map.setZoomAround(layer.latLng(current), zoom);
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
 * @param {HTMLElement} panel
 */
export function bringIntoView(layer, tree, panel) {
  const { map } = layer;
  const free = freePart(map.getContainer(), panel);
  const spot = map.latLngToContainerPoint(layer.latLng(tree));
  if (free.contains(spot)) return;

  const far = !map.getBounds().contains(layer.latLng(tree));
  const zoom = far ? Math.max(map.getZoom(), Math.min(CLOSE_UP, map.getMaxZoom())) : map.getZoom();
  const shift = map.getSize().divideBy(2).subtract(free.getCenter());
  const center = map.unproject(map.project(layer.latLng(tree), zoom).add(shift), zoom);
  map.setView(center, zoom, { animate: !calm(), duration: FLIGHT_S });
}

/**
 * The part of a map that the panel does not cover, in the map's own pixels.
 * @param {HTMLElement} container
 * @param {HTMLElement} panel
 */
function freePart(container, panel) {
  const acrossPage = panel.offsetWidth > innerWidth * 0.8; // a phone: it lies over the lower half
  const coverTop = innerHeight - panel.offsetHeight; // where it will be once it has slid in
  const coverLeft = panel.getBoundingClientRect().left;
  const top = () => container.getBoundingClientRect().top;
  if (acrossPage && (top() < 0 || coverTop - top() < LEAST_FREE_PX)) {
    container.scrollIntoView({ block: "start" });
  }
  const box = container.getBoundingClientRect();
  const beside = !acrossPage && coverLeft > box.left && coverLeft < box.right;
  const right = beside ? coverLeft : box.right;
  const below = acrossPage && coverTop > box.top ? Math.min(coverTop, box.bottom) : box.bottom;
  const [width, height] = [right - box.left, below - box.top];
  return L.bounds([EDGE_PX, EDGE_PX], [width - EDGE_PX, height - EDGE_PX]);
}
