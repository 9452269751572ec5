import type { FleetReadiness, NoticeKind, NoticeSettings } from '@tallybay/contracts';
import { crossingHistory, Lake, lastSeen, listRankings, readRanking } from '@tallybay/lake';
import type { NewNotice, Registry } from '@tallybay/registry';
import { type RuleSet, shiftWeek } from '@tallybay/risk';
import type { FleetReadinessReport } from '../fleet/fleet-readiness.js';
import type { ShopReader } from '../plan/shop-reader.js';

const MS_PER_DAY = 86_400_000;
/** Crossings of drives so long ago still come with late uploads. */
const CROSSING_DAYS = 14;
const MOST_CROSSINGS = 500;
const LAKE_OPTIONS = { threads: 1, memoryLimit: '512MB' };
/** Verdicts that were told last, by vehicle; kept with the registry's other settings. */
const VERDICTS = 'notices.verdicts';
const VERDICT_WORDS: Record<string, string> = {
  would_pass: 'would pass',
  would_be_refused: 'would be refused',
  would_fail: 'would fail',
  not_enough_data: 'cannot be judged for want of data',
  not_subject: 'is not subject to it',
};

export interface GathererParts {
  registry: Registry;
  shop: ShopReader;
  lakeDirectory: string;
  readiness: FleetReadinessReport;
  rules: () => Promise<RuleSet>;
}

interface VerdictNews {
  notices: NewNotice[];
  /** What to remember once the notices are kept; null: as before. */
  remember: Record<string, string> | null;
}

/** Finds what there is to tell. Each subject has an id of its own, so that it is told once however often this is asked. */
export class NoticeGatherer {
  constructor(private readonly parts: GathererParts) {}

  /**
   * Finds what there is to tell and keeps it. What is remembered of verdicts changes only behind the notices: a process that
   * ends between the two finds the same news again, under the same ids.
   * @returns what was found, known or not
   */
  async gather(): Promise<NewNotice[]> {
    const { registry } = this.parts;
    const settings = await this.parts.shop.notices();
    const wants = (kind: NoticeKind) => settings.kinds.includes(kind);
    const verdicts = wants('verdict_changed') ? await this.verdicts(settings) : null;
    const found = [
      ...(wants('limit_crossed') ? await this.crossings() : []),
      ...(wants('entered_top') ? await this.entered(settings) : []),
      ...(verdicts?.notices ?? []),
      ...(wants('upload_overdue') ? await this.overdue(settings) : []),
    ];
    await registry.notices.add(found);
    if (verdicts?.remember) await registry.settings.put(VERDICTS, verdicts.remember);
    return found;
  }

  private async crossings(): Promise<NewNotice[]> {
    const toMs = this.parts.shop.nowMs() + MS_PER_DAY;
    const span = { fromMs: toMs - (CROSSING_DAYS + 1) * MS_PER_DAY, toMs, limit: MOST_CROSSINGS };
    const rows = await this.withLake((lake) => crossingHistory(lake, span));
    // One notice a recording, signal and stage: a limit that is crossed forty times on one drive is one piece of news.
    const groups = Map.groupBy(
      rows.filter(({ stage }) => stage !== 'watch'),
      ({ upload_id, signal, stage }) => `limit ${upload_id} ${signal} ${stage}`,
    );
    return [...groups].map(([id, list]) => {
      const worst = list.reduce((a, b) =>
        Math.abs(b.worst - b.limit_value) > Math.abs(a.worst - a.limit_value) ? b : a,
      );
      const seconds = list.reduce((sum, row) => sum + row.seconds, 0);
      const times = list.length === 1 ? '' : ` in ${list.length} stretches`;
      const beyond = worst.direction === 'high' ? 'above' : 'below';
      const words = `${worst.vehicle_id}: ${worst.signal} ${beyond} ${worst.written} (${worst.stage}) for ${minutesText(seconds)}${times}, worst ${worst.worst.toFixed(1)}`;
      return notice(id, 'limit_crossed', worst.vehicle_id, words, `/vehicles/${encodeURIComponent(worst.vehicle_id)}`);
    });
  }

