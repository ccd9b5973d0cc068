/** Finds trees by place: in a rectangle, nearest to a point, nearest in a direction. */

const TREES_PER_CELL = 4;

export class HitGrid {
  /**
   * @param {Float64Array} x
   * @param {Float64Array} y
   * @param {Int32Array} trees the trees to hold, all with a place
   */
  constructor(x, y, trees) {
    this.x = x;
    this.y = y;
    this.trees = trees;
    this.box = extent(x, y, trees);
    const { left, top, right, bottom } = this.box;
    const area = Math.max(right - left, 1e-12) * Math.max(bottom - top, 1e-12);
    const side = Math.sqrt((area * TREES_PER_CELL) / Math.max(trees.length, 1));
    this.cell = Math.max(side, (right - left) / 1000, (bottom - top) / 1000, 1e-12);
    this.across = Math.floor((right - left) / this.cell) + 1;
    this.down = Math.floor((bottom - top) / this.cell) + 1;
    const { starts, sorted } = this.#sort();
    this.starts = starts;
    this.sorted = sorted;
  }

  /** Counting sort: the trees of cell c are sorted[starts[c]] … sorted[starts[c + 1] - 1]. */
  #sort() {
    const cells = this.across * this.down;
    const starts = new Int32Array(cells + 1);
    for (const tree of this.trees) starts[this.#cellOf(tree) + 1]++;
    for (let c = 0; c < cells; c++) starts[c + 1] += starts[c];
    const sorted = new Int32Array(this.trees.length);
    const next = starts.slice();
    for (const tree of this.trees) sorted[next[this.#cellOf(tree)]++] = tree;
    return { starts, sorted };
  }

  /** @param {number} tree */
  #cellOf(tree) {
    const column = Math.floor((this.x[tree] - this.box.left) / this.cell);
    const row = Math.floor((this.y[tree] - this.box.top) / this.cell);
    return row * this.across + column;
  }

  /**
   * Trees in a rectangle, edges included.
   * @param {number} left @param {number} top @param {number} right @param {number} bottom
   */
  within(left, top, right, bottom) {
    const found = [];
    const [firstColumn, lastColumn] = this.#span(left, right, this.box.left, this.across);
    const [firstRow, lastRow] = this.#span(top, bottom, this.box.top, this.down);
    for (let row = firstRow; row <= lastRow; row++) {
      const start = this.starts[row * this.across + firstColumn];
      const end =
        firstColumn > lastColumn ? start : this.starts[row * this.across + lastColumn + 1];
      for (let i = start; i < end; i++) {
        const tree = this.sorted[i];
        const x = this.x[tree];
        const y = this.y[tree];
        if (x >= left && x <= right && y >= top && y <= bottom) found.push(tree);
      }
    }
    return found;
  }

  /**
   * @param {number} low @param {number} high @param {number} origin @param {number} cells
   * @returns {[number, number]}
   */
  #span(low, high, origin, cells) {
    const first = Math.floor((low - origin) / this.cell);
    const last = Math.floor((high - origin) / this.cell);
    return [Math.max(0, first), Math.min(cells - 1, last)];
  }

  /**
   * The nearest tree within reach that is accepted, -1 for none.
   * @param {number} x @param {number} y @param {number} reach
   * @param {(tree: number) => boolean} accepts
   */
  nearest(x, y, reach, accepts) {
    let [best, bestDistance] = [-1, reach];
    for (const tree of this.within(x - reach, y - reach, x + reach, y + reach)) {
      const distance = Math.hypot(this.x[tree] - x, this.y[tree] - y);
      if (distance <= bestDistance && accepts(tree)) [best, bestDistance] = [tree, distance];
    }
    return best;
  }

  /**
   * The next tree from a point to one side. Straight ahead counts for more than aside, and nothing
   * outside the quarter circle ahead is taken, so that left undoes right for most steps.
   * @param {number} x @param {number} y
   * @param {[number, number]} direction unit step, y downwards
   * @param {(tree: number) => boolean} accepts
   */
  nearestTowards(x, y, [stepX, stepY], accepts) {
    let [best, bestCost] = [-1, Infinity];
    for (const tree of this.trees) {
      const dx = this.x[tree] - x;
      const dy = this.y[tree] - y;
      const ahead = dx * stepX + dy * stepY;
      const aside = Math.abs(dx * stepY - dy * stepX);
      const cost = ahead + 2 * aside;
      if (ahead > 0 && aside <= ahead && cost < bestCost && accepts(tree))
        [best, bestCost] = [tree, cost];
    }
    return best;
  }

  /** Middle distance to the nearest neighbour, over a sample; Infinity for a lone tree. */
  spacing(samples = 200) {
    const step = Math.max(1, Math.floor(this.trees.length / samples));
    const distances = [];
    for (let i = 0; i < this.trees.length; i += step)
      distances.push(this.#toNeighbour(this.trees[i]));
    distances.sort((a, b) => a - b);
    return distances[Math.floor(distances.length / 2)] ?? Infinity;
  }

  /** @param {number} tree */
  #toNeighbour(tree) {
    const [x, y] = [this.x[tree], this.y[tree]];
    const limit = Math.hypot(this.across, this.down) * this.cell;
    for (let reach = this.cell; reach <= 2 * limit; reach *= 2) {
      const found = this.nearest(x, y, reach, (other) => other !== tree);
      if (found >= 0) return Math.hypot(this.x[found] - x, this.y[found] - y);
    }
    return Infinity;
  }
}

/** @param {Float64Array} x @param {Float64Array} y @param {Int32Array} trees */
export function extent(x, y, trees) {
  const box = { left: Infinity, top: Infinity, right: -Infinity, bottom: -Infinity };
  for (const tree of trees) {
    box.left = Math.min(box.left, x[tree]);
    box.right = Math.max(box.right, x[tree]);
    box.top = Math.min(box.top, y[tree]);
    box.bottom = Math.max(box.bottom, y[tree]);
  }
  return trees.length ? box : { left: 0, top: 0, right: 0, bottom: 0 };
}
