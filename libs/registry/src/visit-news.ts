import type { StreamEvent } from '@tallybay/contracts';
import type { RegistryDatabase } from './schema.js';
import type { StoredVisit } from './work-rows.js';

export type VisitEvent = Extract<StreamEvent, { kind: 'visit_changed' }>;

/** Each way has its own rows: one that is away holds up no other. */
export const VISIT_NEWS_WAYS = ['stream', 'webhook'] as const;
export type VisitNewsWay = (typeof VISIT_NEWS_WAYS)[number];

export interface WaitingEvent {
  event: VisitEvent;
  /** When the visit was changed. */
  atMs: number;
}

/** SQLite and PostgreSQL both take fewer parameters a statement than this times the columns. */
const ROWS_AT_ONCE = 500;

/**
 * Changes of visits on their way out: written with the change itself, in one transaction, and removed once they are told. So
 * a process that ends in between leaves them here for the next; an event may come twice, with the same visit and version.
 */
export class VisitNews {
  constructor(private readonly db: RegistryDatabase) {}

  /** In the order of the changes. */
  async waiting(way: VisitNewsWay, limit: number = ROWS_AT_ONCE): Promise<WaitingEvent[]> {
    const rows = await this.db
      .selectFrom('visit_news')
      .select(['event', 'at_ms'])
      .where('way', '=', way)
      .orderBy('board_version')
      .orderBy('position')
      .limit(limit)
      .execute();
    return rows.map(({ event, at_ms }) => ({ event: JSON.parse(event) as VisitEvent, atMs: at_ms }));
  }

  /** They are told this way, or nobody wants them this way: they need not wait any more. */
  async told(way: VisitNewsWay, events: readonly Pick<VisitEvent, 'visit' | 'version'>[]): Promise<void> {
    for (const { visit, version } of events)
      await this.db
        .deleteFrom('visit_news')
        .where('way', '=', way)
        .where('visit', '=', visit)
        .where('version', '=', version)
        .execute();
  }
}

/**
 * Puts changed visits on their way out, every way.
 * @param db the transaction that changed them
 * @param boardVersion of the board that the change made
 */
export async function putVisitNews(
  db: RegistryDatabase,
  visits: readonly StoredVisit[],
  { boardVersion, atMs }: { boardVersion: number; atMs: number },
): Promise<void> {
  const rows = VISIT_NEWS_WAYS.flatMap((way) =>
    visits.map((visit, position) => ({
      ...{ way, visit: visit.id, version: visit.version, board_version: boardVersion, position, at_ms: atMs },
      event: JSON.stringify(visitEvent(visit, atMs)),
    })),
  );
  for (let from = 0; from < rows.length; from += ROWS_AT_ONCE)
    await db
      .insertInto('visit_news')
      .values(rows.slice(from, from + ROWS_AT_ONCE))
      .execute();
}

export const visitEvent = (visit: StoredVisit, atMs: number): VisitEvent => ({
  ...{ kind: 'visit_changed', at: new Date(atMs).toISOString(), visit: visit.id, vehicleId: visit.vehicle },
  ...{ depot: visit.depot, bay: visit.bay, day: visit.day, from: clockText(visit.parts[0]?.fromMinute ?? 0) },
  ...{ state: visit.state, cancelled: visit.cancelledAtMs !== null, version: visit.version },
});

/** Minutes from midnight as `07:30`. */
const clockText = (minutes: number): string =>
  [Math.floor(minutes / 60), minutes % 60].map((part) => String(part).padStart(2, '0')).join(':');
