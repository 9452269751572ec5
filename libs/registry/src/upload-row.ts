import type { Upload } from '@tallybay/contracts';
import type { UploadTable } from './schema.js';

/** An upload with what only the path needs to know. */
export type UploadRow = Upload & {
  /** Where the raw bytes are, relative to the landing store. */
  landingFile: string | null;
  /** libs/decode's plan of the log, as decided on arrival. */
  plan: unknown;
  /** Counts deliberate new decodes; 0 is the first. */
  attempt: number;
  catalogueVersion: string | null;
};

/** What a first sight must say; the rest starts empty. */
export type NewUpload = Pick<UploadRow, 'id' | 'kind' | 'state' | 'bytes' | 'sha256' | 'receivedAt'> &
  Partial<Omit<UploadRow, 'id' | 'kind' | 'state' | 'bytes' | 'sha256' | 'receivedAt'>>;

export type UploadPatch = Partial<Omit<UploadRow, 'id' | 'kind' | 'bytes' | 'sha256' | 'receivedAt'>>;

/** The public part, in the shape of the contract. */
export function uploadFromRow(row: UploadRow): Upload {
  const { landingFile, plan, attempt, catalogueVersion, ...upload } = row;
  return upload;
}

const msFrom = (iso: string | null): number | null => (iso === null ? null : Date.parse(iso));
const isoFrom = (ms: number | null): string | null => (ms === null ? null : new Date(ms).toISOString());
const jsonFrom = (value: unknown): string => JSON.stringify(value);
const nullableJsonFrom = (value: unknown): string | null =>
  value === null || value === undefined ? null : JSON.stringify(value);
const valueFrom = <T>(json: string | null): T => (json === null ? null : JSON.parse(json)) as T;

/** Field -> columns; a patch turns only what it names. */
const COLUMNS: {
  [F in keyof UploadPatch]-?: (value: NonNullable<UploadRow[F]> | UploadRow[F]) => Partial<UploadTable>;
} = {
  state: (state) => ({ state }),
  vehicle: (vehicle) => ({ vehicle }),
  recorder: (recorder) => ({ recorder }),
  fileName: (file_name) => ({ file_name }),
  storedAt: (iso) => ({ stored_at_ms: msFrom(iso) }),
  firstTime: (iso) => ({ first_at_ms: msFrom(iso) }),
  lastTime: (iso) => ({ last_at_ms: msFrom(iso) }),
  progress: ({ chunks, decoded }) => ({ chunks, decoded }),
  decisions: (decisions) => ({ decisions: jsonFrom(decisions) }),
  counts: (counts) => ({ counts: nullableJsonFrom(counts) }),
  unmapped: (unmapped) => ({ unmapped: jsonFrom(unmapped) }),
  problem: (problem) => ({ problem: nullableJsonFrom(problem) }),
  landingFile: (landing_file) => ({ landing_file }),
  plan: (plan) => ({ plan: nullableJsonFrom(plan) }),
  attempt: (attempt) => ({ attempt }),
  catalogueVersion: (catalogue_version) => ({ catalogue_version }),
};

export function columnsFromPatch(patch: UploadPatch): Partial<UploadTable> {
  const columns: Partial<UploadTable> = {};
  for (const [field, toColumns] of Object.entries(COLUMNS)) {
    const value = patch[field as keyof UploadPatch];
    if (value !== undefined) Object.assign(columns, (toColumns as (value: unknown) => Partial<UploadTable>)(value));
  }
  return columns;
}

export function columnsFromNew(upload: NewUpload): UploadTable {
  return {
    id: upload.id,
    kind: upload.kind,
    bytes: upload.bytes,
    sha256: upload.sha256,
    received_at_ms: Date.parse(upload.receivedAt),
    ...EMPTY,
    ...columnsFromPatch(upload),
    state: upload.state,
  };
}

const EMPTY = {
  vehicle: null,
  recorder: null,
  file_name: null,
  stored_at_ms: null,
  first_at_ms: null,
  last_at_ms: null,
  chunks: 0,
  decoded: 0,
  decisions: '[]',
  counts: null,
  unmapped: '[]',
  problem: null,
  landing_file: null,
  plan: null,
  attempt: 0,
  catalogue_version: null,
};

export function rowFromColumns(columns: UploadTable): UploadRow {
  return {
    id: columns.id,
    kind: columns.kind as UploadRow['kind'],
    state: columns.state as UploadRow['state'],
    vehicle: columns.vehicle,
    recorder: columns.recorder,
    fileName: columns.file_name,
    bytes: columns.bytes,
    sha256: columns.sha256,
    receivedAt: new Date(columns.received_at_ms).toISOString(),
    storedAt: isoFrom(columns.stored_at_ms),
    firstTime: isoFrom(columns.first_at_ms),
    lastTime: isoFrom(columns.last_at_ms),
    progress: { chunks: columns.chunks, decoded: columns.decoded },
    decisions: valueFrom(columns.decisions),
    counts: valueFrom(columns.counts),
    unmapped: valueFrom(columns.unmapped),
    problem: valueFrom(columns.problem),
    landingFile: columns.landing_file,
    plan: valueFrom(columns.plan),
    attempt: columns.attempt,
    catalogueVersion: columns.catalogue_version,
  };
}
