/** @import { Columns, Filter, Labels, Lists, MapData, Units } from "./types" */
import { passes, anyTree, searchText } from "./filter.js";
import { worldX, worldY } from "./places.js";

/** The events that a sheet sends: something about it changed. */
export const CHANGES = /** @type {const} */ (["trees", "filter", "select", "highlight"]);

/** The trees of the page and what the reader has asked of them. The rest of the page listens. */
export class Sheet extends EventTarget {
  /** @param {Labels} labels */
  constructor(labels) {
    super();
    this.labels = labels;
    /** @type {Units} */
    this.units = "metric";
    /** @type {Lists} */
    this.lists = { species: [], stands: [], sizes: [] };
    /** @type {Columns | null} */
    this.columns = null;
    this.count = 0;
    /** World coordinates, NaN without a place. */
    this.x = new Float64Array();
    this.y = new Float64Array();
    /** Colour 0..8 of each tree's species. */
    this.colour = new Uint8Array();
    /** 1 where a tree passes the filter. */
    this.shown = new Uint8Array();
    /** @type {Filter} */
    this.filter = anyTree();
    /** The open tree, -1: none. */
    this.selected = -1;
    /** The trees that the reader points at in the margin. @type {Set<number>} */
    this.highlighted = new Set();
    /** What a search looks through, made at the first search. @type {string[] | null} */
    this.texts = null;
  }

  /** @param {MapData} data */
  receive(data) {
    const { trees, species, stands, sizes } = data;
    this.units = data.units ?? "metric";
    this.lists = { species, stands, sizes };
    this.columns = trees;
    this.count = trees.id.length;
    this.x = Float64Array.from(trees.lon, (lon) => (lon === null ? NaN : worldX(lon)));
    this.y = Float64Array.from(trees.lat, (lat) => (lat === null ? NaN : worldY(lat)));
    const other = 8;
    this.colour = Uint8Array.from(trees.species, (index) => species[index]?.colour ?? other);
    this.shown = new Uint8Array(this.count).fill(1);
    this.texts = null;
    this.#tell("trees");
  }

  /** @param {Filter} filter */
  setFilter(filter) {
    this.filter = filter;
    if (!this.columns) return;
    if (filter.search) this.texts ??= this.columns.id.map((_, tree) => searchText(this, tree));
    for (let tree = 0; tree < this.count; tree++) {
      this.shown[tree] = passes(filter, this.facts(tree)) ? 1 : 0;
    }
    this.#tell("filter");
  }

  /** @param {number} tree */
  facts(tree) {
    const { species, stand, size } = /** @type {Columns} */ (this.columns);
    const text = this.texts?.[tree] ?? "";
    return { species: species[tree], stand: stand[tree], size: size[tree], text };
  }

  /** @param {number} tree -1 closes the open one */
  select(tree) {
    if (tree === this.selected) return;
    this.selected = tree;
    this.#tell("select");
  }

  /** @param {Iterable<number>} trees */
  highlight(trees) {
    this.highlighted = new Set(trees);
    this.#tell("highlight");
  }

  /** @param {string} id @returns {number} -1 when there is no such tree */
  find(id) {
    return this.columns ? this.columns.id.indexOf(id) : -1;
  }

  /** @param {(typeof CHANGES)[number]} change */
  #tell(change) {
    this.dispatchEvent(new Event(change));
  }
}
