import { type Piece, SignalSums } from './piece.js';
import { CELL_REJECTS } from './rejects.js';
import type { Segmenter } from './segmenter.js';
import type { ChannelPlan, DwellRow, LogPlan, LogSummary, ReadCounts, Segment, SignalStats } from './types.js';

export interface SummaryInput {
  plan: LogPlan;
  segmenter: Segmenter;
  /** Asked stages by signal of the plan, as asked. */
  stages: string[][];
  markers: LogSummary['markers'];
  rowsKept: number;
  counts: ReadCounts;
}

/** Turns sums in milliseconds into figures in seconds. */
export function summarise(input: SummaryInput): LogSummary {
  const { plan, segmenter, counts } = input;
  const whole = wholeLog(segmenter.pieces, input.stages.length, input.stages);
  const signals = statsOf(
    whole,
    segmenter.pieces.reduce((rows, piece) => rows + piece.rows, 0),
    input,
  );
  const segments = segmentsOf(input);
  return {
    rows: counts.rows,
    rowsKept: input.rowsKept,
    rowsRejectedBy: { ...counts.rowsRejectedBy },
    valuesRejectedBy: totals(signals),
    firstMs: input.rowsKept > 0 ? segmenter.firstMs : null,
    lastMs: input.rowsKept > 0 ? segmenter.lastMs : null,
    gaps: segmenter.gaps,
    longestGapSeconds: segmenter.longestGapMs / 1000,
    backwardSteps: segmenter.backwardSteps,
    duplicateTimes: segmenter.duplicateTimes,
    countedSeconds: segmenter.countedMs / 1000,
    signals,
    segments,
    dwell: segments.flatMap((segment, index) => dwellOf(segment, segmenter.pieces[index] as Piece, plan)),
    markers: input.markers,
  };
}

function wholeLog(pieces: readonly Piece[], signals: number, stages: string[][]): SignalSums[] {
  return Array.from({ length: signals }, (_, signal) => {
    const sums = new SignalSums(Float64Array.from(stages[signal] ?? [], Number), null);
    for (const piece of pieces) sums.merge(piece.sums[signal] as SignalSums);
    return sums;
  });
}

function segmentsOf(input: SummaryInput): Segment[] {
  const { segmenter } = input;
  let drives = 0;
  return segmenter.pieces.map((piece, index) => {
    // Without any sign of the engine in the whole log, recording is taken for running.
    const isDrive = piece.state === 'on' || (piece.state === 'unknown' && !segmenter.hasEngineState);
    const stats = statsOf(piece.sums, piece.rows, input);
    return {
      segment: index + 1,
      drive: isDrive ? ++drives : null,
      startMs: piece.startMs,
      endMs: piece.endMs,
      seconds: piece.ms / 1000,
      ...distanceOf(stats),
      fuelL: fuelOf(stats),
      rows: piece.rows,
      stats,
    };
  });
}

function statsOf(sums: readonly SignalSums[], rows: number, { plan, stages }: SummaryInput): SignalStats[] {
  return plan.signals.map((signal, index) => {
    const channel = plan.channels.find((candidate) => candidate.signal === signal) as ChannelPlan;
    return signalStats(sums[index] as SignalSums, rows, channel, stages[index] ?? []);
  });
}

function signalStats(sums: SignalSums, rows: number, channel: ChannelPlan, stages: readonly string[]): SignalStats {
  const cellRejects = sums.rejects.reduce((total, count) => total + count, 0);
  const some = sums.valid > 0;
  const held = sums.held();
  return {
    signal: channel.signal as SignalStats['signal'],
    header: channel.header,
    sourceUnit: channel.sourceUnit,
    confidence: channel.confidence,
    valid: sums.valid,
    blank: rows - sums.valid - sums.jumps - cellRejects,
    min: some ? sums.min : null,
    minAtMs: some ? sums.minAt : null,
    max: some ? sums.max : null,
    maxAtMs: some ? sums.maxAt : null,
    first: some ? sums.first : null,
    last: some ? sums.last : null,
    mean: held.ms > 0 ? held.valueMs / held.ms : null,
    seconds: held.ms / 1000,
    rejected: rejectedBy(sums),
    stuckSeconds: sums.stuckMs / 1000,
    secondsAtOrAbove: Object.fromEntries(stages.map((stage, at) => [stage, (sums.stageMs[at] as number) / 1000])),
  };
}

function rejectedBy(sums: SignalSums): Record<string, number> {
  const counts: [string, number][] = CELL_REJECTS.map((reason, index) => [reason, sums.rejects[index] as number]);
  counts.push(['jump', sums.jumps], ['stuck', sums.stuck]);
  return Object.fromEntries(counts.filter(([, count]) => count > 0));
}

function totals(signals: readonly SignalStats[]): Record<string, number> {
  const sum: Record<string, number> = {};
  for (const { rejected } of signals) {
    for (const [reason, count] of Object.entries(rejected)) sum[reason] = (sum[reason] ?? 0) + count;
  }
  return sum;
}

function distanceOf(stats: readonly SignalStats[]): Pick<Segment, 'distanceKm' | 'distanceSource'> {
  const odometer = stats.find(({ signal }) => signal === 'odometer_km');
  const moved = odometer?.first != null && odometer.last != null ? odometer.last - odometer.first : 0;
  if (moved > 0) return { distanceKm: moved, distanceSource: 'odometer' };
  const speed = stats.find(({ signal }) => signal === 'vehicle_speed_kmh');
  if (speed?.mean == null) return { distanceKm: null, distanceSource: null };
  return { distanceKm: (speed.mean * speed.seconds) / 3600, distanceSource: 'speed' };
}

/** From the counter of fuel used if it moved, else from the rate by the hold rule. */
function fuelOf(stats: readonly SignalStats[]): number | null {
  const used = stats.find(({ signal }) => signal === 'fuel_used_l');
  if (used?.first != null && used.last != null && used.last > used.first) return used.last - used.first;
  const rate = stats.find(({ signal }) => signal === 'fuel_rate_lph');
  return rate?.mean == null ? null : (rate.mean * rate.seconds) / 3600;
}

function dwellOf({ segment, drive }: Segment, piece: Piece, plan: LogPlan): DwellRow[] {
  const rows: DwellRow[] = [];
  piece.sums.forEach(({ dwell }, index) => {
    const signal = plan.signals[index] as DwellRow['signal'];
    dwell?.visit((bin, ms, valueMs, min, max) => {
      const [low, high] = [dwell.bins.edge(bin), dwell.bins.edge(bin + 1)];
      rows.push({ segment, drive, signal, low, high, seconds: ms / 1000, valueSeconds: valueMs / 1000, min, max });
    });
  });
  return rows;
}
