import type { DecodeProblem } from '../decode-problem.js';
import { j1939IdFromNumber } from '../j1939/id.js';
import { decodeSpn, spnNumber } from '../j1939/spn.js';
import { type SpnRow, spnsOfPgn } from '../j1939/spn-table.js';
import { createJ1939Transport, type J1939Message, PGN_TP_CM, PGN_TP_DT } from '../j1939/transport.js';
import type { CanFrame } from './candump-line.js';
import type { CaptureBinding, CaptureBindings } from './capture-bindings.js';
import { type CaptureReport, type CaptureSignalCount, createProblemCounter } from './capture-report.js';
import { type DbcMessage, dbcNumber } from './dbc.js';
import { createDiagnosticAnswers, moduleOfId } from './diagnostic-answers.js';
import { createFaultCollector } from './fault-collector.js';

/** Takes the values of the frame at hand; NaN is never given. */
export type CaptureValueSink = (binding: CaptureBinding, value: number) => void;

/** Frames of a capture to values and a report. Pure; the same whatever the cuts between frames. */
export interface CaptureDecoder {
  /** `onValue` is called for each bound value of the frame, before this returns. */
  frame(frame: CanFrame): void;
  report(): Omit<CaptureReport, 'lines' | 'malformed'>;
}

interface Handler {
  count: number;
  pgn: number | null;
  source: number;
  bus: string;
  run(data: Uint8Array, timeMs: number): void;
}

export function createCaptureDecoder(
  bindings: CaptureBindings,
  dbc: readonly DbcMessage[],
  onValue: CaptureValueSink,
): CaptureDecoder {
  const problems = createProblemCounter();
  const buses = new Map<string, Map<number, Handler>>();
  const counts = new Map<string, CaptureSignalCount>();
  const faults = createFaultCollector(problems.add);
  const answers = createDiagnosticAnswers({ bindings, counts, onValue, onProblem: problems.add });
  const transports = new Map<string, ReturnType<typeof createJ1939Transport>>();

  const message = (bus: string, { pgn, source, data, destination }: J1939Message, timeMs: number): void => {
    for (const row of spnsOfPgn(pgn)) spnReader(row, source, bus)(data);
    if (faults.wants(pgn)) faults.add({ pgn, source, data, destination }, bus, timeMs);
  };

  const spnReader = (row: SpnRow, source: number, bus: string): ((data: Uint8Array) => void) => {
    const count = countOf(counts, row, source, bus);
    const binding = bindings.spn(row.spn, source, bus);
    return (data) => {
      const value = spnNumber(row, data);
      if (Number.isNaN(value)) {
        countMissing(count, row, data);
        return;
      }
      count.valid++;
      if (count.min === null || value < count.min) count.min = value;
      if (count.max === null || value > count.max) count.max = value;
      if (binding) onValue(binding, value);
    };
  };

  const j1939Handler = (id: number, bus: string): Handler => {
    const parts = j1939IdFromNumber(id);
    const { pgn, source } = parts;
    if (pgn === PGN_TP_CM || pgn === PGN_TP_DT) {
      const transport = transports.get(bus) ?? createJ1939Transport();
      transports.set(bus, transport);
      const run = (data: Uint8Array, timeMs: number): void => {
        const result = transport.push(parts, data);
        if (result.problem) problems.add(result.problem);
        if (result.message) message(bus, result.message, timeMs);
      };
      return { count: 0, pgn, source, bus, run };
    }
    const readers = spnsOfPgn(pgn).map((row) => spnReader(row, source, bus));
    const wanted = faults.wants(pgn);
    const run = (data: Uint8Array, timeMs: number): void => {
      for (const read of readers) read(data);
      if (wanted) faults.add({ ...parts, data: data.slice() }, bus, timeMs);
    };
    return { count: 0, pgn, source, bus, run };
  };

  const handlerOf = (frame: CanFrame): Handler => {
    const { channel: bus, id } = frame;
    const module = moduleOfId(id, frame.extended);
    const base: Handler =
      module !== null
        ? { count: 0, pgn: null, source: 0, bus, run: (data) => answers.push(module, bus, data) }
        : frame.extended && !isRequest(id)
          ? j1939Handler(id, bus)
          : { count: 0, pgn: null, source: 0, bus, run: () => {} };
    const described = dbc.filter((candidate) => matches(candidate, id, frame.extended));
    if (described.length === 0) return base;
    const readers = described.flatMap((known) => dbcReaders(known, bindings, onValue));
    const run = (data: Uint8Array, timeMs: number): void => {
      base.run(data, timeMs);
      for (const read of readers) read(data);
    };
    return { ...base, run };
  };

  return {
    frame(frame) {
      if (frame.kind !== 'data') return;
      let handlers = buses.get(frame.channel);
      if (!handlers) buses.set(frame.channel, (handlers = new Map()));
      const key = frame.extended ? frame.id : -1 - frame.id;
      let handler = handlers.get(key);
      if (!handler) handlers.set(key, (handler = handlerOf(frame)));
      handler.count++;
      handler.run(frame.data, frame.timeMs);
    },
    report() {
      const handlers = [...buses.values()].flatMap((ids) => [...ids.values()]);
      const open: DecodeProblem[] = [...transports.values()].flatMap((transport) => transport.finish());
      for (const problem of [...open, ...answers.finish()]) problems.add(problem);
      const senders = handlers.filter((handler) => handler.pgn !== null);
      return {
        buses: [...buses.keys()],
        sources: [...new Set(senders.map((handler) => handler.source))].sort((a, b) => a - b),
        messages: messageCounts(senders),
        signals: [...counts.values()],
        ...faults.collected(),
        responses: answers.latest(),
        vin: faults.collected().vin ?? answers.vin(),
        problems: problems.list(),
      };
    },
  };
}

