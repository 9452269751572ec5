import { j1939IdFromNumber } from '../j1939/id.js';
import type { LogPlan, PlanProblem, PlanResult, TimePlan } from '../log/types.js';
import { isVinWellFormed } from '../vin/vin.js';
import { CandumpLineParser, type CanFrame } from './candump-line.js';
import { NO_BINDINGS } from './capture-bindings.js';
import {
  applyProfile,
  applySpeedFactor,
  type Candidate,
  chooseSignals,
  dbcCandidates,
  pidCandidates,
  spnCandidates,
} from './capture-candidates.js';
import { CaptureDecoder } from './capture-decoder.js';
import type { CaptureHints, CapturePlan } from './capture-plan.js';
import type { CaptureReport } from './capture-report.js';
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
  const description = hints.dbc ?? hints.profile?.dbc;
  const dbc = description === undefined ? { messages: [], problems: [] } : parseDbc(description);
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
  const decoder = new CaptureDecoder(NO_BINDINGS, dbc.messages, () => {});
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
  if ((hints.dbc ?? hints.profile?.dbc) !== undefined) {
    const signals = dbc.messages.reduce((sum, message) => sum + message.signals.length, 0);
    const why = `${dbc.messages.length} messages, ${dbc.problems.length} lines that could not be read`;
    list.push({ what: 'signal description', value: `${signals} signals`, why });
  }
  return list;
}
