import { signal } from '@preact/signals';
import type { ProblemDocument, Trace } from '@tallybay/contracts';
import { addressOf } from '../../app/location.js';
import { getJson, problemOf } from '../../data/http.js';
import { exactAt, exactSpan } from './cursor-rows.js';
import { Tiles } from './tiles.js';
import { around, lengthOf, type Span } from './time-span.js';

/** The server's bounds of one request. */
const MOST_POINTS = 4000;
const MOST_SIGNALS = 24;
/** The server rounds columns up to whole ones of its own, so a little more is asked for than the screen has pixels. */
const SPARE = 1.2;
/** A view is asked for with up to as much again on both sides, so that panning has something to show. */
const ASIDE = 1;
const SETTLE_MS = 70;
/** Somebody who does not come to rest gets finer columns meanwhile as well. */
const PATIENCE_MS = 300;
/** Rows are fetched anew before the cursor reaches the edge of what is known: at this share of it. */
const NEAR = 0.12;
const LEAST_EXACT_MS = 1000;

interface Ask {
  signals: string[];
  span: Span;
  points: number;
}

/** Fetches what the screen lacks, one request for the view at a time: while it is on its way only the newest wish is kept. */
export class TraceSource {
  readonly tiles = new Tiles();
  /** Counts arrivals, so that whatever shows data can follow. */
  readonly arrivals = signal(0);
  readonly problem = signal<ProblemDocument | null>(null);
  private readonly cancel = new AbortController();
  private readonly busy = new Set<string>();
  private timer: ReturnType<typeof setTimeout> | undefined;
  private wishedAt: number | null = null;
  private wish: { signals: readonly string[]; view: Span; widthPx: number } | null = null;

  constructor(
    private readonly upload: string,
    private readonly whole: Span,
    private readonly rowsPerMs: number,
  ) {}

  close(): void {
    clearTimeout(this.timer);
    this.cancel.abort();
  }

  /** Sees to it that the view can be drawn pixel by pixel, a moment after it has come to rest. */
  want(signals: readonly string[], view: Span, widthPx: number): void {
    const first = this.wish === null;
    this.wish = { signals, view, widthPx };
    this.wishedAt ??= performance.now();
    clearTimeout(this.timer);
    const waited = performance.now() - this.wishedAt;
    if (first || waited > PATIENCE_MS) this.fetchView();
    else this.timer = setTimeout(() => this.fetchView(), SETTLE_MS);
  }

  /** Sees to it that the values around the cursor are those of rows. */
  wantExact(signals: readonly string[], cursorMs: number): void {
    const span = exactSpan(cursorMs, this.whole, this.rowsPerMs, MOST_POINTS);
    const near = Math.min(lengthOf(span) * NEAR, cursorMs - span.fromMs, span.toMs - cursorMs);
    const lacking = signals.filter((name) =>
      [cursorMs - near, cursorMs, cursorMs + near].some((ms) => !exactAt(this.tiles, [name], ms)),
    );
    for (let from = 0; from < lacking.length; from += MOST_SIGNALS)
      this.fetchExact(`exact ${from}`, lacking.slice(from, from + MOST_SIGNALS), span);
  }

  /** Rows may come in bursts: where there are too many for one answer, half the span is asked for. */
  private fetchExact(kind: string, signals: string[], span: Span): void {
    this.fetch(kind, { signals, span, points: MOST_POINTS }, (trace) => {
      const middleMs = (span.fromMs + span.toMs) / 2;
      if (!trace.full && lengthOf(span) > LEAST_EXACT_MS)
        this.fetchExact(kind, signals, around(middleMs, lengthOf(span) / 2, this.whole));
    });
  }

  retry(): void {
    this.problem.value = null;
    this.fetchView();
  }

  private fetchView(): void {
    this.wishedAt = null;
    if (!this.wish || this.problem.peek()) return;
    const ask = this.viewAsk(this.wish) ?? this.overviewAsk(this.wish);
    if (ask) this.fetch('view', ask, () => this.fetchView());
  }

  /** What the view lacks at its own resolution. The first answer is for the view alone: it is what the reader waits for. */
  private viewAsk({ signals, view, widthPx }: NonNullable<TraceSource['wish']>): Ask | null {
    const columns = Math.min(MOST_POINTS, Math.ceil(widthPx * SPARE));
    const stepMs = lengthOf(view) / columns;
    const lacking = signals.filter((name) => !this.tiles.covers(name, view, stepMs * (1 + 1e-6)));
    if (lacking.length === 0) return null;
    const first = this.arrivals.peek() === 0;
    const aside = first ? 0 : Math.min(ASIDE, (MOST_POINTS / columns - 1) / 2);
    const span = this.wider(view, aside * lengthOf(view));
    return {
      signals: lacking.slice(0, MOST_SIGNALS),
      span,
      points: Math.min(MOST_POINTS, Math.ceil(lengthOf(span) / stepMs)),
    };
  }

  /** The whole recording as finely as the server sends it at once: what is drawn first wherever the reader goes. */
  private overviewAsk({ signals }: NonNullable<TraceSource['wish']>): Ask | null {
    const stepMs = lengthOf(this.whole) / MOST_POINTS;
    const lacking = signals.filter((name) => !this.tiles.covers(name, this.whole, stepMs * (1 + 1e-6)));
    return lacking.length > 0
      ? { signals: lacking.slice(0, MOST_SIGNALS), span: this.whole, points: MOST_POINTS }
      : null;
  }

  private wider(view: Span, byMs: number): Span {
    return {
      fromMs: Math.max(this.whole.fromMs, view.fromMs - byMs),
      toMs: Math.min(this.whole.toMs, view.toMs + byMs),
    };
  }

  /** One request of a kind at a time. */
  private fetch(kind: string, { signals, span, points }: Ask, then: (trace: Trace) => void): void {
    if (this.busy.has(kind) || signals.length === 0) return;
    this.busy.add(kind);
    const path = addressOf(`/v1/recordings/${encodeURIComponent(this.upload)}/trace`, {
      signals: signals.join(','),
      from: new Date(Math.floor(span.fromMs)).toISOString(),
      to: new Date(Math.ceil(span.toMs)).toISOString(),
      points: Math.max(10, points),
    });
    getJson<Trace>(path, this.cancel.signal).then(
      (trace) => {
        this.busy.delete(kind);
        this.tiles.add(trace, span, Math.max(10, points));
        this.problem.value = null;
        this.arrivals.value += 1;
        then(trace);
      },
      (thrown: unknown) => {
        this.busy.delete(kind);
        if (!this.cancel.signal.aborted) this.problem.value = problemOf(thrown);
      },
    );
  }
}
