import {
  asideHeader,
  type NewMarker,
  type Note,
  type Recording,
  type RecordingList,
  TallybayError,
  type Trace,
  type Vehicle,
} from '@tallybay/contracts';
import { DEFAULT_HOLD_SECONDS, isSignalId } from '@tallybay/decode';
import { asideFacts, Lake, logFacts, overlapsOf, readCountedTime, recordingFacts, TraceReader } from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import { HEAT_SIGNALS, type RuleSet, stagesFor } from '@tallybay/risk';
import { findEpisodes, withPeakContext } from './episode-search.js';
import { decimalOf, glanceFrom, markersFrom, overlapFrom, signalsFrom, traceFrom } from './recording-report.js';

const LAKE_OPTIONS = { threads: 1, memoryLimit: '512MB' };
const MOST_RECORDINGS = 500;

/** A log in the lake. */
interface Stored {
  upload: NonNullable<Awaited<ReturnType<Registry['uploads']['get']>>>;
  vehicle: string;
  firstMs: number;
  lastMs: number;
}

/** One log at full rate: what is in it, and as much of it as a screen can show. */
export class Recordings {
  private readonly traces: TraceReader;

  constructor(
    private readonly registry: Registry,
    private readonly lakeDirectory: string,
    private readonly rules: () => Promise<RuleSet>,
  ) {
    this.traces = new TraceReader(lakeDirectory);
  }

  close(): void {
    this.traces.close();
  }

  /** Logs of a vehicle, newest first. @throws TallybayError `vehicle_not_found` */
  async list(vehicle: string): Promise<RecordingList> {
    if (!(await this.registry.vehicles.get(vehicle)))
      throw new TallybayError('vehicle_not_found', `There is no vehicle ${vehicle}`, {
        advice: 'GET /v1/vehicles lists what is registered',
      });
    const uploads = await this.registry.uploads.list({ vehicle, kind: 'log', limit: MOST_RECORDINGS });
    const facts = await this.withLake(vehicle, (lake) => logFacts(lake, vehicle));
    const factsOf = new Map(facts.map((row) => [row.upload_id, row]));
    return { vehicle, recordings: uploads.map((upload) => glanceFrom(upload, factsOf.get(upload.id))) };
  }

  /** @throws TallybayError `upload_unknown` when it is no log in the lake (as all of these) */
  async get(id: string): Promise<Recording> {
    const { upload, vehicle: key, firstMs, lastMs } = await this.stored(id);
    const registered = await this.registry.vehicles.get(key);
    // A vehicle that was unregistered meanwhile keeps its recordings, under the stages of every class.
    const vehicle: Vehicle = registered ?? { id: key, vehicleClass: '*', depot: '' };
    const depot = await this.registry.depots.list();
    const rules = await this.rules();
    const decimal = decimalOf(upload);
    const { facts, aside, logs, episodes, overlaps } = await this.withLake(key, async (lake) => {
      const facts = await recordingFacts(lake, id);
      const aside = upload.unmapped.length > 0 ? await asideFacts(lake, id, decimal) : [];
      // Who asks for the recording asks for its usual signals next; long logs are read through meanwhile.
      const rows = upload.counts?.rowsKept ?? 0;
      this.traces.prepare(
        { vehicle: key, upload: id, firstMs, lastMs, rows, decimal },
        signalsFrom(facts, aside).suggested,
      );
      const drives = new Map(
        facts.drives.map((row) => [row.drive_id, { startedMs: row.started_ms, endedMs: row.ended_ms }]),
      );
      const span = { upload: id, fromMs: firstMs - 1, toMs: lastMs + 1 };
      return {
        facts,
        aside,
        logs: await logFacts(lake, key, id),
        episodes: await withPeakContext(lake, key, await findEpisodes(lake, { vehicle, rules, drives, ...span })),
        overlaps: overlapsOf(await readCountedTime(lake, span)).filter(({ uploadId }) => uploadId === id),
      };
    });
    const { signals: _names, drives: _count, unmapped: _unmapped, ...glance } = glanceFrom(upload, logs[0]);
    return {
      ...glance,
      ...{ vehicle: key, timeZone: depot.find((one) => one.id === vehicle.depot)?.timeZone ?? 'UTC', episodes },
      ...{ decisions: upload.decisions, ...signalsFrom(facts, aside), overlaps: overlaps.map(overlapFrom) },
      drives: facts.drives.map((row) => ({
        ...{ id: row.drive_id, from: new Date(row.started_ms).toISOString(), to: new Date(row.ended_ms).toISOString() },
        distanceKm: row.distance_km,
      })),
      markers: markersFrom(facts, await this.registry.notes.inRecording(id)),
      stages: HEAT_SIGNALS.flatMap((signal) =>
        stagesFor(rules.stages, signal, vehicle).map(({ stage, valueC, written }) => ({
          signal,
          stage,
          value: valueC,
          written,
        })),
      ),
    };
  }

