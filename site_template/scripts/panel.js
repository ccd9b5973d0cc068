/** @import { Columns, Picture, Step } from "./types" */
/** @import { Sheet } from "./sheet.js" */
/** @import { TreeLayer } from "./tree-layer.js" */
import { remember } from "./address.js";
import { bringIntoView } from "./reach.js";
import { twoTreesAddress } from "./two-trees.js";
import { fill, measure, speciesName } from "./words.js";

/** The tree's own lab sheet beside the map. Data go in as text, never as HTML. */
export class Panel {
  /**
   * @param {HTMLElement} aside
   * @param {Sheet} sheet
   * @param {TreeLayer | undefined} layer none on a page without a map
   */
  constructor(aside, sheet, layer) {
    this.aside = aside;
    this.sheet = sheet;
    this.layer = layer;
    /** @type {Map<number, Record<string, Step[]> | null>} null: asked for */
    this.workings = new Map();
    /** @type {Map<string, Picture[]>} by tree, as far as they have come */
    this.photos = new Map();
    /** The trees that were opened, the last one first. @type {string[]} */
    this.opened = [];
    this.title = /** @type {HTMLElement} */ (aside.querySelector("#tree-panel-title"));
    this.body = /** @type {HTMLElement} */ (aside.querySelector(".panel-body"));
    this.title.tabIndex = -1; // takes the focus when the panel opens, without a stop of its own
    aside.querySelector(".panel-close")?.addEventListener("click", () => sheet.select(-1));
    document.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && !aside.hidden) sheet.select(-1);
    });
    sheet.addEventListener("select", () => this.update());
  }

  update() {
    const { aside, sheet, layer } = this;
    const tree = sheet.selected;
    const wasOpen = !aside.hidden;
    aside.hidden = tree < 0;
    document.documentElement.classList.toggle("panel-open", tree >= 0);
    remember("tree", tree < 0 ? "" : (sheet.columns?.id[tree] ?? ""));
    if (tree < 0) {
      if (wasOpen) layer?.map.getContainer().focus({ preventScroll: true });
      return;
    }
    this.#fill(tree);
    this.title.focus({ preventScroll: true });
    aside.scrollTop = 0;
    this.#showTree();
  }

  #showTree() {
    const { layer, sheet, aside } = this;
    if (layer?.has(sheet.selected)) bringIntoView(layer, sheet.selected, aside);
  }

  /** @param {number} tree */
  #fill(tree) {
    const { sheet, title, body } = this;
    const { labels, lists } = sheet;
    const columns = /** @type {Columns} */ (sheet.columns);
    title.textContent = fill(labels.tree, { id: columns.id[tree] });
    const species = speciesName(lists.species[columns.species[tree]], labels);
    body.replaceChildren(make("p", "panel-species", species), this.#facts(columns, tree));
    const remarks = this.#remarks(columns, tree);
    if (remarks) body.append(make("p", "panel-remarks", remarks));
    body.append(make("div", "panel-photos"));
    body.append(make("h3", "panel-working-title", labels.working), this.#working(columns, tree));
    this.#showPhotos(columns.id[tree]);
    if (columns.page.length) body.append(link("panel-page", labels.open_page, columns.page[tree]));
    this.opened = [...new Set([columns.id[tree], ...this.opened])].slice(0, 2);
    if (sheet.count > 1) body.append(link("panel-page", labels.two_trees, twoTreesAddress(this.opened)));
    body.append(make("p", "panel-certainty", labels.plus_minus));
  }

  /** @param {Columns} columns @param {number} tree */
  #facts(columns, tree) {
    const { labels, units } = this.sheet;
    const list = make("dl", "panel-facts");
    const girth = columns.girth_cm[tree];
    const diameterSd = columns.diameter_sd_cm[tree];
    const girthSd = diameterSd === null ? null : diameterSd * Math.PI; // girth is π times diameter
    list.append(
      fact(labels.girth, measure(girth, girthSd, "cm", units, labels)),
      fact(labels.diameter, measure(columns.diameter_cm[tree], diameterSd, "cm", units, labels)),
      fact(
        labels.height,
        measure(columns.height_m[tree], columns.height_sd_m[tree], "m", units, labels),
      ),
    );
    if (columns.age[tree]) list.append(fact(labels.age, columns.age[tree], "wide"));
    if (columns.growth[tree]) list.append(fact(labels.growth, columns.growth[tree], "wide"));
    return list;
  }

  /** @param {Columns} columns @param {number} tree */
  #remarks(columns, tree) {
    const { labels, lists, units } = this.sheet;
    const findings = columns.findings[tree] ?? 0;
    const [stand, date] = [lists.stands[columns.stand[tree]]?.name, columns.date[tree]];
    const within = columns.position_accuracy_m[tree] ?? null;
    const distance = measure(within, null, "m", units, labels);
    const place = within !== null && fill(labels.place_within, { distance });
    const toCheck = findings === 1 ? labels.findings_one : fill(labels.findings, { n: findings });
    const measured = date && fill(labels.measured_on, { date });
    const parts = [stand, measured, place, findings && toCheck];
    return parts.filter(Boolean).join(" · ");
  }

  /**
   * The steps, or a promise of them while their file is on its way.
   * @param {Columns} columns @param {number} tree
   */
  #working(columns, tree) {
    const number = columns.chunk[tree];
    const chunk = this.workings.get(number);
    if (!chunk) {
      this.#ask(number);
      return make("p", "working-wait", this.sheet.labels.working_loading);
    }
    const steps = chunk[columns.id[tree]] ?? [];
    if (!steps.length) return make("p", "working-wait", this.sheet.labels.working_missing);
    const list = make("ol", "working");
    list.append(...steps.map((step) => stepItem(step, this.sheet.labels)));
    return list;
  }

  /** A script tag works from file://, where fetching does not. @param {number} number */
  #ask(number) {
    if (this.workings.has(number)) return;
    this.workings.set(number, null);
    const name = `data/workings-${number}.js`;
    const inside = /** @type {any} */ (window).groveplatFiles?.[name]; // all sheets in one file
    if (inside) return void setTimeout(inside);
    const script = document.createElement("script");
    script.src = name;
    script.onerror = () => this.receive(number, {});
    document.head.append(script);
  }

  /** @param {string} id */
  #showPhotos(id) {
    const photos = this.photos.get(id) ?? [];
    this.body.querySelector(".panel-photos")?.replaceChildren(...photos.map(photoFigure));
  }

  /**
   * @param {number} number
   * @param {Record<string, Step[]>} workings
   * @param {Record<string, Picture[]>} photos
   */
  receive(number, workings, photos = {}) {
    this.workings.set(number, workings);
    for (const [id, pictures] of Object.entries(photos)) this.photos.set(id, pictures);
    const { columns, selected } = this.sheet;
    if (!columns || selected < 0 || columns.chunk[selected] !== number) return;
    this.body.querySelector(".working-wait")?.replaceWith(this.#working(columns, selected));
    this.#showPhotos(columns.id[selected]);
    this.#showTree(); // the panel has grown
  }
}

