import { rmSync } from 'node:fs';
import type { LogPlan, LogSummary, SampleBatch, Segment, SignalStats } from '@tallybay/decode';
import { crossingId, type LimitCrossing } from '@tallybay/risk';
import { ParquetFileWriter } from './parquet/file-writer.js';
import { SampleColumns } from './sample-columns.js';
import { type StagedFile, type StagedUpload, stagingFile } from './staged.js';
import { columnsOf, FileSink, type TableRow, writeTableFile } from './table-file.js';
import { LAKE_TABLES, type LakeTable } from './tables.js';

export interface UploadIdentity {
  vehicleId: string;
  uploadId: string;
  recorderId: string | null;
  fileName: string | null;
  catalogueVersion: string;
  /** Which decode of the upload it is, counted from 0. */
  attempt?: number;
}

/** Unmapped cells wait in memory up to this many before a row group of them is written. */
const UNMAPPED_ROWS = 100_000;

/**
 * Writes what one log amounts to into the lake's staging folder: samples while they come, the rest at the end.
 * Synchronous, for use in a decode worker; `commitStaged` makes the result durable and visible.
 */
export class LogWriter {
  private readonly samples: SampleColumns;
  private samplesFile: { writer: ParquetFileWriter; sink: FileSink } | null = null;
  private unmappedFile: { writer: ParquetFileWriter; sink: FileSink } | null = null;
  private unmapped: TableRow<'unmapped'>[] = [];
  private readonly files: StagedFile[] = [];

  constructor(
    private readonly lake: string,
    private readonly identity: UploadIdentity,
    private readonly plan: LogPlan,
    private readonly owner: string,
  ) {
    this.samples = new SampleColumns(plan.signals);
  }

  add(batch: SampleBatch): void {
    let from = 0;
    while (from < batch.rowCount) {
      from += this.samples.take(batch, from);
      if (this.samples.full) this.flushSamples();
    }
    for (const cell of batch.unmapped) {
      this.unmapped.push({
        ...this.key(),
        row_no: cell.row,
        time: cell.timeMs,
        channel: this.plan.channels[cell.channel]?.header ?? String(cell.channel),
        text: cell.text === '' ? null : cell.text,
      });
      if (this.unmapped.length >= UNMAPPED_ROWS) this.flushUnmapped();
    }
  }

  /** Writes the small tables and closes the files. Nothing is visible yet. @param crossings of limits in force, by start */
  finish(summary: LogSummary, crossings: readonly LimitCrossing[] = []): StagedUpload {
    this.flushSamples();
    this.samples.release();
    this.flushUnmapped();
    for (const open of [this.samplesFile, this.unmappedFile]) {
      open?.writer.close(this.metadata());
      open?.sink.close();
    }
    const drives = summary.segments.filter((segment) => segment.drive !== null);
    this.table(
      'drives',
      drives.length,
      drives.map((segment) => this.driveRow(segment)),
    );
    this.table('dwell', summary.dwell.length, this.dwellRows(summary));
    this.table('signal_stats', summary.segments.length * this.plan.signals.length, this.statsRows(summary));
    this.table(
      'markers',
      summary.markers.length,
      summary.markers.map((m) => ({ ...this.key(), row_no: m.row, time: m.timeMs, text: m.text })),
    );
    this.table(
      'crossings',
      crossings.length,
      crossings.map((crossing) => this.crossingRow(crossing)),
    );
    this.table('uploads', 1, [this.uploadRow(summary)]);
    const { vehicleId, uploadId, attempt = 0 } = this.identity;
    return { vehicleId, uploadId, attempt, files: this.files };
  }

  /** Gives up: closes and removes what was written. */
  abort(): void {
    this.samples.release();
    for (const open of [this.samplesFile, this.unmappedFile]) open?.sink.discard();
    for (const file of this.files) rmSync(file.staging, { force: true });
  }

  private key(): { vehicle_id: string; upload_id: string } {
    return { vehicle_id: this.identity.vehicleId, upload_id: this.identity.uploadId };
  }

  private metadata(): Record<string, string> {
    return { 'tallybay.catalogue': this.identity.catalogueVersion };
  }

  private stage(table: LakeTable): string {
    const { uploadId, attempt = 0 } = this.identity;
    const staging = stagingFile(this.lake, uploadId, { table, part: 0 }, { attempt, owner: this.owner });
    this.files.push({ table, part: 0, staging });
    return staging;
  }

  private open(table: LakeTable): { writer: ParquetFileWriter; sink: FileSink } {
    const sink = new FileSink(this.stage(table));
    return { writer: new ParquetFileWriter(LAKE_TABLES[table], sink.write), sink };
  }