  /** @throws TallybayError `parameter_invalid` for a signal that neither the catalogue nor the log has, or a span that ends before it begins */
  async trace(
    id: string,
    ask: { signals: string[]; fromMs?: number | undefined; toMs?: number | undefined; points: number },
  ): Promise<Trace> {
    const { upload, vehicle, firstMs, lastMs } = await this.stored(id);
    const signals = ask.signals.map((name) => recordedSignal(name, upload.unmapped));
    const fromMs = Math.max(ask.fromMs ?? firstMs, firstMs);
    const toMs = Math.min(ask.toMs ?? lastMs, lastMs);
    if (ask.fromMs !== undefined && ask.toMs !== undefined && ask.fromMs >= ask.toMs)
      throw new TallybayError('parameter_invalid', 'from: must be before to', {
        advice: 'Give the span as from and to, RFC 3339',
        place: { field: 'from' },
      });
    const rows = upload.counts?.rowsKept ?? 0;
    const key = { vehicle, upload: id, firstMs, lastMs, rows, decimal: decimalOf(upload) };
    const span = { fromMs, toMs: Math.max(toMs, fromMs + 1) };
    const found = await this.traces.read(key, { ...span, signals, points: ask.points });
    return traceFrom(id, { ...span, signals, holdMs: DEFAULT_HOLD_SECONDS * 1000 }, found);
  }

  /** @throws TallybayError `body_invalid` for an instant outside the recording */
  async addMarker(id: string, { at, text, by }: NewMarker): Promise<Note> {
    const { vehicle, firstMs, lastMs, upload } = await this.stored(id);
    const atMs = Date.parse(at);
    if (atMs < firstMs || atMs > lastMs)
      throw new TallybayError(
        'body_invalid',
        `at: ${at} lies outside the recording (${upload.firstTime} to ${upload.lastTime})`,
        {
          advice: 'Choose an instant within the recording',
          place: { field: 'at' },
        },
      );
    return this.registry.notes.add({ vehicle, upload: id, atMs, text, by });
  }

  async removeMarker(id: string, marker: string, by: string): Promise<boolean> {
    const { vehicle } = await this.stored(id);
    return this.registry.notes.remove(marker, { vehicle, upload: id }, by);
  }

  private async stored(id: string): Promise<Stored> {
    const upload = await this.registry.uploads.get(id);
    const stored =
      upload?.kind === 'log' && upload.vehicle !== null && upload.firstTime !== null && upload.lastTime !== null;
    if (upload && stored)
      return {
        ...{ upload, vehicle: upload.vehicle!, firstMs: Date.parse(upload.firstTime!) },
        lastMs: Date.parse(upload.lastTime!),
      };
    const what = upload
      ? `The upload ${id} is ${upload.kind === 'log' ? `${upload.state}, not in the lake yet` : 'a snapshot, no recording'}`
      : `There is no recording ${id}`;
    throw new TallybayError('upload_unknown', what, {
      advice: 'GET /v1/vehicles/{id}/recordings lists those of a vehicle',
    });
  }

  private async withLake<T>(vehicle: string, work: (lake: Lake) => Promise<T>): Promise<T> {
    const lake = await Lake.open(this.lakeDirectory, { ...LAKE_OPTIONS, vehicle });
    try {
      return await work(lake);
    } finally {
      lake.close();
    }
  }
}

/** A signal of the catalogue, or a channel of this log that was kept aside. */
function recordedSignal(id: string, aside: readonly string[]): string {
  const header = asideHeader(id);
  if (isSignalId(id) || (header !== null && aside.includes(header))) return id;
  const what = header === null ? `no signal "${id}" in the catalogue` : `no channel "${header}" kept aside in this log`;
  throw new TallybayError('parameter_invalid', `signals: there is ${what}`, {
    advice: 'GET /v1/recordings/{upload} lists the signals that were recorded',
    place: { field: 'signals' },
  });
}
