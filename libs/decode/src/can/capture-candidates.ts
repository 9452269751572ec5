import { SPN_ROWS } from '../j1939/spn-table.js';
import type { ChannelPlan } from '../log/types.js';
import { PID_ROWS, pidName } from '../obd/pid-table.js';
import type { NumberField } from '../obd/pid-types.js';
import { isSignalId, SIGNALS, type SignalId } from '../signals/catalogue.js';
import { conversionFor } from '../units/convert.js';
import type { CaptureHints, CaptureOrigin } from './capture-plan.js';
import type { CaptureSignalCount } from './capture-report.js';
import type { DbcFile } from './dbc.js';

/** A sender that could feed a signal. */
export interface Candidate {
  channel: ChannelPlan;
  origin: CaptureOrigin;
  /** Lower is better; of one signal's candidates the best gets the column. */
  rank: number;
}

function channelOf(header: string, unit: string, signal: SignalId | null, why: string): ChannelPlan {
  return { header, sourceUnit: unit, role: 'unmapped', signal, scale: 1, offset: 0, confidence: 1, why };
}

/** Ranks by address and table order in steps that the number of values in the head cannot outweigh. */
const NOT_SEEN = 1e12;

export function spnCandidates(counts: readonly CaptureSignalCount[]): Candidate[] {
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

export function pidCandidates(counts: readonly CaptureSignalCount[]): Candidate[] {
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

export function dbcCandidates(dbc: DbcFile, hints: CaptureHints): Candidate[] {
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
export function applyProfile(candidates: Candidate[], hints: CaptureHints): void {
  for (const candidate of candidates) {
    const asked = hints.profile?.channels?.[candidate.channel.header];
    if (!asked || candidate.origin.kind === 'dbc') continue;
    candidate.channel.signal = asked.signal !== null && isSignalId(asked.signal) ? asked.signal : null;
    candidate.channel.why = 'saved profile';
    candidate.rank = -2;
  }
}

/** Gives each signal's column to its best candidate, in the order of the catalogue. */
export function chooseSignals(candidates: Candidate[]): SignalId[] {
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

export function applySpeedFactor(candidates: Candidate[], factor: number | undefined): void {
  if (factor === undefined || !(factor > 0) || factor === 1) return;
  for (const { channel } of candidates) {
    if (channel.signal !== 'vehicle_speed_kmh') continue;
    channel.scale *= factor;
    channel.why += `; times ${factor} for tyres or final drive`;
  }
}
