/** One record of an outing, and all of them as the two tables that are handed over. */

/**
 * @typedef {{ baseline: string, unit: string, method: string, top: number, base: number }} Sight
 * @typedef {{ id: string, tree: string, species: string, day: string, team: string, status: string,
 *   girth: string, girth_unit: string, measured_how: string, sights: Sight[], lat: number | null,
 *   lon: number | null, accuracy_m: number | null, leaf: string, needles: string,
 *   photo: Blob | null, photo_consent: string, note: string }} Rec
 */

const HEADINGS = [
  "tree", "species", "date", "observer", "status", "girth", "measured_how", "lat", "lon",
  "position_accuracy_m", "leaf", "needles_per_bundle", "photo", "photo_consent", "note",
];
const SIGHT_HEADINGS = [
  "tree", "date", "observer", "baseline", "baseline_method", "angle_top_deg", "angle_base_deg",
];

/** @param {string} team @param {string} day @param {string} units @returns {Rec} */
export function freshRecord(team, day, units) {
  return {
    id: crypto.randomUUID?.() ?? `${Date.now()}-${Math.random()}`,
    tree: "", species: "", day, team, status: "alive", girth: "",
    girth_unit: units === "us" ? "in" : "cm", measured_how: "", sights: [], lat: null, lon: null,
    accuracy_m: null, leaf: "", needles: "", photo: null, photo_consent: "", note: "",
  };
}

/** @param {Rec} record */
export const photoName = (record) => `${record.id.slice(0, 8)}.jpg`;

/** @param {Rec[]} records */
export function recordsTable(records) {
  return csv(HEADINGS, records.map((r) => [
    r.tree, r.species, r.day, r.team, r.status, withUnit(r.girth, r.girth_unit), r.measured_how,
    r.lat ?? "", r.lon ?? "", r.accuracy_m ?? "", r.leaf, r.needles, r.photo ? photoName(r) : "",
    r.photo ? r.photo_consent || "no" : "", r.note,
  ]));
}

/** @param {Rec[]} records */
export function sightsTable(records) {
  const rows = records.flatMap((r) => r.sights.map((s) => [
    r.tree, r.day, r.team, withUnit(s.baseline, s.unit), s.method, s.top, s.base,
  ]));
  return rows.length ? csv(SIGHT_HEADINGS, rows) : "";
}

/** @param {string} text @param {string} unit */
const withUnit = (text, unit) => (text.trim() ? `${text.trim().replace(",", ".")} ${unit}` : "");

/** @param {string[]} headings @param {(string | number)[][]} rows */
function csv(headings, rows) {
  return [headings, ...rows].map((row) => row.map(cell).join(",") + "\r\n").join("");
}

/** @param {string | number} value */
function cell(value) {
  const text = String(value).replace(/[\r\n]+/g, " ");
  return /[",]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
