import type { DecodeProblem } from '../decode-problem.js';
import { type J1939Id, j1939IdFromNumber } from '../j1939/id.js';
import { decodeSpn, spnNumber } from '../j1939/spn.js';
import { type SpnRow, spnsOfPgn } from '../j1939/spn-table.js';
import {
  createJ1939Transport,
  type J1939Message,
  type J1939Transport,
  PGN_TP_CM,
  PGN_TP_DT,
} from '../j1939/transport.js';
import type { CanFrame } from './candump-line.js';
import type { CaptureBinding, CaptureBindings } from './capture-bindings.js';
import { type CaptureReport, type CaptureSignalCount, createProblemCounter } from './capture-report.js';
import { type DbcMessage, dbcNumber } from './dbc.js';
import { DiagnosticAnswers, moduleOfId } from './diagnostic-answers.js';
import { FaultCollector } from './fault-collector.js';

/** Takes the values of the frame at hand; NaN is never given. */
export type CaptureValueSink = (binding: CaptureBinding, value: number) => void;

type DataReader = (data: Uint8Array, timeMs: number) => void;

/** What one identifier on one bus means; made once, run for each of its frames. */
interface Handler {
  count: number;
  /** Null for frames that are not J1939. */
  id: J1939Id | null;
  bus: string;
  run: DataReader;
}

/** Frames of a capture to values and a report. Pure; the same whatever the cuts between frames. */
export class CaptureDecoder {
  private readonly problems = createProblemCounter();
  private readonly buses = new Map<string, Map<number, Handler>>();
  private readonly counts = new Map<string, CaptureSignalCount>();
  private readonly transports = new Map<string, J1939Transport>();
  private readonly faults = new FaultCollector(this.problems.add);
  private readonly answers: DiagnosticAnswers;

  /** `onValue` is called for each bound value of a frame before `frame` returns. */
  constructor(
    private readonly bindings: CaptureBindings,
    private readonly dbc: readonly DbcMessage[],
    private readonly onValue: CaptureValueSink,
  ) {
    this.answers = new DiagnosticAnswers({ bindings, counts: this.counts, onValue, onProblem: this.problems.add });
  }

  frame(frame: CanFrame): void {
    if (frame.kind !== 'data') return;
    let handlers = this.buses.get(frame.channel);
    if (!handlers) this.buses.set(frame.channel, (handlers = new Map()));
    const key = frame.extended ? frame.id : -1 - frame.id;
    let handler = handlers.get(key);
    if (!handler) handlers.set(key, (handler = this.handlerOf(frame)));
    handler.count++;
    handler.run(frame.data, frame.timeMs);
  }

  report(): Omit<CaptureReport, 'lines' | 'malformed'> {
    const open: DecodeProblem[] = [...this.transports.values()].flatMap((transport) => transport.finish());
    for (const problem of [...open, ...this.answers.finish()]) this.problems.add(problem);
    const handlers = [...this.buses.values()].flatMap((ids) => [...ids.values()]);
    const messages = messageCounts(handlers);
    const collected = this.faults.collected();
    return {
      buses: [...this.buses.keys()],
      sources: [...new Set(messages.map((message) => message.source))].sort((a, b) => a - b),
      messages,
      signals: [...this.counts.values()],
      ...collected,
      responses: this.answers.latest(),
      vin: collected.vin ?? this.answers.vin(),
      problems: this.problems.list(),
    };
  }

  private handlerOf({ channel: bus, id, extended }: CanFrame): Handler {
    const module = moduleOfId(id, extended);
    const isBroadcast = extended && module === null && !isRequest(id);
    const handler: Handler = { count: 0, id: isBroadcast ? j1939IdFromNumber(id) : null, bus, run: () => {} };
    if (module !== null) handler.run = (data) => this.answers.push(module, bus, data);
    if (handler.id) handler.run = this.j1939Reader(handler.id, bus);
    const described = this.dbc.filter((message) => matches(message, id, extended));
    const readers = described.flatMap((message) => dbcReaders(message, this.bindings, this.onValue));
    return readers.length === 0 ? handler : { ...handler, run: inTurn([handler.run, ...readers]) };
  }

  private j1939Reader(id: J1939Id, bus: string): DataReader {
    const { pgn, source } = id;
    if (pgn === PGN_TP_CM || pgn === PGN_TP_DT) return this.packetReader(id, bus);
    const readers: DataReader[] = spnsOfPgn(pgn).map((row) => this.spnReader(row, source, bus));
    if (this.faults.wants(pgn)) {
      readers.push((data, timeMs) => this.faults.add({ ...id, data: data.slice() }, bus, timeMs));
    }
    return inTurn(readers);
  }

  private packetReader(id: J1939Id, bus: string): DataReader {
    const transport = this.transports.get(bus) ?? createJ1939Transport();
    this.transports.set(bus, transport);
    return (data, timeMs) => {
      const { message, problem } = transport.push(id, data);
      if (problem) this.problems.add(problem);
      if (message) this.joined(message, bus, timeMs);
    };
  }

  private joined(message: J1939Message, bus: string, timeMs: number): void {
    const { pgn, source, data } = message;
    for (const row of spnsOfPgn(pgn)) this.spnReader(row, source, bus)(data, timeMs);
    if (this.faults.wants(pgn)) this.faults.add(message, bus, timeMs);
  }

  private spnReader(row: SpnRow, source: number, bus: string): DataReader {
    const count = countOf(this.counts, row, source, bus);
    const binding = this.bindings.spn(row.spn, source, bus);
    return (data) => {
      const value = spnNumber(row, data);
      if (Number.isNaN(value)) {
        countMissing(count, row, data);
        return;
      }
      count.valid++;
      if (count.min === null || value < count.min) count.min = value;
      if (count.max === null || value > count.max) count.max = value;
      if (binding) this.onValue(binding, value);
    };
  }
}

function inTurn(readers: readonly DataReader[]): DataReader {
  const [only] = readers;
  if (readers.length === 1 && only) return only;
  return (data, timeMs) => {
    for (const read of readers) read(data, timeMs);
  };
}

/** Handlers are kept by identifier, so one group at two priorities is added up here. */
function messageCounts(handlers: readonly Handler[]): CaptureReport['messages'] {
  const byGroup = new Map<string, CaptureReport['messages'][number]>();
  for (const { bus, id, count } of handlers) {
    if (id === null) continue;
    const key = `${bus} ${id.pgn} ${id.source}`;
    const known = byGroup.get(key);
    if (known) known.count += count;
    else byGroup.set(key, { bus, pgn: id.pgn, source: id.source, count });
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

function dbcReaders(message: DbcMessage, bindings: CaptureBindings, onValue: CaptureValueSink): DataReader[] {
  return message.signals.flatMap((signal) => {
    const binding = bindings.dbc(message.name, signal.name);
    if (!binding) return [];
    return (data: Uint8Array) => {
      const value = dbcNumber(signal, message, data);
      if (!Number.isNaN(value)) onValue(binding, value);
    };
  });
}
