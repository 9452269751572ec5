import type { Recording } from '@tallybay/contracts';
import { between, holds, lengthOf, type Span } from './time-span.js';

/** What a link carries, so that a colleague sees the same. */
export interface LinkedView {
  view: Span;
  cursorMs: number;
  shown: string[];
  /** Units that a lane was switched to, by signal. */
  units: Record<string, string>;
  chosen: Span | null;
  repeat: boolean;
  /** Heights follow what is on screen instead of the whole recording. */
  fit: boolean;
}

/** Unit of a lane in `signals=coolant_temp_c~degF,engine_load_pct`. */
const UNIT = '~';
/** Ends of a span in `span=2026-09-14T14:00:00.000Z~2026-09-14T14:05:00.000Z`. */
const TO = '~';
export const MOST_LANES = 24;

export const spanOf = ({ from, to }: { from: string; to: string }): Span => ({
  fromMs: Date.parse(from),
  toMs: Date.parse(to),
});

/** The link's view as far as it is in the recording; what it leaves out is the whole recording and its usual signals. */
export function viewFromLink(query: URLSearchParams, recording: Recording, whole: Span): LinkedView {
  const drive = recording.drives.find(({ id }) => id === query.get('drive'));
  const asked = { from: query.get('from') ?? drive?.from ?? '', to: query.get('to') ?? drive?.to ?? '' };
  const view = spanIn(asked, whole) ?? whole;
  const cursorMs = Date.parse(query.get('at') ?? '');
  const lanes = lanesOf(query.get('signals'), recording);
  const [from = '', to = ''] = (query.get('span') ?? '').split(TO);
  const chosen = spanIn({ from, to }, whole);
  return {
    view,
    cursorMs: holds(whole, cursorMs) ? cursorMs : view.fromMs,
    shown: lanes.map(([signal]) => signal),
    units: Object.fromEntries(lanes.flatMap(([signal, unit]) => (unit ? [[signal, unit]] : []))),
    chosen,
    repeat: chosen !== null && query.get('repeat') === '1',
    fit: query.get('fit') === '1',
  };
}

/** Parameters of the address for this view; null takes one away. */
export function linkOfView(state: LinkedView, recording: Recording, whole: Span): Record<string, string | null> {
  const { view, chosen } = state;
  const everything = lengthOf(view) >= lengthOf(whole);
  const lanes = state.shown.map((signal) => (state.units[signal] ? signal + UNIT + state.units[signal] : signal));
  const usual = lanes.join() === recording.suggested.join();
  return {
    drive: null,
    from: everything ? null : iso(view.fromMs),
    to: everything ? null : iso(view.toMs),
    at: state.cursorMs === view.fromMs && everything ? null : iso(state.cursorMs),
    signals: usual ? null : lanes.length === 0 ? NO_LANES : lanes.join(','),
    span: chosen && `${iso(chosen.fromMs)}${TO}${iso(chosen.toMs)}`,
    repeat: state.repeat && chosen ? '1' : null,
    fit: state.fit ? '1' : null,
  };
}

/** Somebody took every lane away: that is not the same as having chosen none yet. */
const NO_LANES = 'none';

function lanesOf(text: string | null, recording: Recording): [signal: string, unit: string | undefined][] {
  if (text === NO_LANES) return [];
  const recorded = new Set(recording.signals.map(({ signal }) => signal));
  const asked = (text ?? '').split(',').map((lane) => lane.split(UNIT) as [string, string | undefined]);
  const known = asked.filter(
    ([signal], index) => recorded.has(signal) && asked.findIndex(([one]) => one === signal) === index,
  );
  return known.length > 0 ? known.slice(0, MOST_LANES) : recording.suggested.map((signal) => [signal, undefined]);
}

function spanIn({ from, to }: { from: string; to: string }, whole: Span): Span | null {
  const { fromMs, toMs } = spanOf({ from, to });
  if (Number.isNaN(fromMs) || Number.isNaN(toMs)) return null;
  const span = between(fromMs, toMs, whole);
  return lengthOf(span) > 0 ? span : null;
}

const iso = (ms: number): string => new Date(Math.round(ms)).toISOString();
