/** @import { TreeLayer } from "./tree-layer.js" */

/** @typedef {"left" | "right"} Side */
/** @typedef {Record<"label" | "about" | "left" | "right" | "difference" | "range", string>} Row */
/** @typedef {{ left: string, right: string, rows: Row[], sentences: string[] }} Pair */

const SIDES = /** @type {const} */ (["left", "right"]);

/**
 * Two stands side by side, both maps at one scale.
 * @param {Map<string, TreeLayer>} layers by the id of their map's div
 */
export function connectCompare(layers) {
  const selects = SIDES.map((side) => document.querySelector(`select#${side}-stand`));
  if (!selects.every((each) => each instanceof HTMLSelectElement)) return;
  const pairs = readPairs();
  const maps = SIDES.map((side) => layers.get(`map-${side}`)).filter((each) => each !== undefined);
  const names = () => selects.map((select) => /** @type {HTMLSelectElement} */ (select).value);

  const update = () => {
    const chosen = names();
    SIDES.forEach((side, index) => showStand(side, chosen[index]));
    maps.forEach(
      (layer, index) => layer.options.stand !== chosen[index] && layer.setStand(chosen[index]),
    );
    shareLook(maps);
    together.paused = true; // each is set on its own stand
    fitTogether(maps);
    together.paused = false;
    const pair = pairs.find(({ left, right }) => left === chosen[0] && right === chosen[1]);
    showPair(pair ?? { left: chosen[0], right: chosen[1], rows: [], sentences: [] });
  };
  for (const select of selects) select?.addEventListener("change", update);
  for (const layer of maps) layer.options.fit = false; // from here on both are fitted together
  keepOneScale(maps);
  const together = moveTogether(maps);
  update();
}

/** @returns {Pair[]} */
function readPairs() {
  const block = document.querySelector("script#comparisons");
  return block?.textContent ? JSON.parse(block.textContent).pairs : [];
}

/** @param {Side} side @param {string} stand */
function showStand(side, stand) {
  for (const block of document.querySelectorAll(`[data-stand-block="${side}"]`)) {
    const each = /** @type {HTMLElement} */ (block);
    each.hidden = each.dataset.stand !== stand;
  }
  for (const name of document.querySelectorAll(`[data-stand-name="${side}"]`))
    name.textContent = stand;
}

/** @param {Pair} pair */
function showPair({ rows, sentences }) {
  const body = document.querySelector("#comparison-table tbody");
  body?.replaceChildren(...rows.map(tableRow));
  const list = document.querySelector("#comparison-sentences");
  list?.replaceChildren(...sentences.map((sentence) => withText("li", sentence)));
}

/** @param {Row} row */
function tableRow({ label, about, left, right, difference, range }) {
  const line = document.createElement("tr");
  const head = withText("th", label);
  head.setAttribute("scope", "row");
  const term = withText("span", about);
  term.className = "term";
  head.append(term);
  line.append(head, ...[left, right, difference, range].map((text) => withText("td", text)));
  return line;
}

/** @param {string} tag @param {string} text */
function withText(tag, text) {
  const made = document.createElement(tag);
  made.textContent = text;
  return made;
}

/** The denser stand sets how large stems and signs are drawn on both. @param {TreeLayer[]} maps */
function shareLook(maps) {
  const spacing = Math.min(...maps.map((layer) => layer.spacing ?? Infinity));
  for (const layer of maps) layer.spacing = spacing;
}

/** The larger stand sets the scale of both maps. @param {TreeLayer[]} maps */
function fitTogether(maps) {
  const views = maps.map((layer) => ({ layer, bounds: layer.bounds() }));
  const zooms = views.map(({ layer, bounds }) =>
    bounds ? layer.map.getBoundsZoom(bounds, false, L.point(50, 50)) : Infinity,
  );
  const zoom = Math.min(...zooms);
  for (const { layer, bounds } of views) {
    if (bounds) layer.map.setView(bounds.getCenter(), zoom, { animate: false });
  }
}

/** @param {TreeLayer[]} maps */
function keepOneScale(maps) {
  for (const { map } of maps) {
    map.on("zoomend", () => {
      for (const { map: other } of maps) {
        if (other.getZoom() !== map.getZoom()) other.setZoom(map.getZoom(), { animate: false });
      }
    });
  }
}

/** Who drags one map drags both, by the same way on the ground. @param {TreeLayer[]} maps */
function moveTogether(maps) {
  const state = { paused: false };
  for (const { map } of maps) {
    let [zoom, last] = [map.getZoom(), map.project(map.getCenter())];
    map.on("move", () => {
      const now = map.project(map.getCenter());
      const way = now.subtract(last);
      const panned = zoom === map.getZoom() && (way.x || way.y);
      [zoom, last] = [map.getZoom(), now];
      if (state.paused || !panned) return;
      state.paused = true;
      for (const { map: other } of maps) if (other !== map) other.panBy(way, { animate: false });
      state.paused = false;
    });
  }
  return state;
}
