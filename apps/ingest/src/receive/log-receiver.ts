import {
  type Decision,
  type LogParameters,
  type ProblemDocument,
  TallybayError,
  type UploadReceipt,
} from '@tallybay/contracts';
import { type LogPlan, type PlanHints, timeNeed } from '@tallybay/decode';
import type { Registry } from '@tallybay/registry';
import { type OpenedBody, openBody } from './body.js';
import { BufferPool } from './buffer-pool.js';
import { Chunker, MAX_CHUNK_BYTES } from './chunker.js';
import { identifyVehicle } from './identify.js';
import type { KnownUploads } from './known-upload.js';
import type { LandingDraft, LandingStore } from './landing.js';
import { firstInstantMs, planOrThrow } from './planning.js';
import type { Publisher } from './publisher.js';
import { receiptOf, uploadIdOf } from './receipt.js';
import { correctSpeed } from './speed.js';

/** A log's way in: head read and understood, bytes landed, vehicle and time settled or waiting, chunks on the stream. */
export class LogReceiver {
  constructor(
    private readonly registry: Registry,
    private readonly landing: LandingStore,
    private readonly publisher: Publisher,
    private readonly known: KnownUploads,
    private readonly options: { maxBytes: number; nowMs: () => number },
  ) {}

  /**
   * @param source the log's bytes, plain or gzip, of any size
   * @returns once landing and stream have it: `duplicate` for content seen before
   * @throws TallybayError for what cannot be a log, a cut connection, or a store that does not answer
   */
  async receive(source: AsyncIterable<Uint8Array>, parameters: LogParameters): Promise<UploadReceipt> {
    const body = await openBody(source, this.options.maxBytes);
    const plan = planOrThrow(body.head, await this.hints(parameters), body.complete);
    const draft = await this.landing.begin();
    try {
      await land(body, draft, plan);
      return await this.settle(draft, plan, parameters, body.head);
    } catch (error) {
      await draft.discard();
      throw error;
    }
  }

  /** What content that was sent before became; null for new content, and for what failed, whose bytes are wanted again. */
  async seen(sha256: string): Promise<UploadReceipt | null> {
    const row = await this.registry.uploads.get(uploadIdOf(sha256));
    if (!row || row.state === 'failed') return null;
    if (row.state === 'landed') await this.known.ensureSent(row);
    return receiptOf((await this.registry.uploads.get(row.id)) ?? row, true);
  }

  private async hints(parameters: LogParameters): Promise<PlanHints> {
    const profile = parameters.recorder ? await this.registry.profiles.forRecorder(parameters.recorder) : null;
    return {
      ...(parameters.fileName ? { fileName: parameters.fileName } : {}),
      ...(parameters.recordedAt ? { recordedAtMs: Date.parse(parameters.recordedAt) } : {}),
      ...(parameters.timeZone ? { timeZone: parameters.timeZone } : {}),
      ...(profile ? { profile } : {}),
    };
  }

  private async settle(
    draft: LandingDraft,
    plan: LogPlan,
    parameters: LogParameters,
    head: Uint8Array,
  ): Promise<UploadReceipt> {
    await draft.written();
    const sha256 = draft.sha256;
    const id = uploadIdOf(sha256);
    const known = await this.registry.uploads.get(id);
    if (known) return receiptOf(await this.known.settle(known, draft), true);
    const { name, landed } = await this.landing.keep(draft, id);
    const where = await this.whereAndWhen(plan, parameters, head);
    const settled = await correctSpeed(this.registry, plan, where.vehicle, where.atMs);
    const { inserted, row } = await this.registry.uploads.insertIfAbsent({
      id,
      kind: 'log',
      state: where.problem ? 'waiting' : 'landed',
      vehicle: where.vehicle,
      recorder: parameters.recorder ?? plan.recorder,
      fileName: parameters.fileName ?? null,
      bytes: landed.bytes,
      sha256,
      receivedAt: new Date(this.options.nowMs()).toISOString(),
      progress: { chunks: landed.frames.length, decoded: 0 },
      decisions: [...settled.decisions, ...where.decisions],
      unmapped: plan.channels.filter((channel) => channel.role === 'unmapped').map((channel) => channel.header),
      problem: where.problem,
      landingFile: name,
      plan: settled,
    });
    if (!inserted) {
      if (row.state === 'landed') await this.known.ensureSent(row);
      return receiptOf((await this.registry.uploads.get(id)) ?? row, true);
    }
    if (row.state === 'landed') await this.publisher.publish(row);
    return receiptOf((await this.registry.uploads.get(id)) ?? row, false);
  }

  /** Settles vehicle and time, in that order of asking; the first that is missing is what the upload waits for. */
  private async whereAndWhen(
    plan: LogPlan,
    parameters: LogParameters,
    head: Uint8Array,
  ): Promise<{ vehicle: string | null; decisions: Decision[]; problem: ProblemDocument | null; atMs: number | null }> {
    const need = timeNeed(plan);
    const atMs = need === null ? firstInstantMs(plan, head) : null;
    const identified = await identifyVehicle(this.registry, {
      named: parameters.vehicle ?? null,
      vin: plan.vin,
      recorder: parameters.recorder ?? plan.recorder,
      atMs,
    });
    if (identified.problem || need === null) return { ...identified, atMs };
    return { ...identified, atMs, problem: timeProblem(need).toDocument() };
  }
}

const buffers = new BufferPool(MAX_CHUNK_BYTES);

/** Moves the body through the chunker into the draft, hashing on the way. */
async function land(body: OpenedBody, draft: LandingDraft, plan: LogPlan): Promise<void> {
  const ready: Uint8Array[] = [];
  const encoding = plan.dialect?.encoding ?? 'utf-8';
  const wide = encoding === 'utf-16le' || encoding === 'utf-16be';
  const chunker = new Chunker(
    {
      unitBytes: wide ? 2 : 1,
      littleEndian: encoding === 'utf-16le',
      quotes: plan.format === 'csv',
      takeBuffer: () => buffers.take(),
    },
    (chunk) => ready.push(chunk),
  );
  const drain = async () => {
    for (const chunk of ready.splice(0)) await draft.add(chunk, () => buffers.give(chunk));
  };
  for await (const bytes of body.bytes) {
    draft.digest(bytes);
    chunker.push(bytes);
    if (ready.length > 0) await drain();
  }
  chunker.finish();
  await drain();
}

export function timeProblem(need: 'time_missing' | 'zone_missing'): TallybayError {
  return need === 'zone_missing'
    ? new TallybayError('zone_missing', "The log's clock shows local time and nothing says in which time zone", {
        advice:
          'Release the upload with its timeZone (such as America/Denver), or save the zone in the recorder profile.',
      })
    : new TallybayError(
        'time_missing',
        'The log has no date: only a clock or elapsed time, and nothing says when it began',
        {
          advice: 'Release the upload with recordedAt, the instant of its first row.',
        },
      );
}
