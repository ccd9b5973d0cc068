/** @import { Block, Columns, Details, Header } from "./types" */
/** @import { Sheet } from "./sheet.js" */
import { inflated, unpack, unpackBlock } from "./unpack.js";

/** Of a step's number and the unit's steps: 0 is none, 1 is nought. */
const PER_UNIT = { diameter_cm: 10, height_m: 100 };
const EXACT = {
  girth_cm: 1e4,
  diameter_cm: 1e4,
  height_m: 1e4,
  diameter_sd_cm: 1e3,
  height_sd_m: 1e3,
  position_accuracy_m: 10,
};
const TEXTS = /** @type {const} */ (["date", "age", "growth"]);

/** Trees of a large survey: blocks come as a page needs them, details when a tree is opened. */
export class Many {
  /** @param {Sheet} sheet @param {Header} header */
  constructor(sheet, header) {
    this.sheet = sheet;
    this.header = header;
    /** Files on their way or here. @type {Map<string, Promise<void>>} */
    this.files = new Map();
    /** What to call when one is here. @type {Map<string, () => void>} */
    this.here = new Map();
    /** @type {Map<string, number> | null} */
    this.rows = null;
  }

  /** Fetch what a stand's map shows, "" for everything. @param {string} stand */
  async want(stand) {
    const { block, count, stand_blocks, stands } = this.header;
    const all = Array.from({ length: Math.ceil(count / block) }, (_, number) => number);
    const at = stands.findIndex((each) => each.name === stand);
    const wanted = stand ? (stand_blocks[at] ?? []) : all;
    await Promise.all(wanted.map((number) => this.#file(`map-${number}`)));
    this.sheet.changed();
  }

  /** Everything about one tree. @param {number} tree */
  async know(tree) {
    const number = Math.floor(tree / this.header.block);
    await Promise.all([this.#file(`map-${number}`), this.#file(`details-${number}`)]);
  }

  /** The number of a tree, -1 for none. @param {string} id */
  async seek(id) {
    const noted = this.header.noted[id];
    if (noted !== undefined) return noted;
    await this.#file("names");
    this.rows ??= new Map(this.sheet.columns?.id.map((name, row) => [name, row]));
    return this.rows.get(id) ?? -1;
  }

  /** A script tag works from file://, where fetching does not. @param {string} name */
  #file(name) {
    const known = this.files.get(name);
    if (known) return known;
    const file = /** @type {Promise<void>} */ (
      new Promise((resolve, reject) => {
        this.here.set(name, resolve);
        const script = document.createElement("script");
        script.src = `data/${name}.js`;
        script.onerror = () => reject(new Error(`data/${name}.js is missing`));
        document.head.append(script);
      })
    );
    this.files.set(name, file);
    return file;
  }

  /** @param {number} number @param {Block} block */
  async receiveBlock(number, block) {
    const { trees, x, y } = await unpackBlock(block);
    const { sheet } = this;
    const columns = /** @type {Columns} */ (sheet.columns);
    const start = number * this.header.block;
    sheet.x.set(x, start);
    sheet.y.set(y, start);
    for (const [name, packed] of Object.entries(trees)) {
      const column = /** @type {any} */ (columns)[name];
      const per = /** @type {Record<string, number>} */ (PER_UNIT)[name];
      for (let i = 0; i < packed.length; i++) {
        if (per) column[start + i] = packed[i] ? (packed[i] - 1) / per : NaN;
        else if (column) column[start + i] = name === "symbol" ? packed[i] : packed[i] - 1;
      }
    }
    this.here.get(`map-${number}`)?.();
  }

  /** @param {number} number @param {Details} details */
  async receiveDetails(number, { id, words, numbers }) {
    const columns = /** @type {Columns} */ (this.sheet.columns);
    const packed = await unpack(numbers);
    await this.files.get(`map-${number}`); // exact sizes replace those of the map
    const start = number * this.header.block;
    id.forEach((name, i) => (columns.id[start + i] = name));
    for (const [name, per] of Object.entries(EXACT)) {
      const steps = packed[name];
      const column = /** @type {any} */ (columns)[name];
      const none = column instanceof Float64Array ? NaN : null;
      steps.forEach((step, i) => (column[start + i] = step ? (step - 1) / per : none));
    }
    id.forEach((_, i) => {
      const tree = start + i;
      for (const name of TEXTS) columns[name][tree] = words[name][packed[name][i]];
      const ends = words.age_ends[packed.age_ends[i]];
      columns.age_ends[tree] = ends ? /** @type {any} */ (ends.split(" ").map(Number)) : null;
      columns.age_start[tree] = Number(words.age_start[packed.age_start[i]]);
      columns.findings[tree] = packed.findings[i];
    });
    this.here.get(`details-${number}`)?.();
  }

  /** @param {string} data */
  async receiveNames(data) {
    const names = new TextDecoder().decode(await inflated(data)).split("\n");
    /** @type {Columns} */ (this.sheet.columns).id = names;
    this.here.get("names")?.();
  }
}

/** Columns of so many trees, none of them known yet. @param {Header} header @returns {Columns} */
export function unknownTrees({ count, chunk, colourings }) {
  const numbers = () => new Float64Array(count).fill(NaN);
  const lists = () => new Int32Array(count).fill(-1);
  const classes = Object.keys(colourings ?? {}).map((name) => [name, lists()]);
  return {
    ...Object.fromEntries(classes),
    ...{ lat: [], lon: [], page: [] },
    ...{ diameter_cm: numbers(), height_m: numbers(), symbol: new Uint8Array(count).fill(3) },
    ...{ species: lists(), stand: lists(), size: lists() },
    ...{ id: [], girth_cm: [], diameter_sd_cm: [], height_sd_m: [], position_accuracy_m: [] },
    ...{ date: [], age: [], growth: [], age_ends: [], age_start: [], findings: [] },
    chunk: Int32Array.from({ length: count }, (_, tree) => Math.floor(tree / chunk)),
  };
}
