/** @import { LayerOptions, View } from "./types" */
/** @import { Picture } from "./painter.js" */
/** @import { Sheet } from "./sheet.js" */
import { HitGrid } from "./hit-grid.js";
import { MOST_SYMBOLS, paint, readColours } from "./painter.js";
import { metresPerPixel, worldPixels } from "./places.js";
import { exaggeration, outlineRadius } from "./symbols.js";

const MARGIN = 0.2; // of the map on each side is drawn beyond its edge, so that panning shows trees
const SAMPLE = 5000; // of the trees tell how thick a middling stem is
const CLICK_REACH_PX = 22; // a fingertip: targets of 44 px
const ROOM_PX = { side: 28, top: 44, bottom: 72 }; // for the north arrow and the scale bar

/** One canvas that draws the trees of a sheet on a Leaflet map. */
export class TreeLayer {
  /**
   * @param {L.Map} map
   * @param {Sheet} sheet
   * @param {LayerOptions} options
   */
  constructor(map, sheet, options) {
    this.map = map;
    this.sheet = sheet;
    this.options = { stand: "", marks: [], fit: true, ...options };
    this.current = -1;
    this.times = 1;
    this.colours = readColours();
    this.canvas = this.#makeCanvas();
    this.pen = /** @type {CanvasRenderingContext2D} */ (this.canvas.getContext("2d"));
    this.frame = 0;
    this.#listen();
    this.load();
  }

