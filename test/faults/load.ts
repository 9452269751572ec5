import { createHash } from 'node:crypto';
import { setTimeout as sleep } from 'node:timers/promises';
import type { UploadReceipt } from '@tallybay/contracts';
import { benchLog, RandomStream } from '@tallybay/synthetic-fleet';
import { differences, type Fingerprint, fingerprintOfLog } from './fingerprint.js';
import { fingerprintOfText } from './generated-text.js';

export interface SentLog {
  id: string;
  vehicle: string;
  expected: Fingerprint;
  bytes: number;
}

const VEHICLES = 8;
/** The hour in which the generator's log is recorded, from its first row to its last; each sent log gets one of its own. */
const GENERATED_HOUR = '2026-09-07T14';
/** Days from 2023 on that logs are moved to, all in the past; after them the next hour's turn comes. */
const DAYS = 1_000;
const RETRY_MS = 250;

export const LOAD_VEHICLES = Array.from({ length: VEHICLES }, (_, i) => `KV-${101 + i}`);

/** Sizes in rows: within one chunk, and over several. */
const SHAPES = [
  { rows: 600, columns: 20 },
  { rows: 1_500, columns: 30 },
  { rows: 9_000, columns: 25 },
];

/**
 * A seeded stream of logs, no two alike, each with what must come of it. Sends them over HTTP, some at a time, and keeps
 * sending one until it is acknowledged, as a recorder's uploader does.
 */
export class Load {
  readonly acknowledged: SentLog[] = [];
  /** Tries that got no acknowledgement. */
  refusals = 0;
  /** Logs that are being sent at this moment. */
  onTheWay = 0;
  private readonly random: RandomStream;
  private readonly templates: string[];
  private count = 0;
  private running: Promise<void>[] = [];
  private going = false;

  constructor(
    private readonly urls: () => string[],
    seed: number,
    private readonly options: { senders: number; pauseMs: number } = { senders: 2, pauseMs: 150 },
  ) {
    this.random = new RandomStream(`faults/${seed}`);
    this.templates = SHAPES.map((shape) => template({ seed, ...shape }));
  }

  start(): void {
    this.going = true;
    this.running = Array.from({ length: this.options.senders }, async () => {
      while (this.going) {
        await this.sendOne();
        await sleep(this.options.pauseMs * this.random.range(0.5, 1.5));
      }
    });
  }

  /** No new log is begun; those on the way are sent until they are acknowledged. */
  async stop(): Promise<void> {
    this.going = false;
    await Promise.all(this.running);
  }

  async sendOne(shape = this.random.int(0, SHAPES.length - 1)): Promise<SentLog> {
    const log = this.next(shape);
    await this.untilAcknowledged(log.body, log.sent);
    this.acknowledged.push(log.sent);
    return log.sent;
  }

  next(shape: number): { body: Buffer; sent: SentLog } {
    const n = this.count++;
    const text = this.templates[shape]!.replaceAll(GENERATED_HOUR, hourOf(n));
    const body = Buffer.from(text);
    const id = createHash('sha256').update(body).digest('hex').slice(0, 32);
    const vehicle = LOAD_VEHICLES[n % VEHICLES]!;
    return { body, sent: { id, vehicle, expected: fingerprintOfText(text), bytes: body.length } };
  }

  private async untilAcknowledged(body: Buffer, log: SentLog): Promise<void> {
    for (let turn = 0; ; turn++) {
      const urls = this.urls();
      const url = urls[turn % urls.length]!;
      this.onTheWay++;
      const receipt = await post(`${url}/v1/logs?vehicle=${log.vehicle}`, body).finally(() => this.onTheWay--);
      if (receipt) {
        if (receipt.id !== log.id) throw new Error(`upload ${log.id} was acknowledged as ${receipt.id}`);
        return;
      }
      this.refusals++;
      await sleep(RETRY_MS);
    }
  }
}

/** A log as text. What is expected of it must not depend on who reads it: a plain split, or the decoder. */
function template(options: { seed: number; rows: number; columns: number }): string {
  const bytes = Buffer.concat([...benchLog(options)]);
  const expected = fingerprintOfText(bytes.toString());
  const said = differences(expected, fingerprintOfLog(bytes));
  if (expected.rows !== options.rows) said.push(`${expected.rows} rows, asked for ${options.rows}`);
  if (said.length > 0) throw new Error(`the generated log and its decode differ: ${said.join('; ')}`);
  return bytes.toString();
}

/** @throws Error when there are no more hours */
function hourOf(n: number): string {
  const hour = 14 + Math.floor(n / DAYS);
  if (hour > 23) throw new Error(`the load is made for ${10 * DAYS} logs`);
  return `${new Date(Date.UTC(2023, 0, 1 + (n % DAYS))).toISOString().slice(0, 10)}T${hour}`;
}

/** The receipt, or null when there was none: nobody there, the connection cut, or "not now". */
async function post(url: string, body: Buffer): Promise<UploadReceipt | null> {
  let response: Response;
  try {
    response = await fetch(url, { method: 'POST', body: new Uint8Array(body), signal: AbortSignal.timeout(60_000) });
    const text = await response.text();
    if (response.ok) return JSON.parse(text) as UploadReceipt;
    if (response.status === 503) return null;
    throw new Error(`${url}: ${response.status} ${text}`);
  } catch (error) {
    if (error instanceof TypeError || (error as Error).name === 'TimeoutError') return null;
    throw error;
  }
}
