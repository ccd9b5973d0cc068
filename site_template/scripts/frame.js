/** @import { FrameOptions } from "./types" */
/** @import { Sheet } from "./sheet.js" */
import { metresPerPixel } from "./places.js";
import { coordinate, scaleBar, ticks } from "./scales.js";
import { fill } from "./words.js";

const SVG = "http://www.w3.org/2000/svg";
const TICKS = { usualPx: 150, share: 0.3 }; // apart; closer on a small map, or there is only one
const CORNER_PX = 32;
const BAR_PX = 160;
const BAR_PARTS = 4;
const ACRES_PER_HA = 2.47105;

/**
 * What stands round a map: coordinates outside the neat line; scale bar, north arrow and the names
 * of the stands inside.
 * @param {L.Map} map
 * @param {Sheet} sheet
 * @param {FrameOptions} options
 */
export function drawFrame(map, sheet, options) {
  const container = map.getContainer();
  const figure = container.closest(".sheet-map");
  const strip = figure
    ? L.DomUtil.create("div", "frame-ticks", /** @type {HTMLElement} */ (figure))
    : null;
  strip?.setAttribute("aria-hidden", "true");
  const bar = L.DomUtil.create("div", "scale-bar", container);
  const stems = L.DomUtil.create("p", "stem-scale", bar);
  const ruler = bar.appendChild(element("svg", {}));

  const arrow = northArrow(container, sheet);
  const names = (options.names ?? []).map((name) => writeName(map, name));
  const update = () => {
    if (strip) drawTicks(map, strip, sheet, options.format ?? "dms");
    drawBar(map, ruler, sheet);
  };
  map.on("moveend zoomend resize", () => clearNames(container, names, arrow));
  map.on("move zoomend resize", update);
  sheet.addEventListener("trees", update);
  map.on("treesdrawn", (event) => tellStemScale(map, stems, sheet, event));
  update();
  clearNames(container, names, arrow);
}

/** @param {string} name @param {Record<string, string | number>} attributes */
function element(name, attributes) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, String(value));
  return made;
}

/**
 * @param {L.Map} map @param {HTMLElement} strip @param {Sheet} sheet
 * @param {"dms" | "decimal"} format
 */
function drawTicks(map, strip, { labels }, format) {
  const size = map.getSize();
  const bounds = map.getBounds();
  const [west, east] = [bounds.getWest(), bounds.getEast()];
  const [south, north] = [bounds.getSouth(), bounds.getNorth()];
  const columns = ticks(west, east, (east - west) * apart(size.x), format);
  const rows = ticks(south, north, (north - south) * apart(size.y), format);
  const base = (strip.parentElement ?? strip).getBoundingClientRect();
  const line = (
    map.getContainer().closest(".neatline") ?? map.getContainer()
  ).getBoundingClientRect();
  const inner = map.getContainer().getBoundingClientRect();

  strip.replaceChildren();
  for (const lon of columns.values) {
    const words = coordinate(lon, columns.step, format, [labels.degrees_east, labels.degrees_west]);
    const along = map.latLngToContainerPoint([south, lon]).x;
    const [left, text] = [inner.left - base.left + along, awayFromCorner(along, size.x, words)];
    strip.append(tick("top", left, line.top - base.top, text));
    strip.append(tick("bottom", left, line.bottom - base.top, text));
  }
  for (const lat of rows.values) {
    const words = coordinate(lat, rows.step, format, [labels.degrees_north, labels.degrees_south]);
    const along = map.latLngToContainerPoint([lat, west]).y;
    const [top, text] = [inner.top - base.top + along, awayFromCorner(along, size.y, words)];
    strip.append(tick("left", line.left - base.left, top, text));
    strip.append(tick("right", line.right - base.left, top, text));
  }
}

/** The share of a side between two ticks. @param {number} sidePx */
function apart(sidePx) {
  return Math.min(TICKS.usualPx / sidePx, TICKS.share);
}

/**
 * No words where they would stick out past the corner.
 * @param {number} along @param {number} size @param {string} words
 */
function awayFromCorner(along, size, words) {
  return along < CORNER_PX || along > size - CORNER_PX ? "" : words;
}

/** @param {string} side @param {number} left @param {number} top @param {string} text */
function tick(side, left, top, text) {
  const mark = L.DomUtil.create("span", `tick ${side}`);
  L.DomUtil.create("span", `tick-label ${side}`, mark).textContent = text;
  mark.style.left = `${left}px`;
  mark.style.top = `${top}px`;
  return mark;
}

