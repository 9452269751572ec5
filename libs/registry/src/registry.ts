import type { Fleet } from '@tallybay/contracts';
import { Kysely, sql } from 'kysely';
import { Depots } from './depots.js';
import { ExtremesResets } from './extremes-resets.js';
import { type FleetImportCounts, importFleet } from './fleet-import.js';
import { Inspections } from './inspections.js';
import { Jobs } from './jobs.js';
import { LimitEvents } from './limit-events.js';
import { migrate } from './migrations.js';
import { Notes } from './notes.js';
import { Notices } from './notices.js';
import { PoolDialect } from './postgres.js';
import { Profiles } from './profiles.js';
import { Questions } from './questions.js';
import { Recorders } from './recorders.js';
import type { RegistryDatabase, RegistryTables } from './schema.js';
import { Settings } from './settings.js';
import { NodeSqliteDialect } from './sqlite.js';
import { Uploads } from './uploads.js';
import { Vehicles } from './vehicles.js';
import { VisitNews } from './visit-news.js';
import { Work } from './work.js';

export type RegistryConfig = ({ kind: 'sqlite'; file: string } | { kind: 'postgres'; url: string }) & {
  /** Clock, epoch ms; the system's by default. */
  nowMs?: () => number;
  /** PostgreSQL only: told when an idle connection is lost. The registry goes on with a new one. */
  onConnectionLost?: (error: Error) => void;
};

/** The state that people edit and the path remembers; see the repositories for what each can do. */
export class Registry {
  readonly depots: Depots;
  readonly vehicles: Vehicles;
  readonly recorders: Recorders;
  readonly profiles: Profiles;
  readonly uploads: Uploads;
  readonly settings: Settings;
  readonly jobs: Jobs;
  readonly notes: Notes;
  readonly inspections: Inspections;
  readonly work: Work;
  readonly visitNews: VisitNews;
  readonly notices: Notices;
  readonly limitEvents: LimitEvents;
  readonly extremesResets: ExtremesResets;
  readonly questions: Questions;

  constructor(
    private readonly db: RegistryDatabase,
    private readonly nowMs: () => number,
  ) {
    this.depots = new Depots(db, nowMs);
    this.vehicles = new Vehicles(db, nowMs);
    this.recorders = new Recorders(db);
    this.profiles = new Profiles(db, nowMs);
    this.uploads = new Uploads(db);
    this.settings = new Settings(db, nowMs);
    this.jobs = new Jobs(db, nowMs);
    this.notes = new Notes(db, nowMs);
    this.inspections = new Inspections(db, nowMs);
    this.work = new Work(db, nowMs);
    this.visitNews = new VisitNews(db);
    this.notices = new Notices(db, nowMs);
    this.limitEvents = new LimitEvents(db, nowMs);
    this.extremesResets = new ExtremesResets(db, nowMs);
    this.questions = new Questions(db, nowMs);
  }

  /** Everything of the document or nothing. @throws TallybayError `body_invalid` with the field */
  importFleet(fleet: Fleet): Promise<Record<'depots' | 'vehicles' | 'assignments' | 'profiles', FleetImportCounts>> {
    return importFleet(this.db, fleet, this.nowMs);
  }

  /** @throws TallybayError `registry_unavailable` when the database does not answer */
  async ping(): Promise<void> {
    await sql`select 1`.execute(this.db);
  }

  close(): Promise<void> {
    return this.db.destroy();
  }
}

/**
 * Opens the registry and brings its schema up to date. Several processes may open the same one.
 * @throws TallybayError `registry_unavailable`, `registry_newer`
 */
export async function openRegistry(config: RegistryConfig): Promise<Registry> {
  const nowMs = config.nowMs ?? Date.now;
  const dialect =
    config.kind === 'sqlite'
      ? new NodeSqliteDialect(config.file)
      : new PoolDialect(config.url, config.onConnectionLost ?? (() => {}));
  const db = new Kysely<RegistryTables>({ dialect });
  try {
    await migrate(db, config.kind, nowMs);
  } catch (error) {
    await db.destroy();
    throw error;
  }
  return new Registry(db, nowMs);
}
