import { effect } from '@preact/signals';
import { useEffect, useMemo, useRef } from 'preact/hooks';
import { ProblemNotice } from '../../kit/notice.js';
import { t } from '../../text/text.js';
import type { Desk } from './desk.js';
import { Lane } from './lane.js';
import { AXIS_PX, pxOf, RIGHT_PX } from './lane-draw.js';
import { PlotHands } from './plot-hands.js';
import { onPlotKey } from './plot-keys.js';
import { cursorWords, TimeAxis } from './time-axis.js';
import { holds } from './time-span.js';
import { WholeStrip } from './whole-strip.js';

/** The stack of lanes under one clock, with the cursor across all of them. */
export function Plots({ desk }: { desk: Desk }) {
  const { model, recording } = desk;
  const stack = useRef<HTMLElement>(null);
  const clock = useRef<HTMLDivElement>(null);
  const hands = useMemo(() => new PlotHands(desk), [desk]);
  usePlotWidth(desk, clock);
  useEffect(() => {
    const element = stack.current;
    element?.addEventListener('wheel', hands.wheel, { passive: false });
    return () => element?.removeEventListener('wheel', hands.wheel);
  }, [hands]);
  const lanes = model.shown.value.flatMap((name) => recording.signals.find(({ signal }) => signal === name) ?? []);
  const problem = model.source.problem.value;
  return (
    <section
      ref={stack}
      class="plots card"
      aria-label={t.recording.plots}
      onKeyDown={(event) => onPlotKey(desk, event)}
      onPointerDown={(event) => {
        hands.down(event);
        if (!(event.target instanceof Element) || !event.target.closest('canvas')) return;
        // Keys belong to the plots once they have been touched.
        clock.current?.focus({ preventScroll: true });
      }}
      onPointerMove={hands.move}
      onPointerUp={hands.up}
      onPointerCancel={hands.up}
    >
      {problem && <ProblemNotice problem={problem} what={t.recording.what} onRetry={() => model.source.retry()} />}
      <div class="lane-row strip-row">
        <span class="lane-side quiet">{t.recording.wholeRecording}</span>
        <WholeStrip desk={desk} />
      </div>
      <div class="lane-row clock-row">
        <span class="lane-side quiet">{t.recording.clockOf(recording.timeZone)}</span>
        <Clock desk={desk} box={clock} />
      </div>
      {lanes.map((figures, index) => (
        <Lane key={figures.signal} desk={desk} figures={figures} index={index} />
      ))}
      {lanes.length === 0 && <p class="quiet pad">{t.recording.noLanes}</p>}
      <CursorLine desk={desk} stack={stack} />
    </section>
  );
}

/** The clock is also the handle of the cursor for the keyboard. */
function Clock({ desk, box }: { desk: Desk; box: { current: HTMLDivElement | null } }) {
  const { model } = desk;
  return (
    <div
      ref={box}
      class="clock"
      role="slider"
      tabIndex={0}
      aria-label={t.recording.cursor}
      aria-valuemin={0}
      aria-valuemax={Math.round(model.whole.toMs - model.whole.fromMs)}
      aria-valuenow={Math.round(model.readMs.value - model.whole.fromMs)}
      aria-valuetext={cursorWords(desk, model.readMs.value)}
    >
      <TimeAxis desk={desk} />
    </div>
  );
}

/** Moved by its style alone: nothing is drawn anew while a replay runs within the view. */
function CursorLine({ desk, stack }: { desk: Desk; stack: { current: HTMLElement | null } }) {
  const line = useRef<HTMLDivElement>(null);
  const { model, frames } = desk;
  useEffect(() => {
    let measured = { widthPx: -1, left: 0, top: 0 };
    const place = () => {
      const element = line.current;
      const plot = stack.current?.querySelector<HTMLElement>('.time-axis');
      if (!element || !plot || !stack.current) return;
      const widthPx = model.widthPx.peek();
      // Measured only when the layout changed: asking for it in every frame would make the browser lay out every frame.
      if (measured.widthPx !== widthPx) {
        const inside = stack.current.getBoundingClientRect();
        const left = plot.getBoundingClientRect().left - inside.left - stack.current.clientLeft + AXIS_PX;
        // From the clock down: the strip above it has a scale of its own.
        measured = { widthPx, left, top: stack.current.querySelector<HTMLElement>('.clock-row')?.offsetTop ?? 0 };
      }
      const cursorMs = model.cursorMs.peek();
      const view = model.view.peek();
      element.hidden = !holds(view, cursorMs);
      element.style.top = `${measured.top}px`;
      element.style.transform = `translateX(${measured.left + pxOf(view, widthPx, cursorMs)}px)`;
    };
    const stop = effect(() => {
      // Read so that the line follows them.
      model.cursorMs.value;
      model.view.value;
      model.widthPx.value;
      model.shown.value;
      frames.request(place);
    });
    return () => {
      stop();
      frames.forget(place);
    };
  }, [desk]);
  return <div ref={line} class="cursor-line" aria-hidden="true" />;
}

function usePlotWidth({ model }: Desk, clock: { current: HTMLDivElement | null }): void {
  useEffect(() => {
    const element = clock.current;
    if (!element) return;
    const measure = () => {
      model.widthPx.value = Math.max(60, element.clientWidth - AXIS_PX - RIGHT_PX);
    };
    measure();
    const observer = new ResizeObserver(measure);
    observer.observe(element);
    return () => observer.disconnect();
  }, [model]);
}
