/** @import { Block, Details, FrameOptions, Header, LayerOptions } from "./types" */
/** @import { MapData, Picture, Step } from "./types" */
import labels from "./labels.json" with { type: "json" };
import { inAddress } from "./address.js";
import { connectCompare } from "./compare.js";
import { connectColours, connectFilters, connectMargin } from "./controls.js";
import { drawFrame } from "./frame.js";
import { Panel } from "./panel.js";
import { calm, makeReachable } from "./reach.js";
import { Sheet } from "./sheet.js";
import { connectSorting, connectTable } from "./table.js";
import { connectTwoTrees } from "./two-trees.js";
import { TreeLayer } from "./tree-layer.js";

const sheet = new Sheet(labels);
/** @type {Map<string, TreeLayer>} by the id of the map's div */
const layers = new Map();
/** @type {Panel | null} */
let panel = null;

/** What the page's other scripts call: the data files, and the map that folium wrote. */
const groveplat = {
  sheet,
  layers,
  receiveWords: (/** @type {Partial<import("./types").Labels>} */ words) =>
    Object.assign(sheet.labels, words),
  receiveTrees: (/** @type {MapData | Header} */ data) => sheet.receive(data),
  receiveBlock: (/** @type {number} */ number, /** @type {Block} */ block) =>
    sheet.many?.receiveBlock(number, block),
  receiveDetails: (/** @type {number} */ number, /** @type {Details} */ details) =>
    sheet.many?.receiveDetails(number, details),
  receiveNames: (/** @type {string} */ names) => sheet.many?.receiveNames(names),
  receiveWorkings: (
    /** @type {number} */ number,
    /** @type {Record<string, Step[]>} */ workings,
    /** @type {Record<string, Picture[]>} */ photos,
  ) => panel?.receive(number, workings, photos),
  treeLayer,
  frame: (/** @type {L.Map} */ map, /** @type {FrameOptions} */ options = {}) =>
    drawFrame(map, sheet, options),
};

/** @param {L.Map} map @param {LayerOptions} options */
function treeLayer(map, options = {}) {
  const layer = new TreeLayer(map, sheet, options);
  makeReachable(layer);
  void sheet.many?.want(options.stand ?? "");
  layers.set(map.getContainer().id, layer);
  return layer;
}

/** Before any map is made: arrow keys belong to the trees, and motion only to who wants it. */
function setMapDefaults() {
  const moves = !calm();
  L.Map.mergeOptions({ keyboard: false, zoomSnap: 0.25, maxZoom: 22, bounceAtZoomLimits: false });
  L.Map.mergeOptions({ zoomAnimation: moves, fadeAnimation: moves, inertia: moves });
  L.Control.Attribution.mergeOptions({ prefix: false }); // named, with its licence, in licences.txt
}

function start() {
  connectTable(sheet.labels);
  connectSorting(sheet.labels);
  connectCompare(layers);
  if (layers.size) {
    connectFilters(sheet);
    connectMargin(sheet);
    connectColours(sheet);
    followColours();
  }
  connectTwoTrees(sheet);
  keepPlace();
  openPanel(); // without a map, too: a tree's working is in the trees' table then
}

/** Who changes the units stays with the open tree. */
function keepPlace() {
  for (const link of document.querySelectorAll("a[data-keep-place]")) {
    link.addEventListener("click", () => (/** @type {HTMLAnchorElement} */ (link).hash = location.hash));
  }
}

function openPanel() {
  const aside = /** @type {HTMLElement | null} */ (document.querySelector("#tree-panel"));
  const [layer] = layers.values();
  if (!aside || !sheet.columns) return;
  panel = new Panel(aside, sheet, layer);
  const openAddressed = () => void sheet.selectNamed(inAddress("tree"));
  addEventListener("hashchange", openAddressed);
  if (inAddress("tree")) openAddressed();
}

/** The canvas cannot see the style sheet change, so it is told. */
function followColours() {
  const recolour = () => layers.forEach((layer) => layer.recolour());
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", recolour);
  followPaper();
}

/** While printing, the maps take the size that the style sheet gives them on paper. */
function followPaper() {
  /** @type {(() => void)[]} */
  let views = [];
  const print = (/** @type {boolean} */ printing) => {
    if (printing) views = [...layers.values()].map((layer) => layer.rememberView());
    document.documentElement.toggleAttribute("data-print", printing);
    for (const show of views) show();
  };
  addEventListener("beforeprint", () => print(true));
  addEventListener("afterprint", () => print(false));
}

Object.assign(window, { groveplat });
if (typeof L !== "undefined") setMapDefaults();
document.addEventListener("DOMContentLoaded", start); // after the deferred scripts of the page
