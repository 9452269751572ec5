import type { PixelColumns } from './pixel-columns.js';

/**
 * Bars of a lane, written straight into pixels: hundreds of small rectangles through the canvas take three times as long.
 * Pixels of the screen, not of the page.
 */
export class LaneImage {
  private image: ImageData | null = null;
  private words = new Uint32Array(0);

  /** An empty picture of this size [px of the screen]. */
  begin(width: number, height: number): void {
    if (this.image?.width !== width || this.image.height !== height) {
      this.image = new ImageData(Math.max(1, width), Math.max(1, height));
      // ImageData holds red, green, blue, alpha as bytes; written as one word each, lowest byte first on every
      // processor that runs a browser.
      this.words = new Uint32Array(this.image.data.buffer);
    } else this.words.fill(0);
  }

  /** Both ends included; what lies outside the picture is left out. */
  fill(left: number, right: number, top: number, bottom: number, word: number): void {
    const { width, height } = this.image!;
    const fromX = Math.max(0, left);
    const toX = Math.min(width - 1, right);
    const toY = Math.min(height - 1, bottom);
    for (let y = Math.max(0, top); y <= toY; y++) {
      const row = y * width;
      for (let x = fromX; x <= toX; x++) this.words[row + x] = word;
    }
  }

  /** Puts the picture onto the canvas; what stood there is gone. */
  put(context: CanvasRenderingContext2D, x: number, y: number): void {
    context.putImageData(this.image!, x, y);
  }
}

export interface BarScale {
  /** Pixels of the screen in one of the page. */
  ratio: number;
  /** Thickness of a line [px of the screen]. */
  line: number;
  /** Value in the catalogue's unit -> px of the screen from the top. */
  yOf: (value: number) => number;
  word: number;
  paleWord: number;
}

/**
 * Columns as upright bars from lowest to highest, each reaching to where the one before it ended, so that a steep line is
 * whole and a single sample is as dark as any other. Columns that are still coarse are pale with firm edges: where in them
 * the peak stood is not known yet, but that it was there is.
 */
export function paintBars(image: LaneImage, columns: PixelColumns, scale: BarScale): void {
  const { ratio, line, yOf, word, paleWord } = scale;
  const half = Math.floor(line / 2);
  for (let index = 0; index < columns.length; index++) {
    const left = Math.floor(columns.left[index]! * ratio);
    const right = Math.max(left + line - 1, Math.ceil(columns.right[index]! * ratio) - 1);
    let low = columns.min[index]!;
    let high = columns.max[index]!;
    const touches = index > 0 && columns.breakBefore[index] === 0 && left - columns.right[index - 1]! * ratio <= line;
    if (touches) {
      low = Math.min(low, columns.last[index - 1]!);
      high = Math.max(high, columns.last[index - 1]!);
    }
    const top = Math.round(yOf(high)) - half;
    const bottom = Math.round(yOf(low)) - half + line - 1;
    if (columns.coarse[index] === 0) image.fill(left, right, top, bottom, word);
    else {
      image.fill(left, right, top, bottom, paleWord);
      image.fill(left, right, top, top + line - 1, word);
      image.fill(left, right, bottom - line + 1, bottom, word);
    }
  }
}

/** A colour as the styles answer it, `rgb(0, 114, 178)`, as a word of an image. */
export function wordOf(colour: string, alpha = 1): number {
  const [red = 0, green = 0, blue = 0] = (colour.match(/[\d.]+/g) ?? []).map(Number);
  return ((Math.round(alpha * 255) << 24) | (blue << 16) | (green << 8) | red) >>> 0;
}
