import { useRef } from 'preact/hooks';
import { t } from '../../text/text.js';
import { spanOf } from './address-view.js';
import { canvasLook } from './canvas-look.js';
import type { Desk } from './desk.js';
import { sized } from './frame-draw.js';
import { AXIS_PX, pxOf, RIGHT_PX } from './lane-draw.js';
import { around, lengthOf } from './time-span.js';
import { useDrawing } from './use-drawing.js';

const HEIGHT_PX = 30;
const LEAST_PX = 2;

/** The whole recording in one line: drives, episodes, markers, and the window that the lanes show. Dragging moves it. */
export function WholeStrip({ desk }: { desk: Desk }) {
  const { model, frames } = desk;
  const held = useRef(false);
  const canvas = useDrawing(
    frames,
    () => ({
      ...{ view: model.view.value, widthPx: model.widthPx.value, look: canvasLook.value },
      ...{ markers: desk.markers.value, cursorMs: model.readMs.value },
    }),
    (element, { view, widthPx, look, markers, cursorMs }) => {
      if (widthPx <= 0) return;
      const context = sized(element, AXIS_PX + widthPx + RIGHT_PX, HEIGHT_PX);
      context.clearRect(0, 0, AXIS_PX + widthPx + RIGHT_PX, HEIGHT_PX);
      context.save();
      context.translate(AXIS_PX, 0);
      const x = (ms: number) => pxOf(model.whole, widthPx, ms);
      const bar = (fromMs: number, toMs: number, y: number, height: number) =>
        context.fillRect(x(fromMs), y, Math.max(LEAST_PX, x(toMs) - x(fromMs)), height);
      context.fillStyle = look.grid;
      bar(model.whole.fromMs, model.whole.toMs, 13, 4);
      context.fillStyle = look.quiet;
      for (const drive of desk.recording.drives) bar(spanOf(drive).fromMs, spanOf(drive).toMs, 11, 8);
      for (const episode of desk.episodes) {
        context.fillStyle = look.stages[episode.stage] ?? look.quiet;
        bar(spanOf(episode).fromMs, spanOf(episode).toMs, 21, 7);
      }
      context.fillStyle = look.mark;
      for (const { at } of markers) bar(Date.parse(at), Date.parse(at), 2, 7);
      context.strokeStyle = look.ink;
      context.lineWidth = 2;
      context.strokeRect(x(view.fromMs), 1, Math.max(3, x(view.toMs) - x(view.fromMs)), HEIGHT_PX - 2);
      context.fillStyle = look.ink;
      context.fillRect(Math.round(x(cursorMs)), 0, 1, HEIGHT_PX);
      context.restore();
    },
  );
  const move = (event: PointerEvent) => {
    const element = canvas.current;
    if (!element || !held.current) return;
    const share = (event.clientX - element.getBoundingClientRect().left - AXIS_PX) / Math.max(1, model.widthPx.peek());
    const atMs = model.whole.fromMs + share * lengthOf(model.whole);
    model.view.value = around(atMs, lengthOf(model.view.peek()), model.whole);
  };
  return (
    <canvas
      ref={canvas}
      class="whole-strip"
      style={{ height: `${HEIGHT_PX}px` }}
      title={t.recording.stripHint}
      role="img"
      aria-label={t.recording.stripHint}
      onPointerDown={(event) => {
        held.current = true;
        event.currentTarget.setPointerCapture(event.pointerId);
        move(event);
      }}
      onPointerMove={move}
      onPointerUp={() => {
        held.current = false;
      }}
      onPointerCancel={() => {
        held.current = false;
      }}
    />
  );
}
