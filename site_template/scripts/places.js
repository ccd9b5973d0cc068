/** Web Mercator with the whole world from 0 to 1, and what a pixel is worth on the ground. */

const EQUATOR_M = 40075016.686; // 2π × 6378137 m, the sphere of Web Mercator
const TILE = 256; // pixels of the world at zoom 0

/** @param {number} lon */
export function worldX(lon) {
  return (lon + 180) / 360;
}

/** @param {number} lat */
export function worldY(lat) {
  const sine = Math.sin((lat * Math.PI) / 180);
  return 0.5 - Math.log((1 + sine) / (1 - sine)) / (4 * Math.PI);
}

/** @param {number} zoom */
export function worldPixels(zoom) {
  return TILE * 2 ** zoom;
}

/** @param {number} lat @param {number} zoom */
export function metresPerPixel(lat, zoom) {
  return (EQUATOR_M * Math.cos((lat * Math.PI) / 180)) / worldPixels(zoom);
}
