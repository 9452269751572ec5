import type { SensorFaultKind } from '../faults/sensor.js';
import { TICKS_PER_SECOND } from '../physics/drive.js';
import type { DriveState } from '../physics/state.js';
import type { RandomStream } from '../random.js';
import type { ChannelRow, RowContext } from './channel-row.js';
import { type Clock, makeClock } from './clock.js';
import type { DialectRow } from './dialects.js';
import { headerLines, type LogIdentity, preambleText } from './header.js';
import type { LogQuirks } from './quirks.js';
import { RowBuffer } from './row-buffer.js';
import { UNIT_SETS, type UnitRow } from './units.js';

const CHUNK_BYTES = 96 * 1024;
const IDEAL_DECIMALS = 6;
const PLAIN_UNIT: UnitRow = { label: '', scale: 1, offset: 0, moreDecimals: 0 };

export interface LogSetup {
  dialect: DialectRow;
  channels: readonly ChannelRow[];
  identity: LogIdentity;
  startMs: number;
  offsetMinutes: number;
  rateHz: number;
  quirks: LogQuirks;
  sensorFault: SensorFaultKind | null;
  idealSensors: boolean;
  random: RandomStream;
}

export interface LogResult {
  /** Complete data rows, damaged ones included. */
  rows: number;
  damagedRows: number;
  cutRow: boolean;
  firstMs: number | null;
  lastMs: number | null;
  backwardSteps: number;
  /** Steps longer than 5 s that the recorder left out. */
  gaps: number;
  channels: { header: string; signal: string; unit: string }[];
}

/** Writes one log row by row; whoever drives the simulation calls `tick` for each of its steps. */
export class LogWriter {
  readonly #out: RowBuffer;
  readonly #clock: Clock;
  readonly #columns: ((state: DriveState, context: RowContext) => void)[];
  readonly #every: number;
  readonly result: LogResult;
  readonly #header: string;
  readonly #delimiter: number;
  readonly #held: boolean[];
  readonly #noise: RandomStream;
  #rowStart = 0;
  #lastCompleteMs: number | null = null;
  #refresh = 0;
  #wasPumping = false;
  #tick = 0;
  #inGap = false;

