import type { LakeKeeping, LakeUpkeep } from '@tallybay/contracts';
import {
  type AgedUpload,
  compact,
  type ExpiredUpload,
  expirePacks,
  expireUploads,
  forgetLostPacks,
  OwnFiles,
  oldestKeptMs,
  type Removed,
  removeAbandoned,
  removeSupersededRankings,
  removeWithheld,
  withheldFiles,
} from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import { recordUpkeep } from './upkeep-record.js';

const PAGE = 500;
const DAY_MS = 86_400_000;
const SETTLE_MS = 5_000;
/** What one round does at most, so that nobody waits long to decode something again. */
const LIMITS = { mostPacks: 200, mostMs: 20_000 };

export interface LakeUpkeepParts {
  registry: Registry;
  lakeDirectory: string;
  keeping(): Promise<LakeKeeping>;
  /** Longer than any query may run. */
  graceMs(): Promise<number>;
  nowMs(): number;
  settleMs?: number;
}

/** One round of upkeep. It may be killed at any moment: what is left is done by the next one. */
export class LakeUpkeeper {
  constructor(private readonly parts: LakeUpkeepParts) {}

  /** Under the lease of the job: decoding an upload again takes the same one. */
  async round(): Promise<LakeUpkeep> {
    const { lakeDirectory, keeping, graceMs, nowMs } = this.parts;
    const now = nowMs();
    const keep = await keeping();
    const grace = await graceMs();
    const settled = {
      settleMs: this.parts.settleMs ?? SETTLE_MS,
      isSettled: (ids: readonly string[]) => this.isSettled(ids, now),
    };
    const removed = removeWithheld(lakeDirectory, now, grace);
    forgetLostPacks(lakeDirectory);
    const packed = await compact(lakeDirectory, { ...LIMITS, ...settled, nowMs: now, graceMs: grace });
    const expired = await this.expire(keep, now);
    const days = keep.superseded_rankings;
    const none: Removed = { files: 0, bytes: 0 };
    const superseded = days === null ? none : await removeSupersededRankings(lakeDirectory, now - days * DAY_MS);
    const tables = expired.flatMap((upload) => upload.tables);
    const upkeep: LakeUpkeep = {
      at: new Date(now).toISOString(),
      ...{ packed, removed, superseded, abandoned: removeAbandoned(lakeDirectory, now) },
      expired: {
        uploads: expired.length,
        tables: Object.fromEntries(
          [...Map.groupBy(tables, (table) => table)].map(([table, all]) => [table, all.length]),
        ),
      },
      withheld: withheldFiles(lakeDirectory).size,
    };
    recordUpkeep(lakeDirectory, upkeep);
    return upkeep;
  }

  /** Takes out what is older than its table keeps, and says so at the upload. */
  private async expire(keep: LakeKeeping, now: number): Promise<ExpiredUpload[]> {
    const { registry, lakeDirectory } = this.parts;
    const { superseded_rankings, ...days } = keep;
    const beforeMs = oldestKeptMs(days, now);
    if (beforeMs === null) return [];
    const all: ExpiredUpload[] = expirePacks(lakeDirectory, days, now);
    for (const upload of all) await this.note(upload, keep, now);
    const own = new OwnFiles(lakeDirectory);
    let before: string | undefined;
    for (;;) {
      const page = await registry.uploads.list({
        ...{ state: 'stored', limit: PAGE, span: { fromMs: 0, toMs: beforeMs } },
        ...(before === undefined ? {} : { before }),
      });
      const aged = page.flatMap((row): AgedUpload[] =>
        row.vehicle === null || row.lastTime === null
          ? []
          : [{ vehicleId: row.vehicle, uploadId: row.id, lastMs: Date.parse(row.lastTime) }],
      );
      const expired = expireUploads(lakeDirectory, aged, { keep: days, nowMs: now, own });
      for (const upload of expired) await this.note(upload, keep, now);
      all.push(...expired);
      if (page.length < PAGE) return all;
      before = page.at(-1)!.id;
    }
  }

  /** Stored for a day, so that nothing of it is under way any more. */
  private async isSettled(ids: readonly string[], now: number): Promise<boolean> {
    for (const id of ids) {
      const row = await this.parts.registry.uploads.get(id);
      if (row?.state !== 'stored' || row.storedAt === null || Date.parse(row.storedAt) > now - DAY_MS) return false;
    }
    return true;
  }

  private async note({ uploadId, tables }: ExpiredUpload, keep: LakeKeeping, now: number): Promise<void> {
    const { uploads } = this.parts.registry;
    const row = await uploads.get(uploadId);
    if (!row) return;
    const day = new Date(now).toISOString().slice(0, 10);
    const why = tables.map((table) => `${table} ${keep[table as keyof LakeKeeping]}`).join(', ');
    const decision = {
      what: 'rows removed',
      value: tables.join(', '),
      why: `on ${day}: older than the days they are kept (${why}); decode the upload again to have them back`,
    };
    await uploads.update(uploadId, { decisions: [...row.decisions, decision] });
  }
}
