import { j1939IdFromNumber } from '../j1939/id.js';
import { SPN_ROWS } from '../j1939/spn-table.js';
import type { ChannelPlan, LogPlan, PlanProblem, PlanResult, TimePlan } from '../log/types.js';
import { PID_ROWS, pidName } from '../obd/pid-table.js';
import type { NumberField } from '../obd/pid-types.js';
import { isSignalId, SIGNALS, type SignalId } from '../signals/catalogue.js';
import { conversionFor } from '../units/convert.js';
import { isVinWellFormed } from '../vin/vin.js';
import { CandumpLineParser, type CanFrame } from './candump-line.js';
import { NO_BINDINGS } from './capture-bindings.js';
import { createCaptureDecoder } from './capture-decoder.js';
import type { CaptureHints, CaptureOrigin, CapturePlan } from './capture-plan.js';
import type { CaptureReport, CaptureSignalCount } from './capture-report.js';
import { type DbcFile, parseDbc } from './dbc.js';
import { createLineSplitter } from './line-splitter.js';

/** Lines of the head that must hold frames for the bytes to be taken as a capture: at least half of them. */
const MIN_FRAME_SHARE = 0.5;

/** Clock times before this count from the start of the recording: no capture is from the first year of 1970. */
const FIRST_ABSOLUTE_MS = 366 * 86_400_000;

interface Head {
  lines: number;
  frames: number;
  firstMs: number | null;
  j1939: boolean;
  report: Omit<CaptureReport, 'lines' | 'malformed'>;
}

interface Candidate {
  channel: ChannelPlan;
  origin: CaptureOrigin;
  /** Lower is better; of one signal's candidates the best gets the column. */
  rank: number;
}

/** True when the head of a log reads as `candump -l` text. */
export function sniffCandump(head: Uint8Array): boolean {
  const { lines, frames } = readHead(head, { messages: [], problems: [] });
  return lines > 0 && frames / lines >= MIN_FRAME_SHARE;
}

/**
 * Plans a raw CAN capture from its first bytes: which sender feeds which signal. Address 0 is preferred, then the row of
 * the table that comes first, then the sender with most values in the head; every other sender goes to the side list.
 * Problems: `body_empty`, `log_unreadable`.
 */
export function planCandump(head: Uint8Array, hints: CaptureHints = {}): PlanResult {
  const dbc = hints.dbc === undefined ? { messages: [], problems: [] } : parseDbc(hints.dbc);
  const seen = readHead(head, dbc);
  const problem = problemOf(head, seen);
  if (problem) return { ok: false, problem };
  const candidates = [
    ...dbcCandidates(dbc, hints),
    ...(seen.j1939 ? spnCandidates(seen.report.signals) : []),
    ...(seen.report.signals.some((count) => count.module !== null) ? pidCandidates(seen.report.signals) : []),
  ];
  applyProfile(candidates, hints);
  const signals = chooseSignals(candidates);
  applySpeedFactor(candidates, hints.speedFactor);
  const plan: CapturePlan = {
    version: 1,
    format: 'candump',
    dialect: null,
    channels: candidates.map(({ channel }) => channel),
    time: timePlan(seen.firstMs ?? 0, hints),
    signals,
    preamble: [],
    vin: seen.report.vin !== null && isVinWellFormed(seen.report.vin) ? seen.report.vin : null,
    recorder: null,
    decisions: decisions(seen, dbc, hints),
    capture: {
      origins: candidates.map(({ origin }) => origin),
      dbc: usedMessages(dbc, candidates),
    },
  };
  return { ok: true, plan: plan satisfies LogPlan };
}

function readHead(head: Uint8Array, dbc: DbcFile): Head {
  const parser = new CandumpLineParser();
  const decoder = createCaptureDecoder(NO_BINDINGS, dbc.messages, () => {});
  const found = { lines: 0, frames: 0, firstMs: null as number | null, j1939: false };
  const splitter = createLineSplitter({
    line(bytes, start, end) {
      found.lines++;
      const frame = parser.parse(bytes, start, end);
      if (!frame) return;
      found.frames++;
      found.firstMs ??= frame.timeMs;
      found.j1939 ||= isBroadcast(frame);
      decoder.frame(frame);
    },
    tooLong: () => {
      found.lines++;
    },
  });
  // The last line of a head is as a rule cut: it is left to the reader, unless it is all there is.
  const lastBreak = head.lastIndexOf(0x0a);
  splitter.push(lastBreak < 0 ? head : head.subarray(0, lastBreak + 1));
  splitter.finish();
  return { ...found, report: decoder.report() };
}

