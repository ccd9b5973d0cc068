/** All records as one zip file: the tables first, so that a file cut short loses photos first. */

import { zipSync } from "fflate";
import { photoName, recordsTable, sightsTable } from "./record.js";

/**
 * @param {import("./record.js").Rec[]} records
 * @returns {Promise<Uint8Array<ArrayBuffer>>}
 */
export async function packed(records) {
  const text = new TextEncoder();
  /** @type {Record<string, Uint8Array>} */
  const files = { "outing-records.csv": text.encode(recordsTable(records)) };
  const sights = sightsTable(records);
  if (sights) files["outing-heights.csv"] = text.encode(sights);
  for (const record of records) {
    if (record.photo) files[photoName(record)] = new Uint8Array(await record.photo.arrayBuffer());
  }
  // Stored as they are: a reader can take whole files out of an archive that lost its end.
  return /** @type {Uint8Array<ArrayBuffer>} */ (zipSync(files, { level: 0, mtime: "2020-01-01T12:00:00" }));
}

/** @param {string} team @param {string} day */
export function fileName(team, day) {
  const plain = team.normalize("NFKD").replace(/[^A-Za-z0-9]+/g, "-").replace(/^-|-$/g, "");
  return `outing-${day}-${plain || "team"}.zip`;
}

/** @param {Uint8Array<ArrayBuffer>} bytes @param {string} name */
export async function give(bytes, name) {
  const file = new File([bytes], name, { type: "application/zip" });
  if (navigator.canShare?.({ files: [file] })) return navigator.share({ files: [file] });
  const link = document.createElement("a");
  link.href = URL.createObjectURL(file);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
