import {
  classifyError,
  type LogChunkMeta,
  type ProblemDocument,
  type SnapshotMeta,
  TallybayError,
} from '@tallybay/contracts';
import { within } from '@tallybay/trace';
import type { DecodeParts } from './decode-parts.js';
import { ThreadEnded } from './decode-pool.js';
import type { Delivered } from './lane.js';
import type { DecodedLog } from './log-session.js';
import { pause, persist, waits } from './patience.js';
import { decodeProblem } from './write-problem.js';

/** Why an upload cannot go on from the stream: its chunks were lost, its thread died, the lake could not be written. */
export type Setback =
  | { kind: 'lost' }
  | { kind: 'thread_ended'; why: string }
  | { kind: 'unwritable'; problem: ProblemDocument };

/** An upload that ends its thread so often is itself the cause. */
const MOST_THREAD_ENDS = 2;

/** Brings uploads to an end that met trouble on the way: tried again from the landing store, or set aside. */
export class Recovery {
  constructor(
    private readonly parts: Pick<
      DecodeParts,
      'registry' | 'landed' | 'settlement' | 'nowMs' | 'lakePatienceMs' | 'log'
    >,
  ) {}

  /** Decodes from the landing store until it is stored, or set aside with what is wrong. @throws Abandoned */
  async log(upload: Delivered<LogChunkMeta>, first: Setback): Promise<void> {
    const { lane, meta } = upload;
    const untilMs = Date.now() + this.parts.lakePatienceMs;
    let setback = first;
    let ends = 0;
    for (const waitMs of waits()) {
      if (lane.closing) await pause(0, lane.signal);
      this.parts.log.warn({ uploadId: meta.uploadId, ...setback }, 'decoding again from the landing store');
      if (setback.kind === 'thread_ended' && ++ends >= MOST_THREAD_ENDS)
        return this.setAside(upload, threadProblem(setback.why, ends));
      if (setback.kind === 'unwritable') {
        if (Date.now() + waitMs > untilMs) return this.setAside(upload, setback.problem);
        await pause(waitMs, lane.signal);
      }
      const outcome = await this.fromLanding(upload);
      if (outcome.kind === 'decoded') return this.store(upload, outcome.decoded);
      if (outcome.kind === 'problem') return this.setAside(upload, outcome.problem);
      setback = outcome;
    }
  }

  /** Stores; a lake that stays unwritable ends in setting the upload aside. @throws Abandoned */
  async store(upload: Delivered<LogChunkMeta | SnapshotMeta>, decoded: DecodedLog): Promise<void> {
    try {
      const { meta, open, lane } = upload;
      await within(open.span, () => this.parts.settlement.store(meta, decoded, lane.signal));
    } catch (thrown) {
      if (!(thrown instanceof TallybayError) || thrown.code !== 'lake_unwritable') throw thrown;
      await this.setAside(upload, thrown.toDocument());
    }
  }

  /** @throws Abandoned */
  async snapshot(upload: Delivered<SnapshotMeta>, decode: () => DecodedLog): Promise<void> {
    let decoded: DecodedLog;
    try {
      const patience = this.parts.settlement.patience('lake', upload.lane.signal, upload.meta.uploadId);
      decoded = await persist(
        async () => {
          try {
            return decode();
          } catch (thrown) {
            throw decodeProblem(thrown);
          }
        },
        { ...patience, untilMs: Date.now() + this.parts.lakePatienceMs },
      );
    } catch (thrown) {
      if (!(thrown instanceof TallybayError)) throw thrown;
      return this.setAside(upload, thrown.toDocument());
    }
    await this.store(upload, decoded);
  }

  private async fromLanding(
    upload: Delivered<LogChunkMeta>,
  ): Promise<Setback | { kind: 'decoded'; decoded: DecodedLog } | { kind: 'problem'; problem: ProblemDocument }> {
    const { message, meta, lane } = upload;
    const { registry, settlement, landed } = this.parts;
    const row = await persist(
      () => registry.uploads.get(meta.uploadId),
      settlement.patience('registry', lane.signal, meta.uploadId),
    );
    const landingFile = row?.landingFile ?? '';
    const plan = message.headers.plan ?? '';
    try {
      const reply = await landed.run(lane.partition, { meta, plan, landingFile }, lane.signal);
      if (reply.kind === 'decoded') return reply;
      if (reply.kind !== 'failed') return { kind: 'thread_ended', why: 'it lost its uploads' };
      if (reply.code === 'lake_unwritable') return { kind: 'unwritable', problem: reply.problem };
      return { kind: 'problem', problem: reply.problem };
    } catch (thrown) {
      if (thrown instanceof ThreadEnded) return { kind: 'thread_ended', why: thrown.message };
      const error = classifyError(thrown);
      if (error.problem.disposition !== 'dead-letter') throw thrown;
      return { kind: 'problem', problem: error.toDocument() };
    }
  }

  private setAside(upload: Delivered<LogChunkMeta | SnapshotMeta>, problem: ProblemDocument): Promise<void> {
    upload.open.span.end(problem.detail);
    return this.parts.settlement.setAside(upload.message, upload.meta, problem, upload.lane.signal);
  }
}

const threadProblem = (why: string, times: number): ProblemDocument =>
  new TallybayError('chunk_undecodable', `Decoding this upload ended its thread ${times} times: ${why}`, {
    advice: 'Report it with the log; after a fix, decode the upload again.',
  }).toDocument();
