/** @import { Labels } from "./types" */
import { countWords, onFormChange, readForm } from "./controls.js";
import { passes, plain } from "./filter.js";
import { fill } from "./words.js";

const NATURAL = new Intl.Collator(undefined, { numeric: true });

/**
 * The order of two cells: numbers by size, text so that 9 comes before 10, empty ones always last.
 * @param {string} a @param {string} b
 * @param {1 | -1} direction
 */
export function compareCells(a, b, direction) {
  if (a === "" || b === "") return (a === "" ? 1 : 0) - (b === "" ? 1 : 0);
  const [x, y] = [leadingNumber(a), leadingNumber(b)];
  const order = Number.isNaN(x) || Number.isNaN(y) ? NATURAL.compare(a, b) : x - y;
  return direction * order;
}

/** The number of "41.2 ± 0.6"; NaN for "12a", which is a name. @param {string} text */
function leadingNumber(text) {
  const found = text.replace("−", "-").match(/^-?\d+(\.\d+)?(?=$|\s)/);
  return found ? Number(found[0]) : NaN;
}

/** Sort the rows of tables that only sort. @param {Labels} labels */
export function connectSorting(labels) {
  for (const table of document.querySelectorAll("table[data-sorts]")) {
    const sorted = /** @type {HTMLTableElement} */ (table);
    connectHeads(sorted, [...sorted.tBodies[0].rows], labels);
  }
}

/** Filter and sort the rows of trees.html. @param {Labels} labels */
export function connectTable(labels) {
  const table = /** @type {HTMLTableElement | null} */ (document.querySelector("table#tree-table"));
  if (!table) return;
  const rows = [...table.tBodies].flatMap((body) => [...body.rows]);
  connectHeads(table, rows, labels);

  const form = /** @type {HTMLFormElement | null} */ (document.querySelector("form#filters"));
  const count = document.querySelector("#filter-count");
  if (!form) return;
  const apply = () => {
    const filter = readForm(form, new Set());
    for (const row of rows) row.hidden = !passes(filter, rowFacts(row));
    const shown = rows.filter((row) => !row.hidden).length;
    if (count) count.textContent = countWords(shown, rows.length, labels);
  };
  onFormChange(form, apply);
  apply(); // a browser keeps the fields when one comes back to a page
}

/** @param {HTMLTableRowElement} row */
function rowFacts(row) {
  const { species, stand, size } = row.dataset;
  const text = (row.dataset.text ??= plain(row.textContent ?? ""));
  return {
    species: Number(species ?? -1),
    stand: Number(stand ?? -1),
    size: Number(size ?? -1),
    text,
  };
}

/** @param {HTMLTableElement} table @param {HTMLTableRowElement[]} rows @param {Labels} labels */
function connectHeads(table, rows, labels) {
  const heads = /** @type {HTMLTableCellElement[]} */ ([
    ...table.querySelectorAll("th[data-sort]"),
  ]);
  for (const head of heads) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "sort";
    button.title = fill(labels.sort, { column: head.textContent?.trim() ?? "" });
    button.append(...head.childNodes);
    head.append(button);
    button.addEventListener("click", () => {
      const down = head.ariaSort === "ascending";
      for (const other of heads) other.removeAttribute("aria-sort");
      head.ariaSort = down ? "descending" : "ascending";
      sortRows(table, rows, head.cellIndex, down ? -1 : 1);
    });
  }
}

/**
 * @param {HTMLTableElement} table @param {HTMLTableRowElement[]} rows
 * @param {number} column
 * @param {1 | -1} direction
 */
function sortRows(table, rows, column, direction) {
  const keyed = rows.map((row) => ({ row, key: cellKey(row.cells[column]) }));
  keyed.sort((a, b) => compareCells(a.key, b.key, direction));
  table.tBodies[0].append(...keyed.map(({ row }) => row));
}

/** @param {HTMLTableCellElement | undefined} cell */
function cellKey(cell) {
  return cell?.dataset.value ?? cell?.textContent?.trim() ?? "";
}