  #makeCanvas() {
    const pane = this.map.createPane("trees");
    pane.style.zIndex = "450"; // above boundaries, below pop-ups
    const canvas = L.DomUtil.create("canvas", "leaflet-zoom-animated tree-canvas", pane);
    canvas.setAttribute("aria-hidden", "true"); // the map's div speaks for it
    return canvas;
  }

  #listen() {
    const { map, sheet } = this;
    map.on("moveend viewreset resize", () => this.draw());
    const resized = () => map.invalidateSize({ animate: false }); // Leaflet minds the window only
    new ResizeObserver(resized).observe(map.getContainer());
    map.on("zoom", () => this.#follow(map.getCenter(), map.getZoom()));
    map.on("zoomanim", (event) => this.#follow(event.center, event.zoom));
    sheet.addEventListener("trees", () => this.load());
    for (const change of ["filter", "select", "highlight"]) {
      sheet.addEventListener(change, () => this.redraw());
    }
  }

  /** Take over the trees of the sheet that belong on this map. */
  load() {
    const { columns, lists, count, x } = this.sheet;
    const stand = lists.stands.findIndex((each) => each.name === this.options.stand);
    const here = [];
    for (let tree = 0; tree < count; tree++) {
      const belongs = !this.options.stand || columns?.stand[tree] === stand;
      if (belongs && !Number.isNaN(x[tree])) here.push(tree);
    }
    this.grid = new HitGrid(x, this.sheet.y, Int32Array.from(here));
    this.spacing = this.grid.spacing();
    const sizes = columns?.diameter_cm ?? [];
    this.diameters = new Float32Array(count).map((_, tree) => (sizes[tree] ?? NaN) / 100);
    const step = Math.ceil(here.length / SAMPLE) || 1;
    const sample = here.filter((_, i) => i % step === 0).map((tree) => this.diameters?.[tree] ?? 0);
    const sorted = Float32Array.from(sample.filter((metres) => metres > 0)).sort();
    this.middleDiameter = sorted[Math.floor(sorted.length * 0.5)] ?? 0.3;
    this.stoutDiameter = sorted[Math.floor(sorted.length * 0.9)] ?? 0.3;
    this.current = -1;
    if (this.options.fit) this.fit();
    this.draw();
  }

  /** @param {string} stand */
  setStand(stand) {
    this.options.stand = stand;
    void this.sheet.many?.want(stand);
    this.load();
  }

  /** Show every tree of the layer. */
  fit() {
    const bounds = this.bounds();
    const paddingTopLeft = L.point(ROOM_PX.side, ROOM_PX.top);
    const paddingBottomRight = L.point(ROOM_PX.side, ROOM_PX.bottom);
    if (bounds) {
      this.map.fitBounds(bounds, { paddingTopLeft, paddingBottomRight, animate: false });
    }
  }

  bounds() {
    const { grid } = this;
    if (!grid?.trees.length) return null;
    const { left, top, right, bottom } = grid.box;
    const corner = (/** @type {number} */ x, /** @type {number} */ y) =>
      this.map.unproject(L.point(x * worldPixels(0), y * worldPixels(0)), 0);
    return L.latLngBounds(corner(left, bottom), corner(right, top));
  }

  /** Draw at the next frame, once however often it is asked. */
  redraw() {
    this.frame ||= requestAnimationFrame(() => this.draw());
  }

  /** New colours: the scheme changed, or the page is printed. */
  recolour() {
    this.colours = readColours();
    this.draw();
  }

  /**
   * The style sheet gives the map another size on paper: all stays in sight that is in sight now.
   * @returns {() => void} to be called when the page has its new size, and again afterwards
   */
  rememberView() {
    const { map } = this;
    const [center, zoom, screen] = [map.getCenter(), map.getZoom(), map.getSize()];
    return () => {
      map.invalidateSize({ animate: false });
      const paper = map.getSize();
      const smaller = Math.min(paper.x / screen.x, paper.y / screen.y) || 1;
      const printing = document.documentElement.hasAttribute("data-print");
      map.setView(center, printing ? zoom + Math.log2(smaller) : zoom, { animate: false });
      this.recolour();
    };
  }

  draw() {
    cancelAnimationFrame(this.frame);
    this.frame = 0;
    const view = this.#lookAgain();
    const picture = this.#picture(view);
    const darkest = paint(this.pen, view, picture, this.colours);
    this.map.fire("treesdrawn", { exaggeration: this.times, darkest });
    if (picture.trees.length && !performance.getEntriesByName("trees-drawn").length) {
      performance.mark("trees-drawn"); // for whoever measures how long a reader waits
    }
  }

  /** Lay the canvas over what the map shows now, and say what that is. @returns {View} */
  #lookAgain() {
    const { map, canvas } = this;
    const size = map.getSize();
    const ratio = window.devicePixelRatio || 1;
    const margin = size.multiplyBy(MARGIN).round();
    const full = size.add(margin.multiplyBy(2));
    const corner = map.containerPointToLayerPoint(L.point(0, 0)).subtract(margin).round();
    const [wide, high] = [Math.round(full.x * ratio), Math.round(full.y * ratio)];
    if (canvas.width !== wide || canvas.height !== high) {
      [canvas.width, canvas.height] = [wide, high];
      [canvas.style.width, canvas.style.height] = [`${full.x}px`, `${full.y}px`];
    }
    L.DomUtil.setTransform(canvas, corner, 1);
    const { x: left, y: top } = map.getPixelOrigin().add(corner);
    const [zoom, { lat }] = [map.getZoom(), map.getCenter()];
    this.drawn = { corner: L.point(left, top), zoom };
    const [width, height] = [full.x, full.y];
    const ground = metresPerPixel(lat, zoom);
    this.view = {
      scale: worldPixels(zoom),
      left,
      top,
      width,
      height,
      ratio,
      metresPerPixel: ground,
    };
    return this.view;
  }

  /** @param {View} view @returns {Picture} */
  #picture(view) {
    const { sheet, grid, current, diameters } = this;
    const { x, y, colour, shown, highlighted, selected } = sheet;
    const pad = 40;
    const west = (view.left - pad) / view.scale;
    const north = (view.top - pad) / view.scale;
    const east = (view.left + view.width + pad) / view.scale;
    const south = (view.top + view.height + pad) / view.scale;
    const spacing = (this.spacing ?? 0) * view.scale;
    this.times = exaggeration(this.middleDiameter ?? 0, view.metresPerPixel, spacing);
    const pixelsPerMetre = this.times / view.metresPerPixel / 2;
    const stout = (this.stoutDiameter ?? 0) * pixelsPerMetre;
    const outlines = outlineRadius(spacing, stout);
    this.reach = Math.max(CLICK_REACH_PX, outlines);
    const trees = grid?.within(west, north, east, south) ?? [];
    const sizes = trees.length > MOST_SYMBOLS ? undefined : diameters; // too many to be drawn
    const radius = (sizes ?? new Float32Array()).map((metres) => metres * pixelsPerMetre);
    const symbol = sheet.columns?.symbol ?? [];
    const marks = this.#marks();
    return {
      trees,
      x,
      y,
      radius,
      outlineRadius: outlines,
      colour,
      symbol,
      shown,
      highlighted,
      selected,
      unsure: (sheet.columns?.position_accuracy_m[selected] ?? 0) / view.metresPerPixel,
      current,
      marks,
    };
  }

  #marks() {
    const marks = this.options.marks.map(({ tree, letter }) => ({
      tree: this.sheet.find(tree),
      letter,
    }));
    return marks.filter(({ tree }) => tree >= 0 && !Number.isNaN(this.sheet.x[tree]));
  }

  /** While the map zooms, stretch what is drawn. @param {L.LatLng} center @param {number} zoom */
  #follow(center, zoom) {
    if (!this.drawn) return;
    const { map } = this;
    const scale = map.getZoomScale(zoom, this.drawn.zoom);
    const pane = L.DomUtil.getPosition(map.getPane("mapPane") ?? map.getContainer());
    const origin = map.project(center, zoom).subtract(map.getSize().divideBy(2)).add(pane).round();
    L.DomUtil.setTransform(
      this.canvas,
      this.drawn.corner.multiplyBy(scale).subtract(origin),
      scale,
    );
  }

  /** The tree at a point, -1 for none. @param {L.LatLng} place @param {number} [reachPx] */
  treeAt(place, reachPx = this.reach ?? CLICK_REACH_PX) {
    const { x, y } = this.map.project(place, 0).divideBy(worldPixels(0));
    const reach = reachPx / worldPixels(this.map.getZoom());
    return this.grid?.nearest(x, y, reach, (tree) => this.sheet.shown[tree] === 1) ?? -1;
  }

  /**
   * Step to the next tree to one side, from the current one or else from the middle of the map.
   * @param {[number, number]} direction
   */
  step(direction) {
    const { grid, sheet } = this;
    if (!grid) return -1;
    const accepts = (/** @type {number} */ tree) => sheet.shown[tree] === 1;
    const middle = this.map.project(this.map.getCenter(), 0).divideBy(worldPixels(0));
    const start = this.current >= 0;
    const next = start
      ? grid.nearestTowards(sheet.x[this.current], sheet.y[this.current], direction, accepts)
      : grid.nearest(middle.x, middle.y, 1, accepts);
    if (next >= 0) this.moveTo(next);
    return next;
  }

  /** @param {number} tree */
  moveTo(tree) {
    this.current = tree;
    this.redraw();
  }

  /** @param {number} tree */
  has(tree) {
    return tree >= 0 && Boolean(this.grid?.trees.includes(tree));
  }

  /** @param {number} tree */
  latLng(tree) {
    const { x, y } = this.sheet;
    return this.map.unproject(L.point(x[tree] * worldPixels(0), y[tree] * worldPixels(0)), 0);
  }
}