/** Handlers are kept by identifier, so one group at two priorities is added up here. */
function messageCounts(handlers: Handler[]): CaptureReport['messages'] {
  const byGroup = new Map<string, CaptureReport['messages'][number]>();
  for (const { bus, pgn, source, count } of handlers) {
    const key = `${bus} ${pgn} ${source}`;
    const known = byGroup.get(key);
    if (known) known.count += count;
    else byGroup.set(key, { bus, pgn: pgn ?? 0, source, count });
  }
  return [...byGroup.values()];
}

function countOf(
  counts: Map<string, CaptureSignalCount>,
  row: SpnRow,
  source: number,
  bus: string,
): CaptureSignalCount {
  const key = `${row.spn} ${source} ${bus}`;
  const known = counts.get(key);
  if (known) return known;
  const { name, unit } = row;
  const none = { valid: 0, notAvailable: 0, error: 0, reserved: 0, absent: 0, min: null, max: null };
  const count = { parameter: `SPN ${row.spn}`, name, unit, bus, source, module: null, ...none };
  counts.set(key, count);
  return count;
}

function countMissing(count: CaptureSignalCount, row: SpnRow, data: Uint8Array): void {
  const { state } = decodeSpn(row, data);
  if (state === 'not-available') count.notAvailable++;
  else if (state === 'error') count.error++;
  else if (state === 'absent') count.absent++;
  else count.reserved++;
}

/** Identifiers on which a tester asks (ISO 15765-4, 29-bit): 18DAxxF1 and 18DB33F1. */
function isRequest(id: number): boolean {
  const top = (id >>> 16) & 0x3ff;
  return (top === 0xda || top === 0xdb) && (id & 0xff) === 0xf1;
}

/** FE as source address stands for "any" in a J1939 description; other descriptions name their frame exactly. */
function matches(message: DbcMessage, id: number, extended: boolean): boolean {
  if (message.extended !== extended) return false;
  if (message.id === id) return true;
  if (!extended || (message.id & 0xff) !== 0xfe) return false;
  return j1939IdFromNumber(message.id).pgn === j1939IdFromNumber(id).pgn;
}

function dbcReaders(
  message: DbcMessage,
  bindings: CaptureBindings,
  onValue: CaptureValueSink,
): ((data: Uint8Array) => void)[] {
  return message.signals.flatMap((signal) => {
    const binding = bindings.dbc(message.name, signal.name);
    if (!binding) return [];
    return (data: Uint8Array) => {
      const value = dbcNumber(signal, message, data);
      if (!Number.isNaN(value)) onValue(binding, value);
    };
  });
}
