import type { Depot, Ranking, Vehicle } from '@tallybay/contracts';
import { describeCode } from '@tallybay/decode';
import {
  Lake,
  listRankings,
  type ReferenceRow,
  type ReferenceTable,
  readRanking,
  readSnapshotFacts,
  writeReference,
} from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import { codeHistories, type RuleSet, readinessVerdict, type SnapshotFact } from '@tallybay/risk';
import type { Logger } from 'pino';
import { Copy } from './copy.js';
import { EpisodeExport } from './episode-export.js';
import { rankingRows } from './ranking-rows.js';

const MS_PER_HOUR = 3_600_000;
const MS_PER_DAY = 86_400_000;
const LAKE_OPTIONS = { threads: 1, memoryLimit: '512MB' };
const UPLOADS_A_PAGE = 10_000;

export interface ReferenceParts {
  registry: Registry;
  lakeDirectory: string;
  rules: () => Promise<RuleSet>;
  log: Logger;
  nowMs: () => number;
}

/** Copies of decisions and judgements in the lake, for SQL: made when somebody asks and they are not fresh. */
export class ReferenceExport {
  private readonly decisions: Copy;
  private readonly episodes: Copy;

  constructor(private readonly parts: ReferenceParts) {
    const exported = new EpisodeExport(parts.lakeDirectory);
    this.decisions = new Copy(parts, () => this.writeDecisions());
    this.episodes = new Copy(parts, () => this.writeEpisodes(exported));
  }

  /** Epoch ms of the newest copy of decisions; null before the first. */
  get asOfMs(): number | null {
    return this.decisions.asOfMs;
  }

  /**
   * Episodes are cut from samples, which can take long after many uploads: only who asks for them waits for them.
   * @param sql the statement that the copies are for
   * @param wait until what is known now has been copied. @throws TallybayError `lake_unwritable` when it had to wait
   */
  async refresh(sql: string, wait: boolean): Promise<void> {
    await this.decisions.refresh(wait ? 'now' : 'recent');
    await this.episodes.refresh(!asksFor(sql, 'episodes') ? 'any' : wait ? 'now' : 'recent');
  }

  private async writeDecisions(): Promise<void> {
    const { registry, lakeDirectory, nowMs } = this.parts;
    const startedMs = nowMs();
    const rules = await this.parts.rules();
    const vehicles = await registry.vehicles.list({});
    const depots = await registry.depots.list();
    const snapshots = await this.snapshots(startedMs);
    writeReference(
      lakeDirectory,
      'vehicles',
      vehicles.map((vehicle) => vehicleRow(vehicle, depots)),
    );
    writeReference(lakeDirectory, 'upload_states', await this.uploadRows());
    writeReference(lakeDirectory, 'code_history', codeRows(vehicles, snapshots, rules));
    const judged = { vehicles, depots, snapshots, rules, asOfMs: startOfHour(startedMs) };
    writeReference(lakeDirectory, 'verdicts', verdictRows(judged));
    writeReference(lakeDirectory, 'inspections', inspectionRows(judged));
    writeReference(lakeDirectory, 'rankings', await this.rankingRows());
  }

  private async snapshots(nowMs: number): Promise<ReadonlyMap<string, SnapshotFact[]>> {
    const lake = await Lake.open(this.parts.lakeDirectory, LAKE_OPTIONS);
    return readSnapshotFacts(lake, nowMs).finally(() => lake.close());
  }

  private async writeEpisodes(episodes: EpisodeExport): Promise<void> {
    const { registry, lakeDirectory } = this.parts;
    const rows = await episodes.rows(await registry.vehicles.list({}), await this.parts.rules(), (only) =>
      Lake.open(lakeDirectory, { ...LAKE_OPTIONS, ...only }),
    );
    writeReference(lakeDirectory, 'episodes', rows);
  }

  private async uploadRows(): Promise<ReferenceRow<'upload_states'>[]> {
    const rows: ReferenceRow<'upload_states'>[] = [];
    for (let before: string | undefined; ; ) {
      const page = await this.parts.registry.uploads.list({ limit: UPLOADS_A_PAGE, ...(before ? { before } : {}) });
      rows.push(
        ...page.map((upload) => ({
          ...{ upload_id: upload.id, vehicle_id: upload.vehicle, kind: upload.kind, state: upload.state },
          ...{ recorder_id: upload.recorder, file_name: upload.fileName, bytes: upload.bytes },
          received_at: Date.parse(upload.receivedAt),
          stored_at: upload.storedAt === null ? null : Date.parse(upload.storedAt),
          problem: upload.problem?.detail ?? null,
        })),
      );
      before = page.at(-1)?.id;
      if (page.length < UPLOADS_A_PAGE) return rows;
    }
  }

