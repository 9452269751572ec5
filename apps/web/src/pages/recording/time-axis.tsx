import { t } from '../../text/text.js';
import { type CanvasLook, canvasLook, FONT } from './canvas-look.js';
import type { Desk } from './desk.js';
import { sized } from './frame-draw.js';
import { TICKS_APART_PX } from './lane.js';
import { AXIS_PX, pxOf, RIGHT_PX } from './lane-draw.js';
import type { Span } from './time-span.js';
import { useDrawing } from './use-drawing.js';
import { timeTicks, type ZoneTime } from './zone-time.js';

export const AXIS_HEIGHT_PX = 44;
const FLAG_Y = 9;
const TICK_Y = 31;

/** Clock of the depot above the lanes, with a flag for every marker. Dragging along it chooses a span. */
export function TimeAxis({ desk }: { desk: Desk }) {
  const { model, zone, frames } = desk;
  const canvas = useDrawing(
    frames,
    () => ({
      ...{ view: model.view.value, widthPx: model.widthPx.value, look: canvasLook.value },
      ...{ markers: desk.markers.value, chosen: model.chosen.value },
    }),
    (element, { view, widthPx, look, markers, chosen }) => {
      if (widthPx <= 0) return;
      const context = sized(element, AXIS_PX + widthPx + RIGHT_PX, AXIS_HEIGHT_PX);
      context.clearRect(0, 0, AXIS_PX + widthPx + RIGHT_PX, AXIS_HEIGHT_PX);
      context.save();
      context.translate(AXIS_PX, 0);
      if (chosen)
        drawChosen(context, look, [pxOf(view, widthPx, chosen.fromMs), pxOf(view, widthPx, chosen.toMs)], widthPx);
      drawTicks(context, look, { view, widthPx, zone });
      for (const { at, id } of markers) {
        const x = pxOf(view, widthPx, Date.parse(at));
        if (x >= -1 && x <= widthPx + 1) drawFlag(context, look, x, id === null);
      }
      context.restore();
    },
  );
  return <canvas ref={canvas} class="time-axis" style={{ height: `${AXIS_HEIGHT_PX}px` }} />;
}

function drawTicks(
  context: CanvasRenderingContext2D,
  look: CanvasLook,
  { view, widthPx, zone }: { view: Span; widthPx: number; zone: ZoneTime },
): void {
  const { stepMs, atMs } = timeTicks(view, widthPx, zone, TICKS_APART_PX);
  context.font = FONT;
  context.textAlign = 'center';
  context.textBaseline = 'middle';
  for (const ms of atMs) {
    const x = Math.round(pxOf(view, widthPx, ms));
    context.fillStyle = look.quiet;
    context.fillRect(x, AXIS_HEIGHT_PX - 5, 1, 5);
    const clock = zone.clock(ms, stepMs);
    context.fillStyle = look.ink;
    // Midnight is said as the day that begins.
    if (x > 18 && x < widthPx - 18) context.fillText(clock === '00:00' ? zone.date(ms) : clock, x, TICK_Y);
  }
}

function drawChosen(
  context: CanvasRenderingContext2D,
  look: CanvasLook,
  ends: [number, number],
  widthPx: number,
): void {
  const [from, to] = ends.map((x) => Math.min(widthPx, Math.max(0, x))) as [number, number];
  context.fillStyle = look.mark;
  context.globalAlpha = 0.25;
  context.fillRect(from, 0, Math.max(2, to - from), AXIS_HEIGHT_PX);
  context.globalAlpha = 1;
}

/** Filled: the recorder wrote it; open: a person added it. */
function drawFlag(context: CanvasRenderingContext2D, look: CanvasLook, x: number, recorded: boolean): void {
  context.beginPath();
  context.moveTo(x, FLAG_Y - 7);
  context.lineTo(x + 6, FLAG_Y - 1);
  context.lineTo(x, FLAG_Y + 5);
  context.lineTo(x - 6, FLAG_Y - 1);
  context.closePath();
  context.fillStyle = recorded ? look.mark : look.surface;
  context.strokeStyle = look.mark;
  context.lineWidth = 2;
  context.fill();
  context.stroke();
  context.globalAlpha = 0.6;
  context.fillStyle = look.mark;
  context.fillRect(Math.round(x), FLAG_Y + 5, 1, AXIS_HEIGHT_PX);
  context.globalAlpha = 1;
}

/** The cursor in words, for those who hear it. */
export const cursorWords = (desk: Desk, ms: number): string => t.recording.cursorAt(desk.zone.full(ms));