/** A J1939 frame rather than a 29-bit diagnostic request or answer. */
function isBroadcast({ extended, id }: CanFrame): boolean {
  const group = j1939IdFromNumber(id).pgn & 0xff00;
  return extended && group !== 0xda00 && group !== 0xdb00;
}

function problemOf(head: Uint8Array, { lines, frames }: Head): PlanProblem | null {
  if (head.length === 0)
    return { code: 'body_empty', detail: 'The capture has no bytes', advice: 'Send the file again.' };
  if (lines > 0 && frames / lines >= MIN_FRAME_SHARE) return null;
  return {
    code: 'log_unreadable',
    detail: `${frames} of the first ${lines} lines are CAN frames, at least half must be`,
    advice: 'Record with candump -l, which writes lines such as (1648577125.370750) can1 18FEEE00#87FFE02FFFFFFFFF.',
  };
}

function timePlan(firstMs: number, hints: CaptureHints): TimePlan {
  const absolute = firstMs >= FIRST_ABSOLUTE_MS;
  const startMs = absolute ? firstMs : hints.recordedAtMs === undefined ? null : hints.recordedAtMs - firstMs;
  return {
    kind: absolute ? 'absolute' : 'elapsed',
    columns: [],
    format: absolute ? 'epoch-s' : 'elapsed-s',
    timeZone: absolute ? 'UTC' : null,
    startDate: null,
    startMs,
    firstMs,
  };
}

function channelOf(header: string, unit: string, signal: SignalId | null, why: string): ChannelPlan {
  return { header, sourceUnit: unit, role: 'unmapped', signal, scale: 1, offset: 0, confidence: 1, why };
}

/** Ranks by address and table order in steps that the number of values in the head cannot outweigh. */
const NOT_SEEN = 1e12;

function spnCandidates(counts: readonly CaptureSignalCount[]): Candidate[] {
  return SPN_ROWS.flatMap((row, order) => {
    const parameter = `SPN ${row.spn}`;
    const seen = counts.filter((count) => count.parameter === parameter);
    const buses = new Set(seen.map((count) => count.bus)).size;
    const make = (source: number, bus: string | null, rank: number, why: string): Candidate => ({
      channel: channelOf(
        `${buses > 1 && bus !== null ? `${bus} ` : ''}${parameter} SA ${source}`,
        row.unit,
        row.signal,
        why,
      ),
      origin: { kind: 'spn', spn: row.spn, pgn: row.pgn, source, bus },
      rank,
    });
    const found = seen.map((count) => {
      const source = count.source ?? 0;
      const none = count.valid === 0 ? NOT_SEEN : 0;
      const rank = none + (source === 0 ? 0 : 1e9) + order * 1e7 + source * 1e4 - Math.min(count.valid, 9_999);
      return make(source, count.bus, rank, `${row.name}, PGN ${row.pgn}, ${count.valid} values in the head`);
    });
    if (!seen.some((count) => count.source === row.owner)) {
      found.push(make(row.owner, null, NOT_SEEN + order * 1e7, `${row.name}, PGN ${row.pgn}, not in the head`));
    }
    return found;
  });
}

function pidCandidates(counts: readonly CaptureSignalCount[]): Candidate[] {
  const fields = PID_ROWS.flatMap((row) =>
    row.fields
      .filter((field): field is NumberField => field.kind === 'number' && field.signal !== null)
      .map((field) => ({ row, field })),
  );
  return fields.flatMap(({ row, field }, order) => {
    const parameter = `PID ${pidName(row.pid)} ${field.id}`;
    const seen = counts.filter((count) => count.parameter === parameter);
    const make = (module: string | null, bus: string | null, rank: number, why: string): Candidate => ({
      channel: channelOf(
        `${parameter}${module === null ? '' : ` ${module}`}${bus === null ? '' : ` ${bus}`}`,
        field.unit,
        field.signal,
        why,
      ),
      origin: { kind: 'pid', pid: row.pid, field: field.id, module, bus },
      rank,
    });
    // Behind broadcasts of the same signal, which come more often; the engine's module answers on the lowest id.
    const found = seen
      .toSorted((first, second) => ((first.module ?? '') < (second.module ?? '') ? -1 : 1))
      .map((count, at) => {
        const none = count.valid === 0 ? NOT_SEEN : 0;
        return make(
          count.module,
          count.bus,
          none + 1e11 + order * 1e6 + at,
          `${field.label}, ${count.valid} values in the head`,
        );
      });
    // Without a value these two would still be taken for the engine's state, so they must have been seen.
    const tellsState = field.signal === 'engine_speed_rpm' || field.signal === 'vehicle_speed_kmh';
    if (seen.length === 0 && !tellsState) {
      found.push(make(null, null, 2 * NOT_SEEN + order, `${field.label}, not in the head`));
    }
    return found;
  });
}

