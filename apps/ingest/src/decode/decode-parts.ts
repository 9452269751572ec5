import type { Registry } from '@tallybay/registry';
import type { StreamConsumer } from '@tallybay/stream';
import type { DecodePool } from './decode-pool.js';
import type { LandedDecode } from './landed-decode.js';
import type { LimitBook } from './limit-book.js';
import type { ProgressBook } from './progress-book.js';
import type { Log, Settlement } from './settlement.js';

/** What decoding is made of. */
export interface DecodeParts {
  lake: string;
  /** Names the staged files of this process. */
  owner: string;
  registry: Registry;
  consumer: StreamConsumer;
  pool: DecodePool;
  landed: LandedDecode;
  limits: LimitBook;
  settlement: Settlement;
  progress: ProgressBook;
  log: Log;
  nowMs: () => number;
  /** How long a lake that cannot be written is tried before an upload is set aside. */
  lakePatienceMs: number;
}
