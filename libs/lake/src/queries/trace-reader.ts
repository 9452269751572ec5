import { statSync } from 'node:fs';
import type { DuckDBInstance, DuckDBValue } from '@duckdb/node-api';
import { asideHeader } from '@tallybay/contracts';
import { quoteIdentifier, quoteText } from '../sql.js';
import { filesOfUpload } from '../upkeep/packs.js';
import { cellNumberSql } from './aside-channels.js';
import { OverviewFiles } from './overview-files.js';
import { type Columns, coarser } from './trace-columns.js';

/** One recording, and the span and rows that it is known to have. */
export interface RecordingKey {
  vehicle: string;
  upload: string;
  firstMs: number;
  lastMs: number;
  rows: number;
  /** Decimal mark of the log, for channels that were kept aside as text; a point where it is not said. */
  decimal?: '.' | ',';
}

export interface TraceAsk {
  /** Signals of the catalogue, and ids of channels that were kept aside (`asideId`). */
  signals: readonly string[];
  fromMs: number;
  toMs: number;
  /** Columns of the screen. */
  points: number;
}

/** `full`: rows as they are (`values`), else columns. All signals share the instants. */
export type TraceRows = { stepMs: number; atMs: ArrayLike<number>; untilMs: ArrayLike<number> } & (
  | { full: true; values: (number | null)[][] }
  | { full: false; columns: Columns['figures'][] }
);

/** Columns kept of a whole recording: seven times what a screen shows, so that the first zooms need no file either. */
const BASE_COLUMNS = 8192;
/** Signals of recordings kept in memory, about 0.5 MB each. */
const KEPT_SIGNALS = 160;
/** Shorter recordings are read through in less time than anybody notices, so their columns are not kept as files. */
const FILED_ROWS = 100_000;

/**
 * What a screen can show of a recording. Spans of few rows come as they are; others as first, lowest, highest and last
 * value of each column. Columns of whole recordings are computed once and kept, of long ones as files too; narrower spans are read from the
 * samples, where row groups outside the span are skipped by their statistics of time.
 */
export class TraceReader {
  private instance: Promise<DuckDBInstance> | null = null;
  /** By file version and signal; in order of use. */
  private readonly kept = new Map<string, Promise<Columns>>();

  private readonly filed: OverviewFiles;

  constructor(private readonly lakeDirectory: string) {
    this.filed = new OverviewFiles(lakeDirectory);
  }

  async read(recording: RecordingKey, ask: TraceAsk): Promise<TraceRows> {
    const files = this.files(recording);
    const stepMs = (ask.toMs - ask.fromMs) / ask.points;
    const baseMs = baseStep(recording);
    if (files.paths.length === 0 || ask.signals.length === 0)
      return { full: true, stepMs, atMs: [], untilMs: [], values: ask.signals.map(() => []) };
    const expected = (recording.rows * (ask.toMs - ask.fromMs)) / Math.max(1, recording.lastMs - recording.firstMs);
    if (expected <= ask.points * 4 && (await this.count(files, ask)) <= ask.points * 2)
      return this.rows(this.source(recording, files, ask.signals), ask);
    if (stepMs >= baseMs) return this.overview(recording, files, ask);
    const found = await this.columns(this.source(recording, files, ask.signals), ask, ask.fromMs, stepMs);
    return { full: false, stepMs, ...shared(found), columns: found.map(({ figures }) => figures) };
  }

  /** Begins to read columns of the whole recording that somebody is about to ask for. Problems are for who asks then. */
  prepare(recording: RecordingKey, signals: readonly string[]): void {
    const files = this.files(recording);
    if (files.paths.length === 0 || signals.length === 0 || recording.rows < FILED_ROWS) return;
    this.base(recording, files, signals).catch(() => {});
  }

  close(): void {
    // An instance that could not be opened has nothing to close; who asked has heard of it.
    this.instance?.then(
      (instance) => instance.closeSync(),
      () => {},
    );
    this.instance = null;
    this.kept.clear();
  }