function dbcCandidates(dbc: DbcFile, hints: CaptureHints): Candidate[] {
  const wanted = hints.profile?.channels ?? {};
  return dbc.messages.flatMap((message) =>
    message.signals.map((signal): Candidate => {
      const header = `${message.name}.${signal.name}`;
      const asked = wanted[header] ?? wanted[signal.name];
      const id = asked?.signal ?? (isSignalId(signal.name) ? signal.name : null);
      const known = id !== null && isSignalId(id) ? id : null;
      const channel = channelOf(header, asked?.unit ?? signal.unit, known, 'signal description file');
      return { channel, origin: { kind: 'dbc', message: message.name, signal: signal.name }, rank: -1 };
    }),
  );
}

/** A profile names channels by header; `signal: null` sets one aside. DBC channels were mapped when they were made. */
function applyProfile(candidates: Candidate[], hints: CaptureHints): void {
  for (const candidate of candidates) {
    const asked = hints.profile?.channels?.[candidate.channel.header];
    if (!asked || candidate.origin.kind === 'dbc') continue;
    candidate.channel.signal = asked.signal !== null && isSignalId(asked.signal) ? asked.signal : null;
    candidate.channel.why = 'saved profile';
    candidate.rank = -2;
  }
}

/** Gives each signal's column to its best candidate, in the order of the catalogue. */
function chooseSignals(candidates: Candidate[]): SignalId[] {
  const best = new Map<SignalId, Candidate>();
  for (const candidate of candidates) {
    const { signal } = candidate.channel;
    const unit = SIGNALS.find((row) => row.id === signal)?.unit;
    if (signal === null || unit === undefined) continue;
    const conversion = conversionFor(candidate.channel.sourceUnit ?? unit, unit);
    if (conversion) Object.assign(candidate.channel, conversion);
    else if (candidate.origin.kind === 'dbc' && candidate.channel.sourceUnit !== '') continue; // a unit that does not fit
    const rival = best.get(signal);
    if (!rival || candidate.rank < rival.rank) best.set(signal, candidate);
  }
  for (const { channel } of best.values()) channel.role = 'signal';
  for (const { channel } of candidates) if (channel.role !== 'signal') channel.signal = null;
  return SIGNALS.map((row) => row.id).filter((id) => best.has(id));
}

function applySpeedFactor(candidates: Candidate[], factor: number | undefined): void {
  if (factor === undefined || !(factor > 0) || factor === 1) return;
  for (const { channel } of candidates) {
    if (channel.signal !== 'vehicle_speed_kmh') continue;
    channel.scale *= factor;
    channel.why += `; times ${factor} for tyres or final drive`;
  }
}

function usedMessages(dbc: DbcFile, candidates: Candidate[]): CapturePlan['capture']['dbc'] {
  const used = new Set(candidates.flatMap(({ origin }) => (origin.kind === 'dbc' ? [origin.message] : [])));
  return dbc.messages.filter((message) => used.has(message.name));
}

function decisions(seen: Head, dbc: DbcFile, hints: CaptureHints): LogPlan['decisions'] {
  const list = [
    { what: 'format', value: 'candump', why: `${seen.frames} of the first ${seen.lines} lines are CAN frames` },
    { what: 'buses', value: seen.report.buses.join(', '), why: 'named in the lines' },
  ];
  if (seen.j1939) {
    const value = seen.report.sources.join(', ');
    list.push({ what: 'source addresses', value, why: 'SAE J1939 frames of the head; address 0 is preferred' });
  }
  if (hints.dbc !== undefined) {
    const signals = dbc.messages.reduce((sum, message) => sum + message.signals.length, 0);
    const why = `${dbc.messages.length} messages, ${dbc.problems.length} lines that could not be read`;
    list.push({ what: 'signal description', value: `${signals} signals`, why });
  }
  return list;
}
