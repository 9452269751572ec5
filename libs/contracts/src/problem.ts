import { z } from 'zod';

/**
 * Every error a person or a program can cause, as one table.
 *
 * `stage`       where on the path it happened
 * `disposition` what the process does next: `reject` answers the caller; `dead-letter` sets the bytes aside, visible and
 *               replayable; `retry` backs off and tries again; `hold` keeps the upload in the waiting list; `halt` stops
 * `http`        status when the error reaches an HTTP caller
 * `exitCode`    process exit code at the terminal (sysexits-like: 64 usage, 65 data, 66 no input, 69 unavailable, 73 cannot write)
 */
export const PROBLEMS = {
  body_empty: row('receive', 'reject', 400, 65, 'The upload is empty'),
  body_not_text: row('receive', 'reject', 415, 65, 'The upload is not a text log'),
  body_cut: row('receive', 'reject', 400, 65, 'The upload ended early'),
  body_too_large: row('receive', 'reject', 413, 65, 'The upload is larger than the limit'),
  encoding_unsupported: row('receive', 'reject', 415, 65, 'The content encoding is not supported'),
  log_no_rows: row('receive', 'reject', 422, 65, 'The log has a header but no rows'),
  log_no_time: row('receive', 'reject', 422, 65, 'The log has no column that can be read as time'),
  log_too_many_columns: row('receive', 'reject', 422, 65, 'The log has more columns than the limit'),
  log_cell_too_long: row('receive', 'reject', 422, 65, 'A cell is longer than the limit'),
  log_unreadable: row('receive', 'reject', 422, 65, 'No table could be found in the log'),
  snapshot_malformed: row('receive', 'reject', 422, 65, 'The snapshot does not have the expected shape'),
  parameter_invalid: row('receive', 'reject', 400, 64, 'A parameter cannot be read'),
  vehicle_unknown: row('receive', 'hold', 422, 65, 'The vehicle is not registered'),
  vehicle_missing: row('receive', 'hold', 202, 0, 'The upload does not say which vehicle it is from'),
  vehicle_contradiction: row('receive', 'hold', 202, 0, 'The upload points to two different vehicles'),
  time_missing: row('receive', 'hold', 202, 0, 'The log does not say when it was recorded'),
  zone_missing: row('receive', 'hold', 202, 0, "The log's clock has no time zone"),
  upload_unknown: row('serve', 'reject', 404, 66, 'There is no upload with this id'),
  upload_not_waiting: row('serve', 'reject', 409, 65, 'The upload is not waiting'),
  landing_unwritable: row('receive', 'retry', 503, 73, 'The landing store cannot be written'),
  landing_corrupt: row('decode', 'dead-letter', 500, 65, 'A stored upload no longer matches its checksum'),
  stream_unavailable: row('receive', 'retry', 503, 69, 'The stream cannot be reached'),
  stream_corrupt: row('decode', 'halt', 500, 65, 'The stored stream no longer matches its checksum'),
  partition_lost: row('decode', 'retry', 503, 69, 'Another member of the group has this partition now'),
  chunk_undecodable: row('decode', 'dead-letter', 500, 65, 'A chunk could not be decoded'),
  lake_unwritable: row('store', 'retry', 503, 73, 'The lake cannot be written'),
  lake_damaged: row('store', 'dead-letter', 500, 65, 'A file in the lake is damaged'),
  transfer_unknown: row('receive', 'reject', 404, 66, 'There is no open transfer with this id'),
  transfer_offset: row('receive', 'reject', 409, 65, 'The transfer goes on at another byte'),
  transfer_busy: row('receive', 'retry', 409, 69, 'Somebody else is sending this transfer'),
  transfer_length: row('receive', 'reject', 400, 65, 'The bytes do not add up to the length that was said'),
  transfer_altered: row('receive', 'reject', 422, 65, 'The bytes that arrived are not those that were announced'),
  transfers_full: row('receive', 'retry', 503, 69, 'No further transfer can be opened now'),
  service_stopping: row('receive', 'retry', 503, 69, 'The service is stopping'),
  dead_letter_unknown: row('serve', 'reject', 404, 66, 'There is no such dead letter'),
  ranking_unknown: row('serve', 'reject', 404, 66, 'There is no ranking for this week'),
  week_invalid: row('serve', 'reject', 400, 64, 'The week is not an ISO week such as 2026-W41, or is yet to come'),
  week_without_data: row('serve', 'reject', 409, 65, 'Nothing was recorded in this week'),
  vehicle_not_found: row('serve', 'reject', 404, 66, 'There is no vehicle with this id'),
  job_running: row('rank', 'reject', 409, 69, 'The job is already running'),
  edit_conflict: row('serve', 'reject', 409, 65, 'Somebody else changed this first'),
  place_taken: row('serve', 'reject', 409, 65, 'The visit cannot go there'),
  visit_state: row('serve', 'reject', 409, 65, 'The visit is past that step'),
  plan_running: row('serve', 'reject', 409, 69, 'A plan is being made already'),
  shop_missing: row('serve', 'reject', 409, 65, 'The shop has no bays, people or hours yet'),
  body_invalid: row('serve', 'reject', 422, 65, 'The request body does not have the expected shape'),
  media_type_unsupported: row('serve', 'reject', 415, 65, 'The content type is not supported'),
  route_unknown: row('serve', 'reject', 404, 64, 'There is nothing at this address'),
  service_unreachable: row('serve', 'reject', 502, 69, 'The service cannot be reached'),
  record_unknown: row('serve', 'reject', 404, 66, 'There is no such record'),
  record_in_use: row('serve', 'reject', 409, 65, 'Something else still needs this record'),
  registry_unavailable: row('serve', 'retry', 503, 69, 'The registry cannot be used'),
  registry_newer: row('serve', 'halt', 500, 78, 'The registry was written by a newer Tallybay'),
  query_invalid: row('serve', 'reject', 422, 65, 'The statement cannot be run'),
  query_refused: row('serve', 'reject', 403, 65, 'The statement asks for more than reading the views'),
  query_limit: row('serve', 'reject', 422, 69, 'The query went past a limit'),
  query_cancelled: row('serve', 'reject', 499, 69, 'The query was cancelled'),
  query_busy: row('serve', 'retry', 503, 69, 'Too many queries are running'),
  format_unsupported: row('serve', 'reject', 406, 64, 'The answer cannot be given in this format'),
  config_invalid: row('serve', 'halt', 500, 78, 'The configuration cannot be used'),
  file_unreadable: row('receive', 'reject', 400, 66, 'The file cannot be read'),
  file_unwritable: row('serve', 'reject', 500, 73, 'The file cannot be written'),
  internal: row('serve', 'halt', 500, 70, 'Something went wrong inside Tallybay'),
} as const satisfies Record<string, ProblemRow>;