  private async entered({ top }: NoticeSettings): Promise<NewNotice[]> {
    const { lakeDirectory } = this.parts;
    const [newest] = await listRankings(lakeDirectory);
    const ranking = newest ? await readRanking(lakeDirectory, newest.week) : null;
    if (!ranking || ranking.provisional) return [];
    const before = await readRanking(lakeDirectory, shiftWeek(ranking.week, -1));
    const was = new Map(before?.ranked.map(({ vehicle, rank }) => [vehicle, rank]));
    return ranking.ranked
      .filter(({ rank, vehicle }) => rank <= top && (was.get(vehicle) ?? Number.POSITIVE_INFINITY) > top)
      .map(({ vehicle, rank, reasons }) => {
        const old = was.get(vehicle);
        const from = old === undefined ? 'it was not ranked the week before' : `it was ${old} the week before`;
        const words = `${vehicle} is ${rank} of ${ranking.week}; ${from}. ${reasons[0]?.text ?? ''}`.trim();
        const link = `/ranking?week=${ranking.week}&why=${encodeURIComponent(vehicle)}`;
        return notice(`top ${ranking.week} ${vehicle}`, 'entered_top', vehicle, words, link);
      });
  }

  private async verdicts({ dueWithinDays }: NoticeSettings): Promise<VerdictNews> {
    const { registry, readiness, rules } = this.parts;
    const { programme } = (await rules()).readiness;
    const rows = (await readiness.read()).vehicles.filter(
      ({ dueInDays }) => dueInDays !== null && dueInDays <= dueWithinDays,
    );
    const known = ((await registry.settings.get(VERDICTS))?.document ?? {}) as Record<string, string>;
    const now = Object.fromEntries(rows.flatMap((row) => verdictOf(row, programme) ?? []));
    const notices = rows.flatMap((row) => {
      const is = now[row.vehicle];
      const was = known[row.vehicle];
      if (is === undefined || was === undefined || is === was) return [];
      const words = `${row.vehicle}: its emissions inspection, due on ${row.inspectionDue}, ${VERDICT_WORDS[is]}; before, it ${VERDICT_WORDS[was]}`;
      const id = `verdict ${row.vehicle} ${row.inspectionDue} ${was} ${is} ${row.newestSnapshot ?? ''}`;
      return [
        notice(id, 'verdict_changed', row.vehicle, words, `/readiness?vehicle=${encodeURIComponent(row.vehicle)}`),
      ];
    });
    return { notices, remember: JSON.stringify(now) === JSON.stringify(known) ? null : now };
  }

  private async overdue({ overdueDays }: NoticeSettings): Promise<NewNotice[]> {
    const nowMs = this.parts.shop.nowMs();
    const seen = await this.withLake((lake) => lastSeen(lake, nowMs));
    const vehicles = new Set((await this.parts.registry.vehicles.list()).map(({ id }) => id));
    return seen
      .filter(({ vehicle_id, last_ms }) => vehicles.has(vehicle_id) && nowMs - last_ms > overdueDays * MS_PER_DAY)
      .map(({ vehicle_id, last_ms }) => {
        const day = new Date(last_ms).toISOString().slice(0, 10);
        const words = `${vehicle_id}: nothing has arrived since ${day}, more than ${overdueDays} days ago`;
        return notice(`overdue ${vehicle_id} ${day}`, 'upload_overdue', vehicle_id, words, '/upload');
      });
  }

  private async withLake<T>(work: (lake: Lake) => Promise<T>): Promise<T> {
    const lake = await Lake.open(this.parts.lakeDirectory, LAKE_OPTIONS);
    try {
      return await work(lake);
    } finally {
      lake.close();
    }
  }
}

function verdictOf(row: FleetReadiness['vehicles'][number], programme: string): [[string, string]] | null {
  const found = row.verdicts.find((item) => item.programme === programme);
  return found ? [[row.vehicle, found.verdict]] : null;
}

const notice = (id: string, kind: NoticeKind, vehicle: string, words: string, link: string): NewNotice => ({
  ...{ id, kind, vehicle, words, link },
});

const minutesText = (seconds: number): string =>
  seconds < 60 ? `${Math.round(seconds)} s` : `${Math.round(seconds / 60)} min`;