  constructor(readonly setup: LogSetup) {
    const { dialect } = setup;
    this.#out = new RowBuffer({ encoding: dialect.encoding, bom: dialect.bom, decimal: dialect.decimal });
    this.#delimiter = dialect.delimiter.charCodeAt(0);
    this.#noise = setup.random.split('noise');
    this.#every = Math.max(1, Math.round(TICKS_PER_SECOND / setup.rateHz));
    this.#clock = makeClock(dialect.time, {
      offsetMinutes: setup.offsetMinutes,
      startMs: setup.startMs,
      language: dialect.language,
      delimiterCode: this.#delimiter,
      fraction: dialect.sparse || dialect.time === 'elapsed-s' ? 3 : 1,
    });
    this.#columns = setup.channels.map((channel) => this.#column(channel));
    this.#held = setup.channels.map(() => false);
    const header = headerLines(dialect, this.#clock.columns, setup.channels);
    this.#header = header.text;
    this.result = {
      rows: 0,
      damagedRows: 0,
      cutRow: false,
      firstMs: null,
      lastMs: null,
      backwardSteps: 0,
      gaps: 0,
      channels: header.channels,
    };
    this.#out.text(preambleText(dialect, setup.identity));
    this.#out.text(this.#header);
  }

  /** One step of the simulation; yields bytes when enough have come together. */
  tick(state: DriveState, context: RowContext): Uint8Array | null {
    if (this.#tick % this.#every === 0) this.#row(state, context);
    this.#tick += 1;
    return this.#out.length >= CHUNK_BYTES ? this.#take() : null;
  }

  finish(): Uint8Array {
    const { result, setup } = this;
    if (setup.quirks.cutLastRow && result.rows > 2) {
      const length = this.#out.length - this.#rowStart;
      if (length > 8) {
        this.#out.cut(Math.ceil(length * 0.55));
        result.rows -= 1;
        result.lastMs = this.#lastCompleteMs;
        result.cutRow = true;
      }
    }
    return this.#take();
  }

  #take(): Uint8Array {
    this.#rowStart = 0;
    return this.#out.take();
  }

  #row(state: DriveState, context: RowContext): void {
    const { quirks, dialect, startMs } = this.setup;
    const seconds = this.#tick / TICKS_PER_SECOND;
    if (quirks.restart && seconds >= quirks.restart.atS && seconds < quirks.restart.atS + quirks.restart.gapS) {
      this.#inGap = true;
      return;
    }
    if (this.#inGap) {
      this.#inGap = false;
      this.result.gaps += 1;
      this.#out.text(this.#header);
    }
    const ahead = quirks.stepBack && seconds < quirks.stepBack.atS ? quirks.stepBack.backS * 1000 : 0;
    const jitter = dialect.sparse === 'held' ? Math.round((this.#noise.next() - 0.5) * 24) : 0;
    const ms = startMs + this.#tick * 100 + ahead + jitter;
    if (this.result.lastMs !== null && ms < this.result.lastMs) this.result.backwardSteps += 1;
    this.result.firstMs ??= ms;
    this.#lastCompleteMs = this.result.lastMs;
    this.result.lastMs = ms;
    this.#rowStart = this.#out.length;
    this.#clock.write(this.#out, ms);
    const damaged = quirks.damagedRows.includes(this.result.rows);
    this.#cells(state, context, damaged ? Math.floor(this.#columns.length / 3) : this.#columns.length);
    if (!damaged) this.#tail(state);
    this.#out.text(dialect.lineEnd);
    this.result.rows += 1;
    if (damaged) this.result.damagedRows += 1;
  }

  #cells(state: DriveState, context: RowContext, count: number): void {
    const { sparse } = this.setup.dialect;
    const fresh = this.#refresh;
    for (let i = 0; i < count; i += 1) {
      this.#out.byte(this.#delimiter);
      if (sparse && i !== fresh && !(sparse === 'held' && this.#held[i])) continue;
      (this.#columns[i] as (s: DriveState, c: RowContext) => void)(state, context);
    }
    if (!sparse) return;
    this.#held[fresh] = true;
    this.#refresh = (fresh + 1) % this.#columns.length;
  }

  /** Columns that no catalogue knows, then the marker. */
  #tail(state: DriveState): void {
    const { dialect } = this.setup;
    (dialect.extraChannels ?? []).forEach((name, index) => {
      this.#out.byte(this.#delimiter);
      if (name.startsWith('Xchg')) this.#out.text(`0x${(0xa300 + (this.#tick % 256)).toString(16).toUpperCase()}`);
      else this.#out.fixed(2.5 + 2.4 * Math.sin(this.#tick / (900 + 170 * index)), 2);
    });
    if (!dialect.marker) return;
    this.#out.byte(this.#delimiter);
    const pumping = state.pumpKw > 0;
    if (pumping !== this.#wasPumping) this.#out.text(pumping ? 'Pump on' : 'Pump off');
    else if (this.setup.quirks.driverMarksS.includes(this.#tick / TICKS_PER_SECOND)) this.#out.text('Driver mark');
    this.#wasPumping = pumping;
  }

  #column(channel: ChannelRow): (state: DriveState, context: RowContext) => void {
    const out = this.#out;
    const unit = unitWritten(channel, this.setup.dialect, this.setup.sensorFault);
    const ideal = this.setup.idealSensors;
    const decimals = ideal ? IDEAL_DECIMALS : channel.decimals + unit.moreDecimals;
    const { value } = channel;
    const [quantum, noise] = ideal ? [10 ** -IDEAL_DECIMALS, 0] : [channel.quantum, channel.noise];
    const random = this.#noise;
    return (state, context) => {
      // A sensor at rest reads exactly zero, and noise never turns a quantity that cannot be negative below it.
      const base = value(state, context);
      const noisy = base !== 0 && noise > 0 ? base + (random.next() * 2 - 1) * noise : base;
      const raw = base >= 0 ? Math.max(0, noisy) : noisy;
      out.fixed(Math.round(raw / quantum) * quantum * unit.scale + unit.offset, decimals);
    };
  }
}

/** The unit the numbers are in: the declared one, except on a recorder set up with the wrong temperature unit. */
function unitWritten(channel: ChannelRow, dialect: DialectRow, fault: SensorFaultKind | null): UnitRow {
  if (channel.kind === 'plain') return PLAIN_UNIT;
  const declared = UNIT_SETS[dialect.units][channel.kind];
  if (fault !== 'wrong_unit' || channel.kind !== 'temperature') return declared;
  return declared.scale === 1 ? UNIT_SETS.us.temperature : UNIT_SETS.si.temperature;
}
