/** The height of a tree from a distance and two angles, as mapper/metrics/height.py has it. */

/** @typedef {{ baseline_m: number, top_deg: number, base_deg: number }} Sighting */

/** @param {number} degrees */
const tan = (degrees) => Math.tan((degrees * Math.PI) / 180);

/**
 * distance × (tan(top) − tan(base)); NaN where these describe no upright tree.
 * @param {Sighting} sighting
 */
export function heightOf({ baseline_m, top_deg, base_deg }) {
  const upright = -90 < base_deg && base_deg < top_deg && top_deg < 90;
  return baseline_m > 0 && upright ? baseline_m * (tan(top_deg) - tan(base_deg)) : NaN;
}

/**
 * The middle of several heights and how far apart they lie, in metres.
 * @param {Sighting[]} sightings
 */
export function heightsTogether(sightings) {
  const heights = sightings.map(heightOf).filter((height) => height > 0);
  const sorted = heights.sort((a, b) => a - b);
  const half = Math.floor(sorted.length / 2);
  const middle = sorted.length % 2 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
  return { count: sorted.length, middle, apart: sorted[sorted.length - 1] - sorted[0] };
}

/**
 * How far above the horizon the camera on a phone's back looks, from the device's orientation.
 *
 * The camera looks along the device's −z. Turned by beta about x and gamma about y (W3C, Device
 * Orientation and Motion), that axis rises by −cos(beta) cos(gamma): alpha turns about the upright.
 * @param {number} beta @param {number} gamma
 */
export function cameraElevation(beta, gamma) {
  const rad = Math.PI / 180;
  const rise = -Math.cos(beta * rad) * Math.cos(gamma * rad);
  return (Math.asin(Math.max(-1, Math.min(1, rise))) * 180) / Math.PI;
}

/**
 * The middle of the last readings: a hand trembles, its middle does not.
 * @param {number[]} readings
 */
export function steady(readings) {
  const sorted = [...readings].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)] ?? NaN;
}

/**
 * Corners of the sighting triangle in a drawing of the given size: eye, foot, tip, and level.
 * Horizontal and vertical metres are drawn alike.
 * @param {Sighting} sighting @param {number} width @param {number} height
 */
export function triangle({ baseline_m, top_deg, base_deg }, width, height) {
  const up = baseline_m * tan(Math.min(top_deg, 80));
  const down = baseline_m * tan(Math.max(Math.min(base_deg, 0), -80));
  const above = Math.max(up, 0);
  const scale = Math.min((width - 50) / baseline_m, (height - 20) / Math.max(above - down, 0.1));
  const level = 10 + above * scale;
  const stem = 20 + baseline_m * scale;
  return {
    eye: [20, level],
    foot: [stem, level - baseline_m * tan(Math.max(base_deg, -80)) * scale],
    tip: [stem, level - up * scale],
    level: [stem, level],
  };
}