export type ProblemCode = keyof typeof PROBLEMS;

export interface ProblemRow {
  stage: 'receive' | 'decode' | 'store' | 'rank' | 'serve';
  disposition: 'reject' | 'dead-letter' | 'retry' | 'hold' | 'halt';
  http: number;
  exitCode: number;
  title: string;
}

function row(
  stage: ProblemRow['stage'],
  disposition: ProblemRow['disposition'],
  http: number,
  exitCode: number,
  title: string,
): ProblemRow {
  return { stage, disposition, http, exitCode, title };
}

/** Where in the input the problem is, as far as known. */
export interface ProblemPlace {
  file?: string;
  row?: number;
  column?: string;
  /** Path inside a JSON body, e.g. `codes.0.status`. */
  field?: string;
  /** Every field that does not fit, where there are several: a form shows each beside its control. */
  fields?: { field: string; text: string }[];
}

/** RFC 9457 problem details, with our code, place, limit and advice as extension members. */
export const problemSchema = z.object({
  type: z.string(),
  title: z.string(),
  status: z.number().int(),
  /** What was wrong, with the offending value and the limit. */
  detail: z.string(),
  code: z.string(),
  instance: z.string().optional(),
  /** What to do about it. */
  advice: z.string().optional(),
  file: z.string().optional(),
  row: z.number().int().optional(),
  column: z.string().optional(),
  field: z.string().optional(),
  fields: z.array(z.object({ field: z.string(), text: z.string() })).optional(),
});
export type ProblemDocument = z.infer<typeof problemSchema>;

/** The one error class of the project: a row of PROBLEMS plus what happened. */
export class TallybayError extends Error {
  override readonly name = 'TallybayError';
  constructor(
    readonly code: ProblemCode,
    detail: string,
    readonly options: { advice?: string; place?: ProblemPlace; cause?: unknown } = {},
  ) {
    super(detail, { cause: options.cause });
  }

  get problem(): ProblemRow {
    return PROBLEMS[this.code];
  }

  toDocument(instance?: string): ProblemDocument {
    const { title, http } = this.problem;
    return {
      type: `urn:tallybay:problem:${this.code}`,
      title,
      status: http,
      detail: this.message,
      code: this.code,
      ...(instance ? { instance } : {}),
      ...(this.options.advice ? { advice: this.options.advice } : {}),
      ...this.options.place,
    };
  }
}

/** Total: any thrown thing becomes a TallybayError, foreign errors keep themselves as `cause`. */
export function classifyError(thrown: unknown): TallybayError {
  if (thrown instanceof TallybayError) return thrown;
  const detail = thrown instanceof Error ? thrown.message : String(thrown);
  return new TallybayError('internal', detail, { cause: thrown });
}
