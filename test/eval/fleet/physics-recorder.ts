import { createAccumulator, isSignalId, type LogAccumulator, type SampleBatch, type SignalId } from '@tallybay/decode';
import { HISTORY_SIGNALS } from '@tallybay/risk';
import { type DriveSetup, RandomStream, recorderChannels, type StateWatcher } from '@tallybay/synthetic-fleet';
import type { RecordedDrive } from './eval-vehicle.js';
import { planOf, recordedDrives } from './recorded-drives.js';
import { isWithout, temperatureError, WORSE_RECORDERS, type WorseRecorders } from './worse-recorders.js';

type ChannelRow = ReturnType<typeof recorderChannels>[number];

/** The physics steps ten times a second. */
const STEPS_PER_SECOND = 10;
const ROWS = 512;
const NEEDED: readonly SignalId[] = [...HISTORY_SIGNALS, 'odometer_km'];

/**
 * Stands between the physics and the decode path, in place of a file: each recorder's own channels with their resolution
 * and noise, once a second, straight into the accumulator that every log goes through.
 */
export class PhysicsRecorder {
  private readonly channels: ChannelRow[];
  private readonly errors: (((valueC: number) => number) | null)[];
  private readonly accumulator: LogAccumulator;
  private readonly batch: SampleBatch;
  private readonly noise: RandomStream;
  private readonly wrongUnit: boolean;
  private step = 0;
  private rows = 0;

  constructor(
    private readonly uploadId: string,
    private readonly setup: DriveSetup,
    worse: WorseRecorders = WORSE_RECORDERS.none,
    private readonly rateHz = 1,
  ) {
    const { plan, recorder, drive } = setup;
    this.channels = recorderChannels(plan, recorder).filter(
      ({ key }) => (NEEDED as readonly string[]).includes(key) && !isWithout(worse, key),
    );
    this.errors = this.channels.map(({ key, kind }) =>
      kind === 'temperature' ? temperatureError(worse, key, { vehicle: plan.id, ordinal: drive.ordinal }) : null,
    );
    const signals = this.channels.flatMap(({ key }) => (isSignalId(key) ? [key] : []));
    this.wrongUnit = plan.sensorFault?.kind === 'wrong_unit' && drive.startMs >= plan.sensorFault.fromMs;
    this.accumulator = createAccumulator(planOf(signals, 'degC'));
    this.noise = new RandomStream(`physics-recorder/${plan.id}/${drive.ordinal}`);
    this.batch = emptyBatch(signals.length);
  }

  readonly watch: StateWatcher = (state, context) => {
    if (this.step++ % Math.round(STEPS_PER_SECOND / this.rateHz) !== 0) return;
    const { batch } = this;
    batch.timeMs[batch.rowCount] = this.setup.drive.startMs + state.clockS * 1000;
    batch.row[batch.rowCount] = ++this.rows;
    this.channels.forEach((channel, index) => {
      const value = channel.value(state, context);
      const error = this.errors[index]?.(value) ?? 0;
      batch.values[index]![batch.rowCount] = this.written(channel, value + error);
    });
    if (++batch.rowCount === ROWS) this.flush();
  };

  finish(): RecordedDrive[] {
    this.flush();
    const counts = { rows: this.rows, rowsRejectedBy: {}, firstRows: {}, repeatedHeaders: 0, unanchoredRestarts: 0 };
    return recordedDrives(this.uploadId, this.accumulator.finish(counts));
  }

  private written({ quantum, noise, kind }: ChannelRow, value: number): number {
    const noisy = noise > 0 && value !== 0 ? value + (this.noise.next() * 2 - 1) * noise : value;
    const stepped = Math.round(noisy / quantum) * quantum;
    return this.wrongUnit && kind === 'temperature' ? stepped * 1.8 + 32 : stepped;
  }

  private flush(): void {
    if (this.batch.rowCount > 0) this.accumulator.add(this.batch);
    this.batch.rowCount = 0;
  }
}

const emptyBatch = (signals: number): SampleBatch => ({
  ...{ rowCount: 0, rejectCount: 0, markers: [], unmapped: [] },
  ...{ row: new Float64Array(ROWS), timeMs: new Float64Array(ROWS) },
  values: Array.from({ length: signals }, () => new Float64Array(ROWS)),
  ...{ rejectRow: new Int32Array(0), rejectSignal: new Int32Array(0), rejectReason: new Uint8Array(0) },
});
