import type { Kysely } from 'kysely';

/** Instants are epoch milliseconds (`…_ms`, bigint); documents are JSON text; both read the same on SQLite and PostgreSQL. */
export interface RegistryTables {
  registry_migrations: { name: string; applied_at_ms: number };
  depots: { id: string; name: string; time_zone: string; version: number; updated_at_ms: number };
  vehicles: {
    id: string;
    name: string | null;
    vin: string | null;
    vehicle_class: string;
    depot: string;
    route: string | null;
    model_year: number | null;
    fuel: string | null;
    inspection_due: string | null;
    speed_corrections: string | null;
    version: number;
    updated_at_ms: number;
  };
  recorder_assignments: { recorder: string; from_ms: number; vehicle: string };
  profiles: { id: string; recorder: string; document: string; version: number; updated_at_ms: number };
  uploads: UploadTable;
  settings: { name: string; document: string; version: number; updated_at_ms: number; updated_by: string | null };
  settings_history: {
    name: string;
    version: number;
    document: string;
    updated_at_ms: number;
    updated_by: string | null;
  };
  notes: {
    id: string;
    vehicle: string;
    upload: string | null;
    at_ms: number | null;
    note: string;
    written_by: string;
    written_at_ms: number;
    removed_by: string | null;
    removed_at_ms: number | null;
  };
  questions: { id: string; owner: string; document: string; version: number; updated_at_ms: number };
  query_results: {
    id: string;
    question: string | null;
    name: string | null;
    statement: string;
    person: string;
    made_at_ms: number;
    row_count: number;
    bytes: number;
    truncated: number;
    problem: string | null;
  };
  limit_events: { id: string; upload: string; position: number; event: string; sent_at_ms: number | null };
  extremes_resets: {
    id: string;
    vehicle: string;
    at_ms: number;
    reset_by: string;
    reason: string;
    signals: string | null;
  };
  work_inspections: {
    id: string;
    vehicle: string;
    kind: string;
    state: string;
    visit: string | null;
    document: string;
    note: string | null;
    version: number;
    updated_at_ms: number;
  };
  work_visits: {
    id: string;
    vehicle: string;
    depot: string;
    bay: string;
    day: string;
    last_day: string;
    state: string;
    pinned: number;
    sequence: number;
    document: string;
    version: number;
    created_at_ms: number;
    updated_at_ms: number;
    updated_by: string | null;
    cancelled_at_ms: number | null;
    done_at_ms: number | null;
  };
  work_board: { id: string; version: number; report: string | null; updated_at_ms: number; updated_by: string | null };
  visit_news: {
    way: string;
    visit: string;
    version: number;
    board_version: number;
    position: number;
    event: string;
    at_ms: number;
  };
  notices: {
    id: string;
    kind: string;
    vehicle: string | null;
    words: string;
    link: string | null;
    at_ms: number;
    mailed_at_ms: number | null;
    called_at_ms: number | null;
    seen_at_ms: number | null;
    seen_by: string | null;
  };
  job_leases: { name: string; owner: string; started_at_ms: number; expires_at_ms: number };
  job_weeks: { job: string; week: string; from_ms: number; to_ms: number; started_at_ms: number };
}

export interface UploadTable {
  id: string;
  kind: string;
  state: string;
  vehicle: string | null;
  recorder: string | null;
  file_name: string | null;
  bytes: number;
  sha256: string;
  received_at_ms: number;
  stored_at_ms: number | null;
  first_at_ms: number | null;
  last_at_ms: number | null;
  chunks: number;
  decoded: number;
  decisions: string;
  counts: string | null;
  unmapped: string;
  problem: string | null;
  landing_file: string | null;
  plan: string | null;
  attempt: number;
  catalogue_version: string | null;
}

export type RegistryDatabase = Kysely<RegistryTables>;
export type RegistryKind = 'sqlite' | 'postgres';