/** @param {string} tag @param {string} style @param {string} [text] */
function make(tag, style, text) {
  const made = document.createElement(tag);
  made.className = style;
  if (text) made.textContent = text;
  return made;
}

/** @param {string} style @param {string} text @param {string} href */
function link(style, text, href) {
  const made = /** @type {HTMLAnchorElement} */ (make("a", style, text));
  made.href = href;
  return made;
}

/** @param {string} term @param {string} value @param {string} [style] */
function fact(term, value, style = "") {
  const row = make("div", `panel-fact ${style}`.trim());
  const shown = make("dd", "");
  const [main, spread] = value.split("±");
  shown.append(main);
  if (spread) shown.append(make("span", "spread", `±${spread}`));
  row.append(make("dt", "", term), shown);
  return row;
}

/** @param {Step} step @param {import("./types").Labels} labels */
function stepItem(step, labels) {
  const item = make("li", "");
  item.append(make("h4", "step-title", step.title));
  for (const part of /** @type {const} */ (["inputs", "formula", "result", "note"])) {
    if (step[part]) item.append(make("p", `step-${part}`, step[part]));
  }
  if (step.drawing) {
    const drawn = new DOMParser().parseFromString(step.drawing, "image/svg+xml").documentElement;
    item.querySelector(".step-inputs")?.after(drawn);
  }
  if (step.method) {
    item.append(link("step-method", labels.method, `methods.html#${step.method}`));
  }
  return item;
}

/** A photo that opens its larger self. @param {Picture} picture */
function photoFigure(picture) {
  const [[large, width, height], ...smaller] = picture.sizes;
  const image = document.createElement("img");
  image.loading = "lazy"; // set before the source: nothing is fetched for a picture out of sight
  image.width = width;
  image.height = height;
  image.alt = picture.alt;
  image.sizes = "(min-width: 960px) 370px, 100vw";
  image.srcset = picture.sizes.map(([file, wide]) => `${file} ${wide}w`).join(", ");
  image.src = smaller.at(-1)?.[0] ?? large;
  const larger = link("panel-photo-link", "", large);
  larger.append(image);
  const figure = make("figure", "panel-photo");
  figure.append(larger);
  if (picture.caption) figure.append(make("figcaption", "", picture.caption));
  return figure;
}
