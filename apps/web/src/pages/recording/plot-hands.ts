import type { Desk } from './desk.js';
import { AXIS_PX } from './lane-draw.js';
import { between, lengthOf, moved, type Span, zoomed } from './time-span.js';

/** A wheel's notch makes the view this much longer or shorter; touchpads send small parts of one. */
const WHEEL_NOTCH_PX = 100;
const ZOOM_A_NOTCH = 1.25;
/** A press that moved less is a click. */
const CLICK_PX = 4;

interface Press {
  id: number;
  startX: number;
  x: number;
  view: Span;
  choosing: boolean;
  dragged: boolean;
}

/**
 * Mouse, pen and fingers on the plots: wheel zooms at the pointer, with Shift it pans; dragging pans; a click sets the
 * cursor; dragging on the clock or with Shift chooses a span; two fingers zoom. Up and down still scrolls the page by finger.
 */
export class PlotHands {
  private readonly presses = new Map<number, Press>();

  /** Left edge of the plots in the window, as of the newest event on one of them. */
  private plotLeft = 0;

  constructor(private readonly desk: Desk) {}

  readonly wheel = (event: WheelEvent): void => {
    if (!plotOf(event)) return;
    event.preventDefault();
    const { model } = this.desk;
    const sideways = event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY);
    const unit = event.deltaMode === WheelEvent.DOM_DELTA_PIXEL ? 1 : WHEEL_NOTCH_PX / 3;
    const notches = ((sideways && event.deltaX !== 0 ? event.deltaX : event.deltaY) * unit) / WHEEL_NOTCH_PX;
    if (sideways) model.pan(notches / 10);
    else model.zoom(ZOOM_A_NOTCH ** notches, this.msAt(event));
  };

  readonly down = (event: PointerEvent): void => {
    const plot = plotOf(event);
    if (!plot || event.button !== 0) return;
    plot.setPointerCapture(event.pointerId);
    const { model } = this.desk;
    const choosing = event.shiftKey || plot.classList.contains('time-axis');
    const common = { startX: event.clientX, x: event.clientX, view: model.view.peek() };
    this.presses.set(event.pointerId, { id: event.pointerId, ...common, choosing, dragged: false });
    this.plotLeft = plot.getBoundingClientRect().left + AXIS_PX;
    this.startAnew();
  };

  readonly move = (event: PointerEvent): void => {
    const press = this.presses.get(event.pointerId);
    if (!press) return;
    press.x = event.clientX;
    press.dragged ||= Math.abs(press.x - press.startX) >= CLICK_PX;
    if (!press.dragged) return;
    const [one, other] = [...this.presses.values()];
    if (one && other) this.pinch(one, other);
    else if (press.choosing) this.choose(press, event);
    else this.drag(press);
  };

  private drag(press: Press): void {
    const { model } = this.desk;
    const byMs = ((press.startX - press.x) / this.width()) * lengthOf(press.view);
    model.view.value = moved(press.view, model.whole, byMs);
  }

  readonly up = (event: PointerEvent): void => {
    const press = this.presses.get(event.pointerId);
    this.presses.delete(event.pointerId);
    this.startAnew();
    if (!press || press.dragged || event.type === 'pointercancel') return;
    this.desk.model.goTo(this.msAt(event));
  };

  /** A second finger, or one less, begins another movement where the last one came to. */
  private startAnew(): void {
    const view = this.desk.model.view.peek();
    for (const press of this.presses.values()) Object.assign(press, { startX: press.x, view });
  }

  private choose(press: Press, event: PointerEvent): void {
    const { model } = this.desk;
    const startMs = this.msAt(event, press.startX);
    model.choose(between(startMs, this.msAt(event), model.whole));
  }

  private pinch(one: Press, other: Press): void {
    const { model } = this.desk;
    const before = Math.max(10, Math.abs(one.startX - other.startX));
    const now = Math.max(10, Math.abs(one.x - other.x));
    const middleMs =
      one.view.fromMs + (((one.startX + other.startX) / 2 - this.plotLeft) / this.width()) * lengthOf(one.view);
    model.view.value = zoomed(one.view, model.whole, before / now, middleMs);
  }

  private msAt(event: MouseEvent, clientX = event.clientX): number {
    const plot = plotOf(event);
    if (plot) this.plotLeft = plot.getBoundingClientRect().left + AXIS_PX;
    const { model } = this.desk;
    const view = model.view.peek();
    const share = (clientX - this.plotLeft) / this.width();
    return between(view.fromMs + share * lengthOf(view), view.toMs, model.whole).fromMs;
  }

  private width(): number {
    return Math.max(1, this.desk.model.widthPx.peek());
  }
}

const plotOf = (event: Event): HTMLElement | null =>
  event.target instanceof HTMLElement ? event.target.closest<HTMLElement>('.lane-plot, .time-axis') : null;
