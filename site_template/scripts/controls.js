/** @import { Filter } from "./types" */
/** @import { Sheet } from "./sheet.js" */
import { inAddress, remember } from "./address.js";
import { connectBrush } from "./brush.js";
import { anyTree } from "./filter.js";
import { fill } from "./words.js";

/**
 * What the filter form asks for.
 * @param {HTMLFormElement} form
 * @param {Set<number>} only
 * @returns {Filter}
 */
export function readForm(form, only) {
  const data = new FormData(form);
  const choice = (/** @type {string} */ name) => {
    const value = data.get(name);
    return typeof value === "string" && value !== "" ? Number(value) : -1;
  };
  const search = String(data.get("search") ?? "");
  const [species, stand, size] = ["species", "stand", "size"].map(choice);
  return { ...anyTree(), search, species, stand, size, only };
}

/** @param {HTMLFormElement} form @param {() => void} changed */
export function onFormChange(form, changed) {
  form.addEventListener("input", changed);
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("reset", () => setTimeout(changed)); // the fields clear after the event
}

/**
 * "84 of 312 trees", said politely by the output element.
 * @param {number} shown @param {number} total
 * @param {import("./types").Labels} labels
 */
export function countWords(shown, total, labels) {
  if (shown === 0 && total > 0) return labels.shown_none;
  const text = shown === total ? labels.shown_all : labels.shown_some;
  return fill(text, { n: shown, total });
}

/** Filter the trees of a map by the form and by the rows of the legend. @param {Sheet} sheet */
export function connectFilters(sheet) {
  const form = /** @type {HTMLFormElement | null} */ (document.querySelector("form#filters"));
  const only = connectLegend(sheet, () => apply());
  const apply = () => {
    const filter = form ? readForm(form, only) : { ...anyTree(), only };
    sheet.setFilter({ ...filter, ranges });
    const count = document.querySelector("#filter-count");
    const [shown, total] = countHere(sheet);
    if (count) count.textContent = countWords(shown, total, sheet.labels);
    form?.classList.toggle("is-filtering", shown < total);
  };
  const ranges = connectBrush(sheet, () => apply());
  if (form) onFormChange(form, apply);
  form?.addEventListener("reset", () => {
    only.clear();
    ranges.diameter_cm = ranges.height_m = undefined;
    for (const button of document.querySelectorAll(".legend-toggle")) {
      button.setAttribute("aria-pressed", "false");
    }
  });
  apply();
}

/** How many pass of the trees that this page is about: of one stand, or all. @param {Sheet} sheet */
function countHere({ columns, count, lists, shown }) {
  const map = /** @type {HTMLElement | null} */ (document.querySelector(".map[data-stand]"));
  const stand = lists.stands.findIndex((each) => each.name === map?.dataset.stand);
  let [passing, total] = [0, 0];
  for (let tree = 0; tree < count; tree++) {
    if (stand >= 0 && columns?.stand[tree] !== stand) continue;
    total++;
    passing += shown[tree];
  }
  return [passing, total];
}

/**
 * Rows of the legend become buttons: pressed ones are the only species shown.
 * @param {Sheet} sheet
 * @param {() => void} changed
 * @returns {Set<number>} the chosen species, kept up to date
 */
function connectLegend(sheet, changed) {
  /** @type {Set<number>} */
  const only = new Set();
  for (const row of document.querySelectorAll("li[data-species]")) {
    const species = indexes(/** @type {HTMLElement} */ (row).dataset.species);
    const button = document.createElement("button");
    button.type = "button";
    button.className = "legend-toggle";
    button.title = sheet.labels.show_only;
    button.setAttribute("aria-pressed", "false");
    button.append(...row.childNodes);
    row.append(button);
    button.addEventListener("click", () => {
      const pressed = button.getAttribute("aria-pressed") !== "true";
      button.setAttribute("aria-pressed", String(pressed));
      for (const each of species) pressed ? only.add(each) : only.delete(each);
      changed();
    });
  }
  return only;
}

/** Colour the stems by what the reader chooses; the key follows. @param {Sheet} sheet */
export function connectColours(sheet) {
  const select = /** @type {HTMLSelectElement | null} */ (document.querySelector("#colour-by"));
  if (!select) return;
  /** @type {NodeListOf<HTMLElement>} */
  const keys = document.querySelectorAll("[data-colouring]");
  const show = () => {
    sheet.colourBy(select.value);
    for (const key of keys) key.hidden = key.dataset.colouring !== sheet.colouring;
  };
  const follow = () => {
    select.value = inAddress("colour");
    if (select.selectedIndex < 0) select.value = "";
    show();
  };
  select.addEventListener("change", () => {
    remember("colour", select.value);
    show();
  });
  addEventListener("hashchange", follow);
  /** @type {HTMLElement} */ (select.parentElement).hidden = false; // of no use without a script
  follow();
}

/** @param {string | undefined} text */
function indexes(text) {
  return (text ?? "").split(/\s+/).filter(Boolean).map(Number);
}

/**
 * Figures in the margin point at their trees: on hover and focus these are ringed on the map.
 * @param {Sheet} sheet
 */
export function connectMargin(sheet) {
  const marked =
    "[data-highlight-tree], [data-highlight-stand], [data-highlight-size], " +
    "[data-highlight-species], li[data-species]";
  for (const each of document.querySelectorAll(marked)) {
    const { dataset } = /** @type {HTMLElement} */ (each);
    const point = () => sheet.highlight(pointedAt(sheet, dataset));
    const leave = () => sheet.highlight([]);
    each.addEventListener("mouseenter", point);
    each.addEventListener("focusin", point);
    each.addEventListener("mouseleave", leave);
    each.addEventListener("focusout", leave);
  }
}

/** @param {Sheet} sheet @param {DOMStringMap} data @returns {number[]} */
export function pointedAt(sheet, data) {
  if (data.highlightTree !== undefined) return [sheet.find(data.highlightTree)];
  const stand = sheet.lists.stands.findIndex((each) => each.name === data.highlightStand);
  const species = indexes(data.highlightSpecies ?? data.species);
  const sizes = indexes(data.highlightSize);
  const found = [];
  for (let tree = 0; tree < sheet.count; tree++) {
    const facts = sheet.facts(tree);
    const ofStand = data.highlightStand !== undefined && facts.stand === stand;
    if (ofStand || species.includes(facts.species) || sizes.includes(facts.size)) found.push(tree);
  }
  return found;
}
