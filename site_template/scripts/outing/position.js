/** A place from many readings of the phone's own position. */

/** @typedef {{ lat: number, lon: number, accuracy_m: number }} Fix */

/**
 * The mean weighted by 1 / accuracy²; as sure as the middle reading, and no surer: readings of one
 * receiver minutes apart miss in the same direction.
 * @param {Fix[]} fixes
 */
export function together(fixes) {
  let lat = 0, lon = 0, weights = 0;
  for (const fix of fixes) {
    const weight = 1 / Math.max(fix.accuracy_m, 1) ** 2;
    [lat, lon, weights] = [lat + fix.lat * weight, lon + fix.lon * weight, weights + weight];
  }
  const sorted = fixes.map((fix) => fix.accuracy_m).sort((a, b) => a - b);
  return {
    lat: round(lat / weights, 7),
    lon: round(lon / weights, 7),
    accuracy_m: round(sorted[Math.floor(sorted.length / 2)], 1),
  };
}

/** @param {number} value @param {number} digits */
const round = (value, digits) => Number(value.toFixed(digits));