  private async rankingRows(): Promise<ReferenceRow<'rankings'>[]> {
    const { lakeDirectory } = this.parts;
    const published = await listRankings(lakeDirectory);
    const newest = new Map(published.map(({ week }) => [week, 0]));
    for (const { week, revision } of published) newest.set(week, Math.max(newest.get(week) ?? 0, revision));
    const rankings: Ranking[] = [];
    for (const { week, revision } of published) {
      const ranking = await readRanking(lakeDirectory, week, revision);
      if (ranking) rankings.push(ranking);
    }
    return rankings.flatMap((ranking) => rankingRows(ranking, newest.get(ranking.week) === ranking.revision));
  }
}

/** Names have no escapes in DuckDB's SQL: a statement that reads a table has its name in it as a word. */
const asksFor = (sql: string, table: ReferenceTable): boolean => new RegExp(`\\b${table}\\b`, 'i').test(sql);

interface Judged {
  vehicles: readonly Vehicle[];
  depots: readonly Depot[];
  snapshots: ReadonlyMap<string, SnapshotFact[]>;
  rules: RuleSet;
  /** Start of the hour: judgements that stay the same for an hour stay the same bytes. */
  asOfMs: number;
}

const startOfHour = (ms: number): number => Math.floor(ms / MS_PER_HOUR) * MS_PER_HOUR;
const daysOf = (date: string | undefined): number | null =>
  date === undefined ? null : Math.floor(Date.parse(date) / MS_PER_DAY);

function vehicleRow(vehicle: Vehicle, depots: readonly Depot[]): ReferenceRow<'vehicles'> {
  const depot = depots.find(({ id }) => id === vehicle.depot);
  return {
    ...{ vehicle_id: vehicle.id, name: vehicle.name ?? null, vin: vehicle.vin ?? null },
    ...{ vehicle_class: vehicle.vehicleClass, depot: vehicle.depot, depot_name: depot?.name ?? null },
    route: vehicle.route ?? null,
    ...{ time_zone: depot?.timeZone ?? 'UTC', model_year: vehicle.modelYear ?? null, fuel: vehicle.fuel ?? null },
    inspection_due: daysOf(vehicle.inspectionDue),
  };
}

function codeRows(
  vehicles: readonly Vehicle[],
  snapshots: ReadonlyMap<string, SnapshotFact[]>,
  rules: RuleSet,
): ReferenceRow<'code_history'>[] {
  return vehicles.flatMap((vehicle) =>
    codeHistories(snapshots.get(vehicle.id) ?? [], rules.codes).map((history) => ({
      ...{ vehicle_id: vehicle.id, code: history.code, text: describeCode(history.code).text },
      ...{ module: history.module, status: history.status, active: history.active },
      ...{ first_seen_at: history.firstSeenMs, last_seen_at: history.lastSeenMs },
      ...{ spans: history.spans.length, returns: history.returns.length },
      last_return_at: history.returns.length === 0 ? null : Math.max(...history.returns.map(({ atMs }) => atMs)),
    })),
  );
}

function verdictRows({ vehicles, snapshots, rules, asOfMs }: Judged): ReferenceRow<'verdicts'>[] {
  return vehicles.flatMap((vehicle) => {
    const own = snapshots.get(vehicle.id) ?? [];
    const newest = own.length === 0 ? null : Math.max(...own.map(({ atMs }) => atMs));
    return rules.programmes.map((programme) => {
      const { verdict, blocking, why } = readinessVerdict(programme, vehicle, own);
      return {
        ...{ vehicle_id: vehicle.id, programme: programme.id, verdict, blocking: blocking.join(',') },
        ...{ why: why.join(' '), newest_snapshot_at: newest, as_of: asOfMs },
      };
    });
  });
}

function inspectionRows({ vehicles, depots, snapshots, rules, asOfMs }: Judged): ReferenceRow<'inspections'>[] {
  return vehicles.flatMap((vehicle) => {
    const due = daysOf(vehicle.inspectionDue);
    if (due === null) return [];
    const timeZone = depots.find(({ id }) => id === vehicle.depot)?.timeZone ?? 'UTC';
    const today = daysOf(new Intl.DateTimeFormat('en-CA', { timeZone }).format(asOfMs))!;
    return rules.programmes.map((programme) => ({
      ...{ vehicle_id: vehicle.id, depot: vehicle.depot, due, due_in_days: due - today, programme: programme.id },
      ...{ verdict: readinessVerdict(programme, vehicle, snapshots.get(vehicle.id) ?? []).verdict, as_of: asOfMs },
    }));
  });
}
