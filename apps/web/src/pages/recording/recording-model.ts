import { batch, computed, signal } from '@preact/signals';
import type { Recording } from '@tallybay/contracts';
import type { LinkedView } from './address-view.js';
import { afterGap, nextRow } from './cursor-rows.js';
import { advanced, nextOf } from './replay.js';
import { around, between, holds, lengthOf, moved, type Span, zoomed } from './time-span.js';
import { TraceSource } from './trace-source.js';

/** During a replay the view moves along so that the cursor stays within this share of it. */
const FOLLOW_AT = 0.8;
/** Values are written this often during a replay: more cannot be read. */
const READ_MS = 120;
/** A replay passes over gaps longer than this. */
const SKIPPED_GAP_MS = 10_000;
const EPISODE_MARGIN = 1.5;
const EPISODE_LEAST_MS = 120_000;

/** What the page shows of one recording, and everything that can be done to it. Drawing and lists follow its signals. */
export class RecordingModel {
  readonly whole: Span;
  readonly source: TraceSource;
  readonly view = signal<Span>({ fromMs: 0, toMs: 1 });
  readonly cursorMs = signal(0);
  /** The cursor as the written values follow it. */
  readonly readMs = signal(0);
  readonly shown = signal<readonly string[]>([]);
  readonly units = signal<Readonly<Record<string, string>>>({});
  readonly chosen = signal<Span | null>(null);
  readonly repeat = signal(false);
  readonly fit = signal(false);
  readonly playing = signal(false);
  readonly speed = signal(1);
  /** Width of the plots, set by the page. */
  readonly widthPx = signal(0);
  readonly linked = computed<LinkedView>(() => ({
    ...{ view: this.view.value, cursorMs: this.readMs.value, shown: [...this.shown.value], units: this.units.value },
    ...{ chosen: this.chosen.value, repeat: this.repeat.value, fit: this.fit.value },
  }));

  constructor(readonly recording: Recording) {
    const fromMs = Date.parse(recording.from ?? '');
    this.whole = { fromMs, toMs: Math.max(fromMs + 1, Date.parse(recording.to ?? '')) };
    const rows = recording.counts?.rowsKept ?? 0;
    this.source = new TraceSource(recording.upload, this.whole, rows / lengthOf(this.whole));
  }

  apply(linked: LinkedView): void {
    batch(() => {
      this.view.value = linked.view;
      this.shown.value = linked.shown;
      this.units.value = linked.units;
      this.chosen.value = linked.chosen;
      this.repeat.value = linked.repeat;
      this.fit.value = linked.fit;
      this.cursorMs.value = this.readMs.value = linked.cursorMs;
    });
  }

  zoom(factor: number, aroundMs = this.zoomCentre()): void {
    this.view.value = zoomed(this.view.peek(), this.whole, factor, aroundMs);
  }

  /** @param share of the view's length, negative = earlier */
  pan(share: number): void {
    const view = this.view.peek();
    this.view.value = moved(view, this.whole, share * lengthOf(view));
  }

  show(span: Span): void {
    this.view.value = zoomed(span, this.whole, 1, span.fromMs);
  }

  showAll(): void {
    this.view.value = this.whole;
  }

  /** Puts the cursor somewhere, and moves the view there where it is elsewhere. */
  goTo(atMs: number): void {
    batch(() => {
      const { fromMs } = between(atMs, atMs, this.whole);
      this.cursorMs.value = this.readMs.value = fromMs;
      const view = this.view.peek();
      if (!holds(view, fromMs)) this.view.value = around(fromMs, lengthOf(view), this.whole);
    });
  }

  /** Shows a stretch with something around it, the cursor at its begin or where said. */
  goToSpan(span: Span, cursorMs = span.fromMs): void {
    const length = Math.max(EPISODE_LEAST_MS, lengthOf(span) * (1 + EPISODE_MARGIN));
    batch(() => {
      this.view.value = around((span.fromMs + span.toMs) / 2, length, this.whole);
      this.goTo(cursorMs);
    });
  }

  /** Shows just a stretch, the cursor at its begin. */
  goToDrive(span: Span): void {
    batch(() => {
      this.show(span);
      this.goTo(span.fromMs);
    });
  }

  moveBy(ms: number): void {
    this.goTo(this.cursorMs.peek() + ms);
  }

  /** To the row before or after, over a gap where there is one. */
  step(direction: 1 | -1): void {
    const atMs = nextRow(this.source.tiles, this.cursorMs.peek(), direction);
    if (atMs !== null) this.goTo(atMs);
  }

  /** To the next or previous instant of a list. */
  jump(instants: readonly number[], direction: 1 | -1): void {
    const atMs = nextOf(instants, this.cursorMs.peek(), direction);
    if (atMs !== null) this.goTo(atMs);
  }

  choose(span: Span | null): void {
    batch(() => {
      this.chosen.value = span && lengthOf(span) > 0 ? span : null;
      if (!this.chosen.peek()) this.repeat.value = false;
    });
  }

  /** Begins or ends the chosen span at the cursor. */
  chooseEnd(end: 'from' | 'to'): void {
    const cursorMs = this.cursorMs.peek();
    const chosen = this.chosen.peek() ?? this.view.peek();
    const span = end === 'from' ? { ...chosen, fromMs: cursorMs } : { ...chosen, toMs: cursorMs };
    const open =
      end === 'from' ? { fromMs: cursorMs, toMs: this.whole.toMs } : { fromMs: this.whole.fromMs, toMs: cursorMs };
    this.choose(span.fromMs < span.toMs ? span : open);
  }

  toggle(name: string): void {
    const shown = this.shown.peek();
    this.shown.value = shown.includes(name) ? shown.filter((one) => one !== name) : [...shown, name];
  }

  setUnit(name: string, unit: string): void {
    this.units.value = { ...this.units.peek(), [name]: unit };
  }

  togglePlaying(): void {
    // At the end there is nothing left to run: it begins again.
    if (!this.playing.peek() && this.cursorMs.peek() >= this.whole.toMs) this.goTo(this.whole.fromMs);
    this.playing.value = !this.playing.peek();
    if (!this.playing.peek()) this.readMs.value = this.cursorMs.peek();
  }

  /** One frame of a replay. */
  advance(elapsedMs: number): void {
    // A frame that was asked for before the pause.
    if (!this.playing.peek()) return;
    const next = advanced(this.cursorMs.peek(), elapsedMs, {
      speed: this.speed.peek(),
      repeat: this.repeat.peek() ? this.chosen.peek() : null,
      endMs: this.whole.toMs,
      afterGap: (atMs) => afterGap(this.source.tiles, atMs, SKIPPED_GAP_MS),
    });
    batch(() => {
      this.cursorMs.value = next.cursorMs;
      this.playing.value = next.playing;
      this.follow(next.cursorMs);
      const now = performance.now();
      if (next.playing && now - this.readAt < READ_MS) return;
      this.readAt = now;
      this.readMs.value = next.cursorMs;
    });
  }
  private readAt = 0;

  private follow(cursorMs: number): void {
    const view = this.view.peek();
    const length = lengthOf(view);
    const beyond = cursorMs - (view.fromMs + length * FOLLOW_AT);
    if (cursorMs < view.fromMs || beyond > length) this.view.value = around(cursorMs, length, this.whole);
    else if (beyond > 0) this.view.value = moved(view, this.whole, beyond);
  }

  private zoomCentre(): number {
    const view = this.view.peek();
    const cursorMs = this.cursorMs.peek();
    return holds(view, cursorMs) ? cursorMs : (view.fromMs + view.toMs) / 2;
  }
}
