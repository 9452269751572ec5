import { isSignalId, signalRow } from '../signals/catalogue.js';
import { BATCH_ROWS } from './batch-builder.js';
import { DwellBins } from './dwell-bins.js';
import { SignalSums } from './piece.js';
import { ENGINE_RULES, Segmenter } from './segmenter.js';
import { SignalTrack } from './signal-track.js';
import { summarise } from './summary.js';
import type { AccumulatorOptions, LogAccumulator, LogPlan, LogSummary, ReadCounts, SampleBatch } from './types.js';

/** A value holds for at most this long. */
export const DEFAULT_HOLD_SECONDS = 5;

/**
 * Sums up a log while it is read. A value holds from its row to the next valid row of its signal; a step counts if
 * 0 < dt <= holdSeconds; a gap counts for nothing, and a step back is counted, not sorted away. The engine's state comes
 * from engine speed, else from vehicle speed, else each stretch without a gap over 300 s is one drive.
 * @throws RangeError for a stage that is no number, a signal that is not in the catalogue, or a hold limit not above 0.
 */
export function createAccumulator(plan: LogPlan, options: AccumulatorOptions = {}): LogAccumulator {
  return new Accumulator(plan, options);
}

class Accumulator implements LogAccumulator {
  private readonly segmenter: Segmenter;
  private readonly tracks: SignalTrack[];
  private readonly activity: number;
  private readonly stages: string[][];
  private readonly markers: LogSummary['markers'] = [];
  private rowsKept = 0;

  constructor(
    private readonly plan: LogPlan,
    options: AccumulatorOptions,
  ) {
    const holdMs = (options.holdSeconds ?? DEFAULT_HOLD_SECONDS) * 1000;
    if (!(holdMs > 0)) throw new RangeError(`The hold limit of ${options.holdSeconds} s is not above 0; 5 s is usual.`);
    checkStages(options.stages ?? {});
    this.stages = plan.signals.map((signal) => options.stages?.[signal] ?? []);
    const levels = this.stages.map((stages) => Float64Array.from(stages, Number));
    const bins = plan.signals.map((signal) => DwellBins.of(signalRow(signal)));
    const makeSums = () => levels.map((stages, index) => new SignalSums(stages, bins[index] ?? null));
    const rpm = plan.signals.indexOf('engine_speed_rpm');
    const speed = plan.signals.indexOf('vehicle_speed_kmh');
    this.activity = rpm >= 0 ? rpm : speed;
    const rule = rpm >= 0 ? ENGINE_RULES.rpm : speed >= 0 ? ENGINE_RULES.speed : null;
    this.segmenter = new Segmenter(rule, holdMs, makeSums, BATCH_ROWS);
    this.tracks = plan.signals.map((signal, index) => new SignalTrack(index, signalRow(signal), holdMs));
  }

  add(batch: SampleBatch): void {
    const { segmenter, tracks } = this;
    segmenter.packOld();
    const activity = this.activity < 0 ? null : (batch.values[this.activity] as Float64Array);
    const ranges = segmenter.cut(batch.timeMs, activity, batch.rowCount);
    let reject = 0;
    for (const range of ranges) {
      if (range.stop) range.piece.mergeSums(range.stop);
      for (let signal = 0; signal < tracks.length; signal++) {
        (tracks[signal] as SignalTrack).run(batch.values[signal] as Float64Array, batch.timeMs, segmenter, range);
      }
      for (; reject < batch.rejectCount && (batch.rejectRow[reject] as number) < range.to; reject++) {
        const { rejects } = range.piece.sums[batch.rejectSignal[reject] as number] as SignalSums;
        const reason = batch.rejectReason[reject] as number;
        rejects[reason] = (rejects[reason] as number) + 1;
      }
    }
    this.markers.push(...batch.markers);
    this.rowsKept += batch.rowCount;
  }

  finish(counts: ReadCounts): LogSummary {
    for (const track of this.tracks) track.endRun();
    const { plan, segmenter, stages, markers, rowsKept } = this;
    return summarise({ plan, segmenter, stages, markers, rowsKept, counts });
  }
}

function checkStages(stages: NonNullable<AccumulatorOptions['stages']>): void {
  for (const [signal, levels] of Object.entries(stages)) {
    if (!isSignalId(signal))
      throw new RangeError(`A stage is asked for "${signal}", which is not in the signal catalogue.`);
    for (const level of levels ?? []) {
      if (level.trim() === '' || !Number.isFinite(Number(level))) {
        throw new RangeError(`The stage "${level}" of ${signal} is no number; give it in ${signalRow(signal).unit}.`);
      }
    }
  }
}
