import { type CanvasLook, FONT } from './canvas-look.js';
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
const ALONE_PX = 3;
/** Rows that far apart are shown as points on the line. */
const SPARSE_PX = 7;

export function drawLane(input: LaneInput): void {
  const { context, widthPx, heightPx } = input;
  context.clearRect(0, 0, AXIS_PX + widthPx + RIGHT_PX, heightPx);
  context.save();
  context.translate(AXIS_PX, 0);
  drawAxis(input);
  context.beginPath();
  context.rect(0, 0, widthPx, heightPx);
  context.clip();
  drawBands(input);
  drawStages(input);
  drawColumns(input);
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
  for (const value of valueTicks(range, Math.max(2, heightPx / 34))) {
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

/** Limits of the stages as dashed lines, named at the right edge. */
function drawStages(input: LaneInput): void {
  const { context, widthPx, heightPx, stages } = input;
  context.textAlign = 'right';
  context.textBaseline = 'bottom';
  for (const { label, value, colour } of stages) {
    const y = Math.round(yOf(input, value)) + 0.5;
    if (y < 0 || y > heightPx) continue;
    context.strokeStyle = context.fillStyle = colour;
    context.setLineDash([6, 4]);
    context.lineWidth = 1;
    context.beginPath();
    context.moveTo(0, y);
    context.lineTo(widthPx, y);
    context.stroke();
    if (y > 12) context.fillText(label, widthPx - 4, y - 1);
  }
  context.setLineDash([]);
}

/**
 * Columns as upright bars from lowest to highest, each reaching to where the one before it ended, so that a steep line is
 * whole and a single sample is as dark as any other. Between columns further apart a line; over columns that are still
 * coarse a pale block.
 */
function drawColumns(input: LaneInput): void {
  const { context, columns, colour, widthPx } = input;
  context.fillStyle = context.strokeStyle = colour;
  context.lineWidth = LINE_PX;
  context.lineJoin = 'round';
  context.beginPath();
  for (let index = 0; index < columns.length; index++) {
    const left = columns.left[index]!;
    if (columns.right[index]! < -widthPx || left > widthPx * 2) continue;
    const joined = index > 0 && columns.breakBefore[index] === 0;
    const run = joined ? left - columns.right[index - 1]! : Infinity;
    if (columns.coarse[index] === 1) drawCoarse(input, index);
    else drawBar(input, index, run <= LINE_PX);
    if (joined && run > LINE_PX) {
      context.moveTo(columns.right[index - 1]!, yOf(input, columns.last[index - 1]!));
      context.lineTo(left, yOf(input, columns.first[index]!));
    }
    const broken = index + 1 >= columns.length || columns.breakBefore[index + 1] === 1;
    if ((!joined && broken) || (joined && run > SPARSE_PX)) {
      const size = ALONE_PX;
      context.fillRect(left - size / 2, yOf(input, columns.last[index]!) - size / 2, size, size);
    }
  }
  context.stroke();
}

function drawBar(input: LaneInput, index: number, touches: boolean): void {
  const { context, columns } = input;
  let low = columns.min[index]!;
  let high = columns.max[index]!;
  if (touches) {
    low = Math.min(low, columns.last[index - 1]!);
    high = Math.max(high, columns.last[index - 1]!);
  }
  const top = yOf(input, high);
  const height = yOf(input, low) - top;
  const width = Math.max(LINE_PX, columns.right[index]! - columns.left[index]!);
  // Half a line beyond both ends: a flat stretch is as thick as a line.
  context.fillRect(columns.left[index]!, top - LINE_PX / 2, width, height + LINE_PX);
}

function drawCoarse(input: LaneInput, index: number): void {
  const { context, columns } = input;
  const left = columns.left[index]!;
  const width = columns.right[index]! - left;
  const top = yOf(input, columns.max[index]!);
  const height = yOf(input, columns.min[index]!) - top;
  context.globalAlpha = 0.3;
  context.fillRect(left, top - LINE_PX / 2, width, height + LINE_PX);
  context.globalAlpha = 1;
  // Where within the column the peak stood is not known yet, but that it was there is drawn in full.
  context.fillRect(left, top - LINE_PX / 2, width, LINE_PX);
  context.fillRect(left, top + height - LINE_PX / 2, width, LINE_PX);
}

/** Instants of a span on the plot [px]. */
export const pxOf = (view: Span, widthPx: number, atMs: number): number =>
  ((atMs - view.fromMs) / Math.max(1e-9, view.toMs - view.fromMs)) * widthPx;
