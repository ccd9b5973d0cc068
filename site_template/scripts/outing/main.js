/** The page for phones: pick a tree, measure it, keep it here, hand everything over. */

import { cameraElevation, heightOf, heightsTogether, steady, triangle } from "./height.js";
import { fileName, give, packed } from "./handover.js";
import { named, withLeaf } from "./kinds.js";
import { smaller } from "./photo.js";
import { together } from "./position.js";
import { freshRecord } from "./record.js";
import { openStore } from "./store.js";
import { metres, typed } from "./units.js";
import { broken, grewOddly } from "./warn.js";

/** @typedef {import("./record.js").Rec} Rec */

const survey = JSON.parse(at("survey").textContent ?? "{}");
/** @type {Record<string, string>} */
const words = survey.words;
/** @type {import("./store.js").Store} */
let store;
let record = freshRecord("", today(), survey.units);
/** @type {number[]} */
let readings = [];
/** @type {{ top?: number, base?: number }} */
let aimed = {};

/** @param {string} id @returns {HTMLElement} */
function at(id) {
  const found = document.getElementById(id);
  if (!found) throw new Error(`no element ${id}`);
  return found;
}

/** @param {string} id */
const field = (id) => /** @type {HTMLInputElement} */ (at(id));

/** @param {string} key @param {Record<string, string | number>} [values] */
const word = (key, values = {}) =>
  words[key].replace(/\{(\w+)\}/g, (_, name) => String(values[name]));

function today() {
  const now = new Date();
  return new Date(now.getTime() - now.getTimezoneOffset() * 60_000).toISOString().slice(0, 10);
}

/** @param {number} value_m */
const shown = (value_m) =>
  survey.units === "us" ? `${(value_m / 0.3048).toFixed(0)} ft` : `${value_m.toFixed(1)} m`;

/** @param {number} value */
const degrees = (value) => `${value.toFixed(1).replace("-", "−")}°`;

/** @param {"list" | "form"} view */
function show(view) {
  at("list").hidden = view !== "list";
  at("form").hidden = view !== "form";
  scrollTo(0, 0);
  at(view).querySelector("h2")?.focus();
}

const TEXTS = ["tree", "species", "day", "status", "girth", "girth_unit", "measured_how", "leaf",
  "needles", "photo_consent", "note"];

function fill() {
  for (const name of TEXTS) field(name).value = /** @type {any} */ (record)[name];
  at("place").textContent = record.lat === null ? "" : placeText();
  at("photo-kept").textContent = record.photo ? words.photo_kept : "";
  clearAim();
  drawSights();
  warn();
}

const placeText = () =>
  word("placed", { lat: String(record.lat), lon: String(record.lon), m: String(record.accuracy_m) });

async function keep() {
  record.team = field("team").value.trim();
  try {
    await store.put(record);
    tell("saved", "");
  } catch {
    tell("saved", words.full);
  }
}

/** @param {string} id @param {string} text */
function tell(id, text) {
  if (at(id).textContent !== text) at(id).textContent = text;
}

/** @param {string} text @param {() => void} act @param {HTMLElement} into */
function button(text, act, into) {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = text;
  made.onclick = act;
  into.append(made);
}

async function list() {
  const kept = (await store.all()).filter((r) => r.tree || r.girth || r.sights.length);
  at("kept").replaceChildren();
  for (const one of kept) {
    const line = document.createElement("li");
    const { middle } = heightsTogether(one.sights.map(sighting));
    const parts = [one.species, one.girth && `${one.girth} ${one.girth_unit}`, middle > 0 && shown(middle)];
    line.append(`${one.tree || words.no_number}: ${parts.filter(Boolean).join(", ")} `);
    button(words.change, () => { record = one; fill(); show("form"); }, line);
    button(words.remove, async () => {
      if (confirm(word("remove_sure", { tree: one.tree }))) { await store.remove(one.id); await list(); }
    }, line);
    at("kept").append(line);
  }
  tell("count", word(kept.length ? "count" : "none_yet", { n: kept.length }));
  show("list");
}

