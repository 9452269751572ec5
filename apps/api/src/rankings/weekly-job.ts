import { randomUUID } from 'node:crypto';
import { type Depot, type Ranking, TallybayError, type Vehicle } from '@tallybay/contracts';
import {
  dataWeeks,
  type Lake,
  type Publication,
  publishRanking,
  readRanking,
  readRankingInput,
  withHeatPeaks,
} from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import { computeRanking, type RepairFact, type RuleSet, weekWindow } from '@tallybay/risk';

export const WEEKLY_JOB = 'weekly-ranking';

/** A run that dies holds the job no longer than this. */
const LEASE_MS = 60_000;
const RENEW_EVERY_MS = 15_000;

export interface WeeklyJobParts {
  registry: Registry;
  lakeDirectory: string;
  /** A lake of the run's own, closed after it: its memory is free again, and requests do not wait for it. */
  openLake(): Promise<Lake>;
  /** The rules in force. */
  rules(): Promise<RuleSet>;
  /** What the shop has done, by vehicle. */
  repairs?(): Promise<Map<string, RepairFact[]>>;
  /** A revision was published; it rejects for nothing. */
  onPublished?(): Promise<void>;
}

/**
 * The weekly ranking: reads the lake's facts and the registry's decisions, asks libs/risk, publishes a revision if it says
 * anything new. One run at a time over all processes.
 */
export class WeeklyJob {
  constructor(private readonly parts: WeeklyJobParts) {}

  /**
   * Ranks one week. A week that is not over is ranked provisionally and stays due.
   * @throws TallybayError `job_running`, `week_invalid`, `week_without_data`, `lake_unwritable`
   */
  async run(week: string, nowMs: number): Promise<Publication> {
    weekWindow(week, 'UTC');
    return this.exclusively((lease) => this.rank(week, nowMs, lease));
  }

  /**
   * Complete weeks that have data and were never ranked (after downtime, or because old logs came late), and ranked ones
   * for which more data arrived; oldest first, so that each finds the week before it.
   */
  async due(nowMs: number): Promise<string[]> {
    const { registry } = this.parts;
    const fleet = await this.fleet();
    const finished = new Set(await registry.jobs.finishedWeeks(WEEKLY_JOB));
    const withData = await this.withLake((lake) => dataWeeks(lake, fleet));
    const missing = withData.filter((week) => !finished.has(week) && isOver(week, fleet.depots, nowMs));
    return [...new Set([...missing, ...(await registry.jobs.weeksWithLateData(WEEKLY_JOB))])].sort();
  }

  /** Complete weeks with data, oldest first. */
  async completeWeeks(nowMs: number): Promise<string[]> {
    const fleet = await this.fleet();
    const weeks = await this.withLake((lake) => dataWeeks(lake, fleet));
    return weeks.filter((week) => isOver(week, fleet.depots, nowMs)).sort();
  }

  /** The newest complete week with data, else the newest with data, else the current one. */
  async latestWeek(nowMs: number, currentWeek: string): Promise<string> {
    const fleet = await this.fleet();
    const weeks = await this.withLake((lake) => dataWeeks(lake, fleet));
    return weeks.findLast((week) => isOver(week, fleet.depots, nowMs)) ?? weeks.at(-1) ?? currentWeek;
  }

  private async rank(week: string, nowMs: number, lease: Lease): Promise<Publication> {
    const { registry, lakeDirectory } = this.parts;
    const fleet = await this.fleet();
    const newest = await readRanking(lakeDirectory, week);
    const rules = await this.parts.rules();
    const options = { asOfMs: nowMs, revision: (newest?.revision ?? 0) + 1, rules, ...(await this.repairs()) };
    const input = await this.withLake(async (lake) => {
      if (!newest) await this.mustBeInHistory(lake, week, { fleet, nowMs });
      return withHeatPeaks(lake, await readRankingInput(lake, fleet, week, options), rules);
    });
    const ranking: Ranking = computeRanking(input, rules);
    await lease.mustHold();
    const publication = await publishRanking(lakeDirectory, ranking);
    if (!ranking.provisional)
      await registry.jobs.finishWeek(WEEKLY_JOB, { week, ...span(week, fleet.depots), startedAtMs: nowMs });
    if (publication.published) void this.parts.onPublished?.();
    return publication;
  }