/** Dark and light parts. @param {L.Map} map @param {Element} ruler @param {Sheet} sheet */
function drawBar(map, ruler, { labels, units }) {
  const ground = metresPerPixel(map.getCenter().lat, map.getZoom());
  const bar = scaleBar(ground, Math.min(BAR_PX, map.getSize().x * 0.4), units);
  const [left, top, high] = [6, 16, 5];
  const part = bar.px / BAR_PARTS;

  ruler.setAttribute("width", String(bar.px + 46));
  ruler.setAttribute("height", "24");
  ruler.replaceChildren();
  for (let i = 0; i < BAR_PARTS; i++) {
    const style = i % 2 ? "bar-light" : "bar-dark";
    ruler.append(
      element("rect", { x: left + i * part, y: top, width: part, height: high, class: style }),
    );
  }
  ruler.append(barLabel(left, "0"));
  ruler.append(barLabel(left + bar.px / 2, String(bar.length / 2)));
  ruler.append(barLabel(left + bar.px, `${bar.length} ${labels[bar.unit]}`));
}

/** @param {number} x @param {string} text */
function barLabel(x, text) {
  const label = element("text", { x, y: 12, class: "scale-bar-label" });
  label.textContent = text;
  return label;
}

/** @param {HTMLElement} container @param {Sheet} sheet */
function northArrow(container, { labels }) {
  const arrow = element("svg", {
    class: "north-arrow",
    viewBox: "-16 -34 32 66",
    width: 32,
    height: 66,
  });
  arrow.setAttribute("aria-hidden", "true");
  arrow.append(element("path", { d: "M0 -18 L-8 20 L0 13 Z", class: "north-dark" }));
  arrow.append(element("path", { d: "M0 -18 L8 20 L0 13 Z", class: "north-light" }));
  const letter = element("text", { x: 0, y: -22, class: "north-letter", "text-anchor": "middle" });
  letter.textContent = labels.north;
  arrow.append(letter);
  container.append(arrow);
  return arrow;
}

/** @param {L.Map} map @param {{ name: string, lat: number, lon: number }} place */
function writeName(map, { name, lat, lon }) {
  const text = L.DomUtil.create("span", "stand-name");
  text.textContent = name;
  const icon = L.divIcon({ html: text, className: "stand-name-place", iconSize: [0, 0] });
  L.marker([lat, lon], { icon, interactive: false, keyboard: false }).addTo(map);
  return text;
}

/**
 * No name that the neat line would cut, or that would run into the north arrow.
 * @param {HTMLElement} container @param {HTMLElement[]} names @param {Element} arrow
 */
function clearNames(container, names, arrow) {
  const [inner, taken] = [container.getBoundingClientRect(), arrow.getBoundingClientRect()];
  for (const name of names) {
    const box = name.getBoundingClientRect();
    const cut = box.left < inner.left || box.right > inner.right || box.top < inner.top;
    const met = box.right > taken.left && box.left < taken.right && box.top < taken.bottom;
    name.classList.toggle("is-cut", cut || (met && box.bottom > taken.top));
  }
}

/** @param {L.Map} map @param {HTMLElement} stems @param {Sheet} sheet @param {any} event */
function tellStemScale(map, stems, { labels, units }, event) {
  const { exaggeration: times, darkest } = /** @type {Record<string, number>} */ (event);
  const stemWords = times === 1 ? labels.stem_scale_one : fill(labels.stem_scale, { n: times });
  const [area, n] = units === "metric" ? ["ha", darkest] : ["acre", darkest / ACRES_PER_HA];
  const round = Number(n.toPrecision(2)).toLocaleString(document.documentElement.lang || undefined);
  const dense = fill(area === "ha" ? labels.density_ha : labels.density_acre, { n: round });
  const words = darkest ? dense : stemWords;
  stems.textContent = words;
  stems.classList.toggle("is-density", darkest > 0); // the style sheet puts the shades before it
  const figure = map.getContainer().closest(".sheet-map") ?? document;
  const inFigure = figure.querySelectorAll("[data-stem-scale]");
  const places = inFigure.length ? inFigure : document.querySelectorAll("[data-stem-scale]");
  for (const place of places) place.textContent = words;
}