/** @param {import("./record.js").Sight} sight */
const sighting = (sight) => ({
  baseline_m: metres(sight.baseline, sight.unit), top_deg: sight.top, base_deg: sight.base,
});

function drawSights() {
  const into = at("sights");
  into.replaceChildren();
  record.sights.forEach((sight, index) => {
    const line = document.createElement("li");
    line.append(`${shown(heightOf(sighting(sight)))} (${sight.baseline} ${sight.unit}, ${degrees(sight.top)}, ${degrees(sight.base)}) `);
    button(words.remove, () => { record.sights.splice(index, 1); drawSights(); void keep(); }, line);
    into.append(line);
  });
  const { count, middle, apart } = heightsTogether(record.sights.map(sighting));
  tell("height", !count ? "" : count === 1 ? word("one_height", { height: shown(middle) })
    : word("heights", { height: shown(middle), n: count, apart: shown(apart) }));
}

function warn() {
  const girth_cm = metres(record.girth, record.girth_unit) * 100;
  const last = survey.trees.find((/** @type {{ id: string }} */ tree) => tree.id === record.tree);
  const problems = [];
  if (record.girth && Number.isNaN(girth_cm)) problems.push(words.not_a_number);
  const limit = broken(survey.limits, "girth", girth_cm);
  if (limit) problems.push(limit.why);
  const odd = last && grewOddly(girth_cm, last.girth_cm, last.years, survey.growth_cm);
  if (odd) problems.push(words[odd]);
  const { middle } = heightsTogether(record.sights.map(sighting));
  const tall = broken(survey.limits, "height", middle) ??
    broken(survey.limits, "slenderness", (middle * 100 * Math.PI) / girth_cm);
  if (tall) problems.push(tall.why);
  tell("warnings", problems.map((why) => word("warning", { why })).join(" "));
  tell("day-doubt", record.day < survey.built || record.day > survey.too_late ? words.clock : "");
}

function suggest() {
  const into = at("suggestions");
  into.replaceChildren();
  const needles = typed(record.needles);
  const groups = record.leaf && !record.species ? withLeaf(survey.leaves, record.leaf, needles) : [];
  const kinds = [
    ...named(survey.kinds, record.species),
    ...groups.slice(0, 12).map((group) => ({ name: group.taxon, common: group.common })),
  ];
  for (const kind of kinds) {
    if (record.species === kind.name) continue;
    button(kind.common ? `${kind.common} (${kind.name})` : kind.name, () => {
      record.species = field("species").value = kind.name;
      into.replaceChildren();
      void keep();
    }, into);
  }
}

/* Sighting */

function clearAim() {
  aimed = {};
  tell("aim-told", "");
  drawTriangle();
}

const current = () => ({
  baseline_m: metres(field("baseline").value, field("baseline_unit").value),
  top_deg: aimed.top ?? steady(readings),
  base_deg: aimed.base ?? Math.min(0, aimed.top === undefined ? 0 : steady(readings)),
});

function drawTriangle() {
  const now = current();
  const ready = now.baseline_m > 0 && !Number.isNaN(now.top_deg);
  at("triangle").toggleAttribute("hidden", !ready);
  if (!ready) return;
  const { eye, foot, tip, level } = triangle(now, 300, 220);
  at("sight-up").setAttribute("d", `M${eye}L${tip}L${foot}Z`);
  at("sight-level").setAttribute("d", `M${eye}L${level}`);
  tell("angle-now", degrees(aimed.top === undefined ? now.top_deg : now.base_deg));
}

/** @param {DeviceOrientationEvent} event */
function tilted({ beta, gamma }) {
  if (beta === null || gamma === null) return;
  readings = [...readings.slice(-14), cameraElevation(beta, gamma)];
  drawTriangle();
}

async function startAiming() {
  const sensor = /** @type {any} */ (globalThis.DeviceOrientationEvent);
  try {
    if ((await sensor?.requestPermission?.()) === "denied") throw new Error("denied");
    if (!sensor) throw new Error("none");
    removeEventListener("deviceorientation", tilted);
    addEventListener("deviceorientation", tilted);
    tell("aim-told", words.aim_tip);
    setTimeout(() => { if (!readings.length) tell("aim-told", words.no_sensor); }, 1500);
  } catch {
    tell("aim-told", words.no_sensor);
  }
}

