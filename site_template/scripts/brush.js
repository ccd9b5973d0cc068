/** @import { Filter, Range, Sizes } from "./types" */
/** @import { Sheet } from "./sheet.js" */
import { within } from "./filter.js";

const DEAD = 2;

/** One bar of a chart, from `low` to below `high`. */
class Bin {
  /** @param {SVGGElement} mark @param {number} decimals */
  constructor(mark, decimals) {
    this.mark = mark;
    /** @type {Range} */
    this.range = [Number(mark.dataset.low), Number(mark.dataset.high), decimals];
    this.ink = mark.querySelector(".bar");
    const [foot, tall] = ["y", "height"].map((name) => Number(this.ink?.getAttribute(name)));
    this.foot = foot + tall;
    this.tall = tall;
  }

  /** Ink for the trees that pass the filter; the outline stays. @param {number} share */
  fill(share) {
    this.ink?.setAttribute("height", (this.tall * share).toFixed(1));
    this.ink?.setAttribute("y", (this.foot - this.tall * share).toFixed(1));
  }
}

/**
 * Bars choose trees, and show how many of theirs are chosen.
 * @param {Sheet} sheet
 * @param {() => void} changed
 * @returns {Filter["ranges"]} what the bars ask for, kept up to date
 */
export function connectBrush(sheet, changed) {
  /** @type {Filter["ranges"]} */
  const ranges = {};
  for (const chart of document.querySelectorAll("svg[data-fact]")) {
    const { dataset } = /** @type {SVGElement} */ (chart);
    const fact = /** @type {keyof Sizes} */ (dataset.fact);
    if (!sheet.columns || sheet.many) continue; // a large survey: heights come tree by tree
    document.querySelector(".brush-note")?.removeAttribute("hidden");
    const marks = /** @type {SVGGElement[]} */ ([...chart.querySelectorAll(".bin")]);
    const bins = marks.map((mark) => new Bin(mark, Number(dataset.decimals)));
    const stand = sheet.lists.stands.findIndex((each) => each.name === dataset.stand);
    const choose = (/** @type {number} */ from, /** @type {number} */ to) => {
      const [low, , decimals] = bins[Math.min(from, to)].range;
      const high = bins[Math.max(from, to)].range[1];
      const [before, after] = ranges[fact] ?? [];
      const again = from === to && before === low && after === high;
      ranges[fact] = again ? undefined : [low, high, decimals];
      changed();
    };
    chart.setAttribute("role", "group");
    connectPointer(chart, marks, choose);
    connectKeys(marks, choose);
    sheet.addEventListener("filter", () => {
      shade(sheet, bins, sheet.columns?.[fact] ?? [], stand);
      const [low, high] = ranges[fact] ?? [0, 0];
      for (const { mark, range } of bins) {
        mark.setAttribute("aria-pressed", String(range[0] >= low && range[1] <= high));
      }
    });
  }
  return ranges;
}

/** @param {Element} chart @param {Element[]} marks @param {(from: number, to: number) => void} choose */
function connectPointer(chart, marks, choose) {
  let [from, to] = [-1, -1];
  const under = (/** @type {Event} */ event) => {
    const { clientX, clientY } = /** @type {PointerEvent} */ (event);
    return marks.findIndex((mark) => mark.contains(document.elementFromPoint(clientX, clientY)));
  };
  chart.addEventListener("pointerdown", (event) => {
    from = to = under(event);
    if (from >= 0) event.preventDefault();
  });
  chart.addEventListener("pointermove", (event) => {
    const at = under(event);
    if (from < 0 || at < 0 || at === to) return;
    to = at;
    choose(from, to);
  });
  chart.addEventListener("pointerup", () => {
    if (from >= 0 && from === to) choose(from, to);
  });
  for (const end of ["pointerup", "pointerleave", "pointercancel"]) {
    chart.addEventListener(end, () => (from = -1));
  }
}

/** @param {SVGGElement[]} marks @param {(from: number, to: number) => void} choose */
function connectKeys(marks, choose) {
  let from = 0;
  marks.forEach((mark, index) => {
    mark.setAttribute("role", "button");
    mark.setAttribute("tabindex", index ? "-1" : "0");
    mark.addEventListener("keydown", (event) => {
      const next = index + ({ ArrowRight: 1, ArrowLeft: -1 }[event.key] ?? 0);
      if (event.key === "Enter" || event.key === " ") choose((from = index), index);
      else if (next === index || !marks[next]) return;
      else {
        mark.setAttribute("tabindex", "-1");
        marks[next].setAttribute("tabindex", "0");
        marks[next].focus();
        if (event.shiftKey) choose(from, next);
        else from = next;
      }
      event.preventDefault();
    });
  });
}

/**
 * In each bar the share of its living trees that pass the filter.
 * @param {Sheet} sheet @param {Bin[]} bins
 * @param {ArrayLike<number | null>} values
 * @param {number} stand -1: all
 */
function shade({ columns, shown }, bins, values, stand) {
  for (const bin of bins) {
    let [all, passing] = [0, 0];
    Array.from(values).forEach((value, tree) => {
      const counts = stand < 0 || columns?.stand[tree] === stand;
      if (!counts || columns?.symbol[tree] === DEAD || !within(value, bin.range)) return;
      all++;
      passing += shown[tree];
    });
    bin.fill(all ? passing / all : 1);
  }
}