  /**
   * A slip in the week would otherwise publish an empty ranking, and one that is yet to come stand first as the latest. Data
   * decides as well, since a machine's clock may be behind its recorders'. A week without data after the first one with
   * data is a real one: the fleet stood still, or its cards were not read. So is one that was ranked before.
   */
  private async mustBeInHistory(lake: Lake, week: string, now: { fleet: FleetFacts; nowMs: number }): Promise<void> {
    const { fleet, nowMs } = now;
    const { fromMs, toMs } = span(week, fleet.depots);
    if (fromMs <= nowMs && nowMs < toMs) return;
    const weeks = await dataWeeks(lake, fleet);
    if (fromMs > nowMs && !weeks.includes(week)) throw yetToCome(week, fromMs, weeks.at(-1));
    if (toMs > nowMs || weeks.some((one) => one <= week)) return;
    const finished = await this.parts.registry.jobs.finishedWeeks(WEEKLY_JOB);
    if (!finished.includes(week)) throw beforeTheHistory(week, weeks[0]);
  }

  private async repairs(): Promise<{ repairs?: Map<string, RepairFact[]> }> {
    return this.parts.repairs ? { repairs: await this.parts.repairs() } : {};
  }

  private async fleet(): Promise<FleetFacts> {
    const { registry } = this.parts;
    return { depots: await registry.depots.list(), vehicles: await registry.vehicles.list() };
  }

  private async withLake<T>(work: (lake: Lake) => Promise<T>): Promise<T> {
    const lake = await this.parts.openLake();
    try {
      return await work(lake);
    } finally {
      lake.close();
    }
  }

  private async exclusively<T>(work: (lease: Lease) => Promise<T>): Promise<T> {
    const { jobs } = this.parts.registry;
    const owner = randomUUID();
    if (!(await jobs.acquire(WEEKLY_JOB, owner, LEASE_MS))) throw await this.alreadyRunning();
    let renewal: Promise<boolean> = Promise.resolve(true);
    const timer = setInterval(() => {
      // A failed renewal is not lost: mustHold asks again before anything is published.
      renewal = jobs.renew(WEEKLY_JOB, owner, LEASE_MS).catch(() => false);
    }, RENEW_EVERY_MS);
    const mustHold = async () => {
      await renewal;
      if (!(await jobs.renew(WEEKLY_JOB, owner, LEASE_MS))) throw await this.alreadyRunning();
    };
    try {
      return await work({ mustHold });
    } finally {
      clearInterval(timer);
      await renewal;
      await jobs.release(WEEKLY_JOB, owner);
    }
  }

  private async alreadyRunning(): Promise<TallybayError> {
    const holder = await this.parts.registry.jobs.holder(WEEKLY_JOB);
    const since = holder ? ` since ${new Date(holder.startedAtMs).toISOString()}` : '';
    return new TallybayError('job_running', `A ranking has been running${since}; only one runs at a time`, {
      advice: 'Wait for it to finish, then ask again',
    });
  }
}

interface FleetFacts {
  depots: Depot[];
  vehicles: Vehicle[];
}

interface Lease {
  /** @throws TallybayError `job_running` when another run has taken over */
  mustHold(): Promise<void>;
}

const NO_DATA = 'There is no data of any week yet.';

const yetToCome = (week: string, fromMs: number, newest: string | undefined): TallybayError =>
  new TallybayError(
    'week_invalid',
    `Week ${week} begins on ${new Date(fromMs).toISOString().slice(0, 10)}, which is yet to come, and no data is of it`,
    { advice: newest ? `The newest week with data is ${newest}.` : NO_DATA },
  );

const beforeTheHistory = (week: string, oldest: string | undefined): TallybayError =>
  new TallybayError(
    'week_without_data',
    `In week ${week} and before it no drive, code or monitor of a registered vehicle was recorded`,
    { advice: oldest ? `The first week with data is ${oldest}.` : NO_DATA },
  );

/** The week over all depots' zones: from the first depot's start to the last one's end. */
function span(week: string, depots: readonly Depot[]): { fromMs: number; toMs: number } {
  const zones = depots.length > 0 ? depots.map((depot) => depot.timeZone) : ['UTC'];
  const windows = zones.map((zone) => weekWindow(week, zone));
  return {
    fromMs: Math.min(...windows.map((window) => window.fromMs)),
    toMs: Math.max(...windows.map((window) => window.toMs)),
  };
}

const isOver = (week: string, depots: readonly Depot[], nowMs: number): boolean => span(week, depots).toMs <= nowMs;
