import { type ColumnRow, LAKE_TABLES, type LakeTable } from '../tables.js';
import { REFERENCE_TABLES, type ReferenceTable } from './reference-tables.js';
import { describedColumns, type ViewColumn } from './view-columns.js';

/** A stored table that a view reads: files of the lake, or one file of `reference/`. */
export type Source = { lake: LakeTable } | { reference: ReferenceTable };

/** Something to select from, with what each of its columns means. */
export interface AnalystView {
  name: string;
  comment: string;
  columns: readonly ViewColumn[];
  /** Stored tables under the names that `sql` uses. */
  sources: Readonly<Record<string, Source>>;
  /** Body of the view; without it the view is its only source as it is. */
  sql?: string;
}

const IN_LOG = 'rows of a log, decoded';
const IN_SNAPSHOT = 'snapshots of codes and monitors';
const PEOPLE = 'the registry';
const RULES = 'facts judged by the rules in force';

/** Every view, in the order of the documentation. */
export const ANALYST_VIEWS: readonly AnalystView[] = [
  lake('samples', 'samples', 'One row a sample of a log; a column for every signal of the catalogue.', IN_LOG),
  lake('unmapped', 'unmapped', 'Cells of channels that no signal is known for, as the recorder wrote them.', IN_LOG),
  lake('drives', 'drives', 'One row a drive: engine on to engine off.', IN_LOG),
  lake('dwell', 'dwell', 'Seconds by drive, signal and value bin: heat at any limit without reading samples.', IN_LOG),
  lake(
    'signal_stats',
    'signal_stats',
    'One row a drive (or engine-off stretch) and signal: extremes, mean, quality.',
    IN_LOG,
  ),
  lake(
    'crossings',
    'crossings',
    'One row a stretch beyond a limit that was in force when the log was decoded: stage, span, worst value, context.',
    IN_LOG,
  ),
  lake('markers', 'markers', 'Events that the driver set while recording.', IN_LOG),
  lake('snapshots', 'snapshots', 'One row a snapshot: lamp, counters, what was read.', IN_SNAPSHOT),
  lake('codes', 'codes', 'One row a trouble code in a snapshot.', IN_SNAPSHOT),
  lake('monitors', 'monitors', 'One row a readiness monitor in a snapshot.', IN_SNAPSHOT),
  reference(
    'episodes',
    'One row an exceedance of a temperature stage, told at the highest stage that it reached.',
    'samples of drives whose dwell reaches a stage, cut by the rules in force',
  ),
  reference('code_history', 'One row a code, module and status of a vehicle: since when, how often back.', RULES),
  reference(
    'verdicts',
    'Readiness of each vehicle against each inspection programme. The local programme decides, not this.',
    RULES,
  ),
  reference(
    'inspections',
    'Inspections by due date, with the verdict for each programme.',
    'the registry and the rules in force',
  ),
  reference(
    'rankings',
    'Every published ranking, one row a vehicle; they rank work and clear no vehicle as safe to drive.',
    'published rankings',
  ),
  reference('vehicles', 'Vehicles of the fleet.', PEOPLE),
  uploadsView(),
  dataQualityView(),
];

/** Names of views that a statement may select from. */
export const ANALYST_VIEW = new Map(ANALYST_VIEWS.map((view) => [view.name, view]));

function lake(name: string, table: LakeTable, comment: string, source: string): AnalystView {
  return {
    name,
    comment,
    columns: describedColumns(LAKE_TABLES[table], source),
    sources: { [table]: { lake: table } },
  };
}

function reference(table: ReferenceTable, comment: string, source: string): AnalystView {
  const columns = describedColumns(REFERENCE_TABLES[table], source);
  return { name: table, comment, columns, sources: { [table]: { reference: table } } };
}

/** What is on its way as well as what is stored. */
function uploadsView(): AnalystView {
  const states = describedColumns(REFERENCE_TABLES.upload_states, PEOPLE);
  const stored = describedColumns(LAKE_TABLES.uploads as readonly ColumnRow[], 'the decoded upload').filter(
    ({ name }) => !states.some((state) => state.name === name),
  );
  const shared = ['upload_id', 'vehicle_id', 'kind', 'recorder_id', 'file_name'];
  const columns = [...states, ...stored];
  const selected = columns.map(({ name }) => {
    if (shared.includes(name)) return `coalesce(state_of."${name}", stored."${name}") AS "${name}"`;
    if (name === 'state') return `coalesce(state_of.state, 'stored') AS state`;
    return `${states.some((state) => state.name === name) ? 'state_of' : 'stored'}."${name}"`;
  });
  return {
    name: 'uploads',
    comment: 'One row an upload, also those that wait or failed; figures of the file once it is stored.',
    columns,
    sources: { stored: { lake: 'uploads' }, state_of: { reference: 'upload_states' } },
    sql: `SELECT ${selected.join(', ')} FROM {state_of} AS state_of FULL JOIN {stored} AS stored ON state_of.upload_id = stored.upload_id`,
  };
}

function dataQualityView(): AnalystView {
  const kept = [
    'vehicle_id',
    'upload_id',
    'segment',
    'drive_id',
    'started_at',
    'signal',
    'channel',
    'source_unit',
    'confidence',
    'seconds',
    'valid',
    'blank',
    'out_of_range',
    'unreadable',
    'jump',
    'stuck_seconds',
  ];
  const columns = describedColumns(
    (LAKE_TABLES.signal_stats as readonly ColumnRow[]).filter(({ name }) => kept.includes(name)),
    IN_LOG,
  );
  const bad = 'out_of_range + unreadable + jump';
  return {
    name: 'data_quality',
    comment: 'One row a drive (or engine-off stretch) and signal: how much of it could be used.',
    columns: [
      ...columns,
      {
        name: 'bad',
        type: 'int64',
        meaning: 'values left out: out of range, unreadable or jumping',
        unit: null,
        source: IN_LOG,
      },
      {
        name: 'bad_share',
        type: 'double',
        meaning: 'share of the values that were left out, 0..1',
        unit: null,
        source: IN_LOG,
      },
    ],
    sources: { stats: { lake: 'signal_stats' } },
    sql: `SELECT ${columns.map(({ name }) => `"${name}"`).join(', ')}, (${bad})::BIGINT AS bad, (${bad}) / nullif(valid + ${bad}, 0)::DOUBLE AS bad_share FROM {stats}`,
  };
}