function takeAngle() {
  if (!readings.length) return tell("aim-told", words.no_sensor);
  const angle = Number(steady(readings).toFixed(1));
  if (aimed.top === undefined) {
    aimed = { top: angle };
    tell("aim-told", words.aim_foot);
  } else addSight(aimed.top, angle);
}

/** @param {number} top @param {number} base */
function addSight(top, base) {
  const sight = { baseline: field("baseline").value, unit: field("baseline_unit").value,
    method: field("baseline_method").value, top, base };
  if (!(heightOf(sighting(sight)) > 0)) return tell("aim-told", words.no_triangle);
  record.sights.push(sight);
  removeEventListener("deviceorientation", tilted);
  readings = [];
  clearAim();
  drawSights();
  warn();
  void keep();
}

/* Place and photo */

function place() {
  /** @type {import("./position.js").Fix[]} */
  const fixes = [];
  tell("place", words.placing);
  const watch = navigator.geolocation?.watchPosition(({ coords }) => {
    fixes.push({ lat: coords.latitude, lon: coords.longitude, accuracy_m: coords.accuracy });
    const mean = together(fixes);
    [record.lat, record.lon, record.accuracy_m] = [mean.lat, mean.lon, mean.accuracy_m];
    tell("place", placeText());
  }, () => { if (!fixes.length) tell("place", words.no_place); }, { enableHighAccuracy: true });
  if (watch === undefined) return tell("place", words.no_place);
  setTimeout(() => { navigator.geolocation.clearWatch(watch); if (fixes.length) void keep(); }, survey.averaging_ms);
}

async function takePhoto() {
  const file = field("photo").files?.[0];
  if (!file) return;
  try {
    record.photo = await smaller(file);
    tell("photo-kept", words.photo_kept);
    await keep();
  } catch {
    tell("photo-kept", words.photo_bad);
  }
}

async function handOver() {
  const kept = (await store.all()).filter((r) => r.tree);
  if (!kept.length) return tell("handed", words.nothing);
  try {
    await give(await packed(kept), fileName(field("team").value, today()));
    tell("handed", word("handed", { n: kept.length }));
  } catch {
    tell("handed", words.not_handed);
  }
}

function nextTree() {
  const team = field("team").value.trim();
  record = freshRecord(team, today(), survey.units);
  fill();
  show("form");
}

/**
 * The team's name from the last time; a device that keeps nothing has none.
 * @param {string} [team]
 */
function remembered(team) {
  try {
    if (team !== undefined) localStorage.setItem("groveplat-team", team);
    return localStorage.getItem("groveplat-team");
  } catch {
    return null;
  }
}

function wire() {
  for (const name of TEXTS) {
    field(name).addEventListener("input", () => {
      /** @type {any} */ (record)[name] = field(name).value;
      if (["species", "leaf", "needles"].includes(name)) suggest();
      warn();
      void keep();
    });
  }
  field("team").value = remembered() ?? "";
  field("team").addEventListener("input", () => remembered(field("team").value));
  for (const id of ["baseline", "baseline_unit"]) field(id).addEventListener("input", drawTriangle);
  at("measure").onclick = nextTree;
  at("done").onclick = () => keep().then(list);
  at("aim").onclick = startAiming;
  at("take").onclick = takeAngle;
  at("add-typed").onclick = () => addSight(typed(field("typed_top").value), typed(field("typed_base").value));
  at("locate").onclick = place;
  field("photo").onchange = takePhoto;
  at("give").onclick = handOver;
}

async function start() {
  store = await openStore(`groveplat-outing-${survey.key}`);
  wire();
  if (!store.lasting) tell("saved", words.not_lasting);
  await list();
  if ("serviceWorker" in navigator && location.protocol.startsWith("http")) {
    navigator.serviceWorker.register("worker.js").catch(() => {});
  }
}

void start();
