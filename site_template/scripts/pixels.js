/** @import { View } from "./types" */
/** @import { Colours, Picture } from "./painter.js" */

/**
 * Very many trees at once: small squares written straight into the picture.
 * @param {CanvasRenderingContext2D} pen
 * @param {View} view
 * @param {Picture} picture
 * @param {Colours} colours
 */
export function paintPixels(pen, view, picture, colours) {
  const width = Math.round(view.width * view.ratio);
  const height = Math.round(view.height * view.ratio);
  const image = pen.createImageData(width, height);
  const words = new Uint32Array(image.data.buffer);
  const full = colours.species.map((colour) => pixelOf(colour, 255));
  const faint = colours.species.map((colour) => pixelOf(colour, 40));

  for (const shown of [0, 1]) {
    const palette = shown ? full : faint;
    for (const tree of picture.trees) {
      if (picture.shown[tree] !== shown) continue;
      const x = Math.round((picture.x[tree] * view.scale - view.left) * view.ratio);
      const y = Math.round((picture.y[tree] * view.scale - view.top) * view.ratio);
      const side = picture.radius[tree] > 2 ? 3 : 2;
      square(words, width, height, [x, y, side], palette[picture.colour[tree]]);
    }
  }
  pen.putImageData(image, 0, 0);
}

/**
 * @param {Uint32Array} words
 * @param {number} width
 * @param {number} height
 * @param {[number, number, number]} place left, top, side
 * @param {number} pixel
 */
function square(words, width, height, [left, top, side], pixel) {
  const right = Math.min(left + side, width);
  const bottom = Math.min(top + side, height);
  for (let y = Math.max(top, 0); y < bottom; y++) {
    for (let x = Math.max(left, 0); x < right; x++) words[y * width + x] = pixel;
  }
}

/**
 * The bytes of a CSS colour, whatever way it is written.
 * @param {string} colour @param {number} alpha
 */
function pixelOf(colour, alpha) {
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = 1;
  const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  pen.fillStyle = colour;
  pen.fillRect(0, 0, 1, 1);
  const bytes = pen.getImageData(0, 0, 1, 1).data;
  bytes[3] = alpha;
  return new Uint32Array(bytes.buffer)[0];
}
