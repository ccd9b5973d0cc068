/** @import { Columns, Filter, Header, Labels, Lists, MapData, Units } from "./types" */
import { passes, anyTree, searchText } from "./filter.js";
import { Many, unknownTrees } from "./many.js";
import { FIRST_STEP } from "./painter.js";
import { worldX, worldY } from "./places.js";

const OTHER = 8; // the colour of rare kinds, and of what is not known

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
    /** The shade of each class, by the column of classes. @type {Record<string, number[]>} */
    this.colourings = {};
    this.colouring = "";
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
    /** Only in a large survey: what fetches its trees. @type {Many | null} */
    this.many = null;
  }

  /** @param {MapData | Header} data */
  receive(data) {
    const { species, stands, sizes } = data;
    this.units = data.units ?? "metric";
    this.lists = { species, stands, sizes };
    this.colourings = data.colourings ?? {};
    this.many = "trees" in data ? null : new Many(this, data);
    this.columns = "trees" in data ? data.trees : unknownTrees(data);
    this.count = "trees" in data ? data.trees.id.length : data.count;
    const [lons, lats] = "trees" in data ? [data.trees.lon, data.trees.lat] : [[], []];
    this.x = new Float64Array(this.count).fill(NaN);
    this.y = this.x.slice();
    lons.forEach((lon, tree) => (this.x[tree] = lon === null ? NaN : worldX(lon)));
    lats.forEach((lat, tree) => (this.y[tree] = lat === null ? NaN : worldY(lat)));
    this.shown = new Uint8Array(this.count).fill(1);
    this.texts = null;
    this.changed();
  }

  /** Tell that trees have come. */
  changed() {
    this.#colour();
    this.#tell("trees");
    if (this.many) this.setFilter(this.filter); // asked for before the trees were here
  }

  /** Colour the stems by a column of classes, "" by their kind. @param {string} name */
  colourBy(name) {
    this.colouring = this.colourings[name] ? name : "";
    this.#colour();
    this.#tell("highlight"); // what is drawn has another look, and no more has changed
  }

  #colour() {
    const { species, ...columns } = /** @type {Columns} */ (this.columns);
    const shades = this.colourings[this.colouring];
    const classes = /** @type {any} */ (columns)[this.colouring];
    this.colour = shades
      ? Uint8Array.from(classes, (each) => (each < 0 ? OTHER : FIRST_STEP + shades[each]))
      : Uint8Array.from(species, (each) => this.lists.species[each]?.colour ?? OTHER);
  }

  /** @param {Filter} filter */
  setFilter(filter) {
    this.filter = filter;
    if (!this.columns) return;
    if (filter.search && this.many && !this.many.rows) {
      void this.many.seek("").then(() => this.filter === filter && this.setFilter(filter));
    }
    if (filter.search && (!this.many || this.many.rows)) {
      this.texts ??= this.columns.id.map((_, tree) => searchText(this, tree));
    }
    for (let tree = 0; tree < this.count; tree++) {
      this.shown[tree] = passes(filter, this.facts(tree)) ? 1 : 0;
    }
    this.#tell("filter");
  }

  /** @param {number} tree */
  facts(tree) {
    const { species, stand, size, diameter_cm, height_m } = /** @type {Columns} */ (this.columns);
    const text = this.texts?.[tree] ?? "";
    const sizes = { diameter_cm: diameter_cm[tree], height_m: height_m[tree] };
    return { species: species[tree], stand: stand[tree], size: size[tree], text, ...sizes };
  }

  /** @param {number} tree -1 closes the open one */
  select(tree) {
    this.asked = tree;
    if (tree >= 0 && this.many) void this.many.know(tree).then(() => this.#open(tree));
    else this.#open(tree);
  }

  /** @param {number} tree */
  #open(tree) {
    if (tree === this.selected || tree !== this.asked) return;
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
    return this.many?.header.noted[id] ?? this.columns?.id.indexOf(id) ?? -1;
  }

  /** Open a tree by its id, wherever its name must be looked up. @param {string} id */
  async selectNamed(id) {
    this.select(this.many && id ? await this.many.seek(id) : this.find(id));
  }

  /** @param {(typeof CHANGES)[number]} change */
  #tell(change) {
    this.dispatchEvent(new Event(change));
  }
}
