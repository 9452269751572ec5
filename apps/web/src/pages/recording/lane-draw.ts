import { type CanvasLook, FONT } from './canvas-look.js';
import { type LaneImage, paintBars, wordOf } from './lane-image.js';
import { digitsFor, type Range, valueTicks } from './lane-scale.js';
import type { PixelColumns } from './pixel-columns.js';
import type { Span } from './time-span.js';

/** Room for the values of the axis, left of every lane's plot, and what stays free at its right [px]. */
export const AXIS_PX = 50;
export const RIGHT_PX = 10;

export interface LaneInput {
  context: CanvasRenderingContext2D;
  look: CanvasLook;
  /** Plot without axis [px]. */
  widthPx: number;
  heightPx: number;
  columns: PixelColumns;
  /** Kept from frame to frame. */
  image: LaneImage;
  colour: string;
  /** In the unit that is shown. */
  range: Range;
  /** Canonical value -> shown unit. */
  scale: number;
  offset: number;
  /** Instants of the grid [px from the left edge of the plot]. */
  gridPx: readonly number[];
  stages: readonly { label: string; value: number; colour: string }[];
  /** Episodes of this signal and the chosen span [px]. */
  bands: readonly { fromPx: number; toPx: number; colour: string }[];
  locale: string;
}

const LINE_PX = 1.5;
const LABEL_PX = 13;
const ALONE_PX = 3;
/** Rows that far apart are shown as points on the line. */
const SPARSE_PX = 7;

export function drawLane(input: LaneInput): void {
  const { context, widthPx, heightPx, image, columns, colour } = input;
  const ratio = context.getTransform().a;
  const line = Math.max(1, Math.round(LINE_PX * ratio));
  image.begin(Math.round(widthPx * ratio), Math.round(heightPx * ratio));
  paintBars(image, columns, {
    ...{ ratio, line, yOf: (value) => yOf(input, value) * ratio },
    ...{ word: wordOf(colour), paleWord: wordOf(colour, 0.3) },
  });
  context.clearRect(0, 0, AXIS_PX + widthPx + RIGHT_PX, heightPx);
  image.put(context, Math.round(AXIS_PX * ratio), 0);
  context.save();
  context.translate(AXIS_PX, 0);
  // Behind the bars, the nearest first.
  context.globalCompositeOperation = 'destination-over';
  drawBands(input);
  drawAxis(input);
  context.globalCompositeOperation = 'source-over';
  context.beginPath();
  context.rect(0, 0, widthPx, heightPx);
  context.clip();
  drawStages(input);
  drawLines(input);
  context.restore();
}

const yOf = ({ range, heightPx, scale, offset }: LaneInput, value: number): number =>
  heightPx - ((value * scale + offset - range.low) / (range.high - range.low)) * heightPx;

function drawAxis({ context, look, widthPx, heightPx, range, gridPx, locale }: LaneInput): void {
  const digits = digitsFor(range);
  context.font = FONT;
  context.textAlign = 'right';
  context.textBaseline = 'middle';
  context.fillStyle = look.grid;
  for (const x of gridPx) context.fillRect(Math.round(x), 0, 1, heightPx);
  for (const value of valueTicks(range, Math.max(2, heightPx / 24))) {
    const y = Math.round(heightPx - ((value - range.low) / (range.high - range.low)) * heightPx);
    context.fillStyle = look.grid;
    context.fillRect(0, y, widthPx, 1);
    if (y < 6 || y > heightPx - 6) continue;
    context.fillStyle = look.quiet;
    context.fillText(tickText(value, digits, locale), -7, y);
  }
}

/** Made once for each number of digits: making one takes longer than drawing a lane. */
const formats = new Map<string, Intl.NumberFormat>();

/** Ticks are round: digits that are all zero say nothing. */
function tickText(value: number, digits: number, locale: string): string {
  const key = `${locale} ${digits}`;
  const format = formats.get(key) ?? new Intl.NumberFormat(locale, { maximumFractionDigits: digits });
  formats.set(key, format);
  return format.format(value);
}

function drawBands({ context, heightPx, bands }: LaneInput): void {
  context.globalAlpha = 0.16;
  for (const { fromPx, toPx, colour } of bands) {
    context.fillStyle = colour;
    context.fillRect(fromPx, 0, Math.max(2, toPx - fromPx), heightPx);
  }
  context.globalAlpha = 1;
}

/** Limits of the stages as dashed lines, named at the left, where a drive begins cold. */
function drawStages(input: LaneInput): void {
  const { context, look, widthPx, heightPx, stages } = input;
  context.textAlign = 'left';
  context.textBaseline = 'middle';
  let labelY = Number.NEGATIVE_INFINITY;
  // Highest first: where limits lie too close for a name each, the highest keeps its own.
  for (const { label, value, colour } of [...stages].sort((a, b) => b.value - a.value)) {
    const y = Math.round(yOf(input, value)) + 0.5;
    if (y < 0 || y > heightPx) continue;
    context.strokeStyle = colour;
    context.setLineDash([6, 4]);
    context.lineWidth = 1;
    context.beginPath();
    context.moveTo(0, y);
    context.lineTo(widthPx, y);
    context.stroke();
    const textY = Math.min(heightPx - LABEL_PX / 2, Math.max(LABEL_PX / 2, y));
    if (textY - labelY < LABEL_PX) continue;
    labelY = textY;
    context.fillStyle = look.surface;
    context.fillRect(3, textY - LABEL_PX / 2, context.measureText(label).width + 6, LABEL_PX);
    context.fillStyle = colour;
    context.fillText(label, 6, textY);
  }
  context.setLineDash([]);
}

/** Lines between columns that stand apart, and points where a row stands alone or far from its neighbours. */
function drawLines(input: LaneInput): void {
  const { context, columns, colour, widthPx } = input;
  context.fillStyle = context.strokeStyle = colour;
  context.lineWidth = LINE_PX;
  context.lineJoin = 'round';
  context.beginPath();
  for (let index = 0; index < columns.length; index++) {
    const left = columns.left[index]!;
    const joined = index > 0 && columns.breakBefore[index] === 0;
    const run = joined ? left - columns.right[index - 1]! : Infinity;
    if (joined && run > LINE_PX) {
      context.moveTo(columns.right[index - 1]!, yOf(input, columns.last[index - 1]!));
      context.lineTo(left, yOf(input, columns.first[index]!));
    }
    if (left < -ALONE_PX || left > widthPx + ALONE_PX) continue;
    const broken = index + 1 >= columns.length || columns.breakBefore[index + 1] === 1;
    if (run > SPARSE_PX && (joined || broken))
      context.fillRect(left - ALONE_PX / 2, yOf(input, columns.last[index]!) - ALONE_PX / 2, ALONE_PX, ALONE_PX);
  }
  context.stroke();
}

/** Instants of a span on the plot [px]. */
export const pxOf = (view: Span, widthPx: number, atMs: number): number =>
  ((atMs - view.fromMs) / Math.max(1e-9, view.toMs - view.fromMs)) * widthPx;