  /** Column edges lie on the kept columns' edges: at most one kept column wider than asked on both sides. */
  private async overview(recording: RecordingKey, files: RecordingFiles, ask: TraceAsk): Promise<TraceRows> {
    const baseMs = baseStep(recording);
    const factor = Math.ceil((ask.toMs - ask.fromMs) / baseMs / ask.points);
    const from = Math.max(0, Math.floor((ask.fromMs - recording.firstMs) / baseMs));
    const to = Math.floor((ask.toMs - recording.firstMs) / baseMs) + 1;
    const base = await this.base(recording, files, ask.signals);
    const found = base.map((columns) => coarser(columns, factor, from, to));
    return { full: false, stepMs: factor * baseMs, ...shared(found), columns: found.map(({ figures }) => figures) };
  }

  private async base(recording: RecordingKey, files: RecordingFiles, signals: readonly string[]): Promise<Columns[]> {
    // Recordings of one pack share its file.
    const version = [files.upload, ...files.paths.map(versionOf)].join(' ');
    const missing = signals.filter((signal) => !this.kept.has(`${version} ${signal}`));
    if (missing.length > 0) {
      const read = this.filedOrRead(recording, files, missing, version);
      missing.forEach((signal, index) => {
        const key = `${version} ${signal}`;
        const one = read.then((all) => all[index]!);
        one.catch(() => this.kept.delete(key));
        this.kept.set(key, one);
      });
    }
    const found = signals.map((signal) => this.touch(`${version} ${signal}`));
    for (const key of [...this.kept.keys()].slice(0, Math.max(0, this.kept.size - KEPT_SIGNALS))) this.kept.delete(key);
    return Promise.all(found);
  }

  /** Columns that an earlier reader left as files, the others from the samples; those are left for the next reader. */
  private async filedOrRead(
    recording: RecordingKey,
    files: RecordingFiles,
    signals: readonly string[],
    version: string,
  ): Promise<Columns[]> {
    const key = {
      upload: recording.upload,
      version: `${BASE_COLUMNS} ${recording.firstMs} ${recording.lastMs} ${version}`,
    };
    const long = recording.rows >= FILED_ROWS;
    const filed = long ? await this.filed.read(key, signals) : signals.map(() => null);
    const lacking = signals.filter((_signal, index) => filed[index] === null);
    if (lacking.length === 0) return filed as Columns[];
    const span = { signals: lacking, fromMs: recording.firstMs, toMs: recording.lastMs, points: BASE_COLUMNS };
    const read = await this.columns(
      this.source(recording, files, lacking),
      span,
      recording.firstMs,
      baseStep(recording),
    );
    // A disk that is full or may not be written makes the next reader wait as this one did, nothing else.
    if (long) await this.filed.write(key, lacking, read).catch(() => {});
    return signals.map((signal, index) => filed[index] ?? read[lacking.indexOf(signal)]!);
  }

  private touch(key: string): Promise<Columns> {
    const found = this.kept.get(key)!;
    this.kept.delete(key);
    this.kept.set(key, found);
    return found;
  }

  private async count(files: RecordingFiles, ask: TraceAsk): Promise<number> {
    const [counts] = await this.select(`SELECT count(*)::DOUBLE FROM ${parquet(files)} WHERE ${IN_SPAN}`, span(ask));
    return (counts?.[0] as number | undefined) ?? 0;
  }

  private async rows(source: string, ask: TraceAsk): Promise<TraceRows> {
    const columns = ask.signals.map(quoteIdentifier).join(', ');
    const sql = `SELECT epoch_us(time) / 1000.0, ${columns} FROM ${source} WHERE ${IN_SPAN} ORDER BY time, row_no`;
    const [atMs = [], ...values] = await this.select(sql, span(ask));
    const at = atMs as number[];
    return {
      full: true,
      stepMs: 0,
      atMs: at,
      untilMs: at,
      values: ask.signals.map((_, i) => (values[i] ?? []) as number[]),
    };
  }