  private flushSamples(): void {
    if (this.samples.length === 0) return;
    this.samplesFile ??= this.open('samples');
    const { data, rowCount } = this.samples.drain(this.identity.vehicleId, this.identity.uploadId);
    this.samplesFile.writer.writeRowGroup(data, rowCount);
  }

  private flushUnmapped(): void {
    if (this.unmapped.length === 0) return;
    this.unmappedFile ??= this.open('unmapped');
    const rows = this.unmapped;
    this.unmappedFile.writer.writeRowGroup(columnsOf('unmapped', rows), rows.length);
    this.unmapped = [];
  }

  /** @param count rows that will come; a table without rows gets no file */
  private table<T extends LakeTable>(table: T, count: number, rows: Iterable<TableRow<T>>): void {
    if (count > 0) writeTableFile(this.stage(table), table, rows, this.metadata());
  }

  private driveId(segment: { drive: number | null }): string | null {
    return segment.drive === null ? null : `${this.identity.uploadId}-d${segment.drive}`;
  }

  private driveRow(segment: Segment): TableRow<'drives'> {
    return {
      ...this.key(),
      drive_id: this.driveId(segment),
      segment: segment.segment,
      started_at: segment.startMs,
      ended_at: segment.endMs,
      seconds: segment.seconds,
      distance_km: segment.distanceKm,
      distance_source: segment.distanceSource,
      fuel_l: segment.fuelL,
      rows: segment.rows,
    };
  }

  /** Made one at a time: a log of many drives has hundreds of thousands. */
  private *dwellRows(summary: LogSummary): Generator<TableRow<'dwell'>> {
    // Texts and instants once a segment: it has thousands of rows.
    const ofSegment = new Map(
      summary.segments.map((segment) => [segment.segment, { id: this.driveId(segment), startMs: segment.startMs }]),
    );
    const { vehicle_id, upload_id } = this.key();
    for (const row of summary.dwell)
      yield {
        vehicle_id,
        upload_id,
        segment: row.segment,
        drive_id: ofSegment.get(row.segment)?.id ?? null,
        started_at: ofSegment.get(row.segment)?.startMs ?? null,
        signal: row.signal,
        low: row.low,
        high: row.high,
        seconds: row.seconds,
        value_seconds: row.valueSeconds,
        min: row.min,
        max: row.max,
      };
  }

  private *statsRows(summary: LogSummary): Generator<TableRow<'signal_stats'>> {
    for (const segment of summary.segments) for (const stats of segment.stats) yield this.statsRow(segment, stats);
  }

  private statsRow(segment: Segment, stats: SignalStats): TableRow<'signal_stats'> {
    return {
      ...this.key(),
      segment: segment.segment,
      drive_id: this.driveId(segment),
      started_at: segment.startMs,
      signal: stats.signal,
      channel: stats.header,
      source_unit: stats.sourceUnit,
      confidence: stats.confidence,
      valid: stats.valid,
      blank: stats.blank,
      min: stats.min,
      min_at: stats.minAtMs,
      max: stats.max,
      max_at: stats.maxAtMs,
      first: stats.first,
      last: stats.last,
      mean: stats.mean,
      seconds: stats.seconds,
      out_of_range: stats.rejected.out_of_range ?? 0,
      unreadable: stats.rejected.unreadable ?? 0,
      jump: stats.rejected.jump ?? 0,
      stuck_seconds: stats.stuckSeconds,
    };
  }

  private crossingRow(crossing: LimitCrossing): TableRow<'crossings'> {
    const { signal, direction, stage, limit, written } = crossing.limit;
    return {
      ...{ ...this.key(), crossing_id: crossingId(this.identity.uploadId, crossing) },
      ...{ signal, direction, stage, limit_value: limit, written },
      ...{ started_at: crossing.startMs, ended_at: crossing.endMs, seconds: crossing.seconds },
      ...{ worst: crossing.worst, worst_at: crossing.worstAtMs },
      ...crossing.context,
    };
  }

  private uploadRow(summary: LogSummary): TableRow<'uploads'> {
    return {
      ...this.key(),
      kind: 'log',
      recorder_id: this.identity.recorderId,
      file_name: this.identity.fileName,
      first_at: summary.firstMs,
      last_at: summary.lastMs,
      rows: summary.rows,
      rows_kept: summary.rowsKept,
      gaps: summary.gaps,
      longest_gap_seconds: summary.longestGapSeconds,
      backward_steps: summary.backwardSteps,
      duplicate_times: summary.duplicateTimes,
      counted_seconds: summary.countedSeconds,
      catalogue_version: this.identity.catalogueVersion,
    };
  }
}
