import { availableParallelism } from 'node:os';
import { join, resolve } from 'node:path';
import { TallybayError } from '@tallybay/contracts';
import { type StreamConfig, streamConfigFrom, streamEnvironmentShape } from '@tallybay/stream';
import { z } from 'zod';

const port = z.coerce.number().int().min(0).max(65_535);

/** Every variable that this app reads; nothing else reads the environment. */
export const environmentSchema = z.object({
  TALLYBAY_HOME: z.string().min(1).default('./data'),
  TALLYBAY_HOST: z.string().min(1).default('127.0.0.1'),
  TALLYBAY_INGEST_PORT: port.default(8081),
  TALLYBAY_DATABASE_URL: z.string().optional(),
  ...streamEnvironmentShape,
  /** `all`: receive and decode in one process; `receive` or `decode`: one half, sharing home or Kafka with the other. */
  TALLYBAY_ROLE: z.enum(['all', 'receive', 'decode']).default('all'),
  TALLYBAY_DECODE_THREADS: z.coerce.number().int().min(1).max(256).optional(),
  TALLYBAY_MAX_UPLOAD_BYTES: z.coerce
    .number()
    .int()
    .min(1)
    .default(64 * 1024 ** 3),
  /** Transfers (logs that arrive in pieces) open at a time, their announced bytes together, and how long one may rest. */
  TALLYBAY_MAX_TRANSFERS: z.coerce.number().int().min(1).max(100_000).default(256),
  TALLYBAY_MAX_TRANSFER_BYTES: z.coerce
    .number()
    .int()
    .min(1)
    .default(256 * 1024 ** 3),
  TALLYBAY_TRANSFER_KEEP_HOURS: z.coerce.number().positive().max(8_760).default(168),
  /** A folder whose new files are taken in as if they had been uploaded. */
  TALLYBAY_WATCH_DIR: z.string().optional(),
  TALLYBAY_WATCH_QUIET_SECONDS: z.coerce.number().positive().default(10),
  /** How long a lake that cannot be written is tried before an upload is set aside (it can be decoded again). */
  TALLYBAY_LAKE_PATIENCE_SECONDS: z.coerce.number().min(0).max(86_400).default(300),
  /** How long uploads that are arriving may take to end when the process is told to stop. */
  TALLYBAY_DRAIN_SECONDS: z.coerce.number().min(0).max(86_400).default(120),
  TALLYBAY_LOG_LEVEL: z.enum(['fatal', 'error', 'warn', 'info', 'debug', 'trace', 'silent']).default('info'),
});

export interface IngestConfig {
  home: string;
  host: string;
  port: number;
  role: 'all' | 'receive' | 'decode';
  landing: string;
  lake: string;
  registry: { kind: 'sqlite'; file: string } | { kind: 'postgres'; url: string };
  stream: StreamConfig;
  decodeThreads: number;
  maxUploadBytes: number;
  transfers: { directory: string; maxOpen: number; maxTotalBytes: number; keepHours: number };
  watch: { directory: string; quietSeconds: number } | null;
  lakePatienceSeconds: number;
  drainSeconds: number;
  logLevel: string;
}

/** Reads the whole configuration once. @throws TallybayError `parameter_invalid` naming the variable and its limit */
export function readIngestConfig(environment: NodeJS.ProcessEnv): IngestConfig {
  // An empty variable counts as not set: compose files write `NAME: ${NAME:-}`.
  const given = Object.fromEntries(Object.entries(environment).filter(([, value]) => value !== ''));
  const parsed = environmentSchema.safeParse(given);
  if (!parsed.success) {
    const issue = parsed.error.issues[0]!;
    const name = issue.path.join('.');
    throw new TallybayError('parameter_invalid', `${name}=${environment[name] ?? ''}: ${issue.message}`, {
      advice: `Correct the environment variable ${name} and start again.`,
      place: { field: name },
    });
  }
  const env = parsed.data;
  const home = resolve(env.TALLYBAY_HOME);
  return {
    home,
    host: env.TALLYBAY_HOST,
    port: env.TALLYBAY_INGEST_PORT,
    role: env.TALLYBAY_ROLE,
    landing: join(home, 'landing'),
    lake: join(home, 'lake'),
    registry: env.TALLYBAY_DATABASE_URL
      ? { kind: 'postgres', url: env.TALLYBAY_DATABASE_URL }
      : { kind: 'sqlite', file: join(home, 'registry.sqlite') },
    stream: streamConfigFrom(env, home),
    decodeThreads: env.TALLYBAY_DECODE_THREADS ?? Math.max(1, Math.min(8, availableParallelism())),
    maxUploadBytes: env.TALLYBAY_MAX_UPLOAD_BYTES,
    transfers: {
      directory: join(home, 'transfers'),
      maxOpen: env.TALLYBAY_MAX_TRANSFERS,
      maxTotalBytes: env.TALLYBAY_MAX_TRANSFER_BYTES,
      keepHours: env.TALLYBAY_TRANSFER_KEEP_HOURS,
    },
    watch: env.TALLYBAY_WATCH_DIR
      ? { directory: resolve(env.TALLYBAY_WATCH_DIR), quietSeconds: env.TALLYBAY_WATCH_QUIET_SECONDS }
      : null,
    lakePatienceSeconds: env.TALLYBAY_LAKE_PATIENCE_SECONDS,
    drainSeconds: env.TALLYBAY_DRAIN_SECONDS,
    logLevel: env.TALLYBAY_LOG_LEVEL,
  };
}