  /** Columns of `stepMs` from `startMs` on. `arg_min` and `arg_max` leave out rows without a value. */
  private async columns(source: string, ask: TraceAsk, startMs: number, stepMs: number): Promise<Columns[]> {
    const figures = ask.signals
      .map(quoteIdentifier)
      .map((name) => `arg_min(${name}, row_no), min(${name}), max(${name}), arg_max(${name}, row_no)`);
    const sql = `
SELECT floor((epoch_us(time) - $startUs) / $stepUs) AS bucket,
       min(epoch_us(time)) / 1000.0, max(epoch_us(time)) / 1000.0, ${figures.join(', ')}
FROM ${source} WHERE ${IN_SPAN} GROUP BY bucket ORDER BY bucket`;
    const parameters = { ...span(ask), startUs: startMs * 1000, stepUs: stepMs * 1000 };
    const read = await this.select(sql, parameters);
    const [bucket, atMs, untilMs] = [0, 1, 2].map((index) => Float64Array.from(read[index] as number[]));
    return ask.signals.map((_signal, index) => {
      const figure = (offset: number) =>
        Float64Array.from(read[3 + index * 4 + offset] as (number | null)[], (value) => value ?? Number.NaN);
      const read4 = { first: figure(0), min: figure(1), max: figure(2), last: figure(3) };
      return { bucket: bucket!, atMs: atMs!, untilMs: untilMs!, figures: read4 };
    });
  }

  /** One statement on a connection of its own; values by column. */
  private async select(sql: string, parameters: Record<string, DuckDBValue>): Promise<unknown[][]> {
    this.instance ??= openInstance();
    const connection = await (await this.instance).connect();
    try {
      return (await connection.runAndReadAll(sql, parameters)).getColumnsJS() as unknown[][];
    } finally {
      connection.closeSync();
    }
  }

  /**
   * Rows of the span as samples have them, each with a column for every channel that was kept aside: of such a channel only
   * cells that differ from the row before are stored, so a row has the value of the last one up to it.
   */
  private source(recording: RecordingKey, files: RecordingFiles, signals: readonly string[]): string {
    const aside = signals.filter((signal) => asideHeader(signal) !== null);
    if (aside.length === 0) return parquet(files);
    const cells = this.files(recording, 'unmapped');
    const columns = aside.map((signal, index) =>
      cells.paths.length === 0
        ? `NULL::FLOAT AS ${quoteIdentifier(signal)}`
        : `aside_${index}.value AS ${quoteIdentifier(signal)}`,
    );
    const joins = aside.map((signal, index) => {
      if (cells.paths.length === 0) return '';
      const own = `FROM ${parquet(cells)} WHERE channel = ${quoteText(asideHeader(signal)!)}`;
      return `
ASOF LEFT JOIN (SELECT row_no, ${cellNumberSql(recording.decimal ?? '.')} AS value ${own}) AS aside_${index}
  ON rows_in_span.row_no >= aside_${index}.row_no`;
    });
    return `(SELECT rows_in_span.*, ${columns.join(', ')}
FROM (SELECT * FROM ${parquet(files)} WHERE ${IN_SPAN}) AS rows_in_span${joins.join('')})`;
  }

  private files({ vehicle, upload }: RecordingKey, table: 'samples' | 'unmapped' = 'samples'): RecordingFiles {
    return { upload, ...filesOfUpload(this.lakeDirectory, table, { vehicleId: vehicle, uploadId: upload }) };
  }
}

/** `packed`: other recordings' rows are in them too. */
interface RecordingFiles {
  upload: string;
  paths: string[];
  packed: boolean;
}

const IN_SPAN = 'time >= make_timestamptz($fromUs::BIGINT) AND time <= make_timestamptz($toUs::BIGINT)';

const span = ({ fromMs, toMs }: TraceAsk) => ({
  fromUs: BigInt(Math.floor(fromMs * 1000)),
  toUs: BigInt(Math.ceil(toMs * 1000)),
});

const parquet = ({ upload, paths, packed }: RecordingFiles): string => {
  const files = `read_parquet([${paths.map(quoteText).join(', ')}], union_by_name = true)`;
  return packed ? `(SELECT * FROM ${files} WHERE upload_id = ${quoteText(upload)})` : files;
};

/** A file that was written again is another one. */
const versionOf = (file: string): string => {
  const { size, mtimeMs } = statSync(file);
  return `${file} ${size} ${mtimeMs}`;
};

const baseStep = ({ firstMs, lastMs }: RecordingKey): number => Math.max(1, (lastMs - firstMs) / BASE_COLUMNS);

const shared = (found: readonly Columns[]) => ({ atMs: found[0]!.atMs, untilMs: found[0]!.untilMs });

async function openInstance(): Promise<DuckDBInstance> {
  const duckdb = await import('@duckdb/node-api');
  return duckdb.DuckDBInstance.create(':memory:', { threads: '2', memory_limit: '512MB' });
}
