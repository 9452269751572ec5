import { rmSync } from 'node:fs';
import { request } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { benchLog } from '@tallybay/synthetic-fleet';
import { IngestService } from '../../service/ingest-service.js';

export interface MemoryBenchResult {
  bytes: number;
  rows: number;
  seconds: number;
  peakMegabytes: number;
}

const BLOCK_ROWS = 36_000;

/**
 * Streams one log of the asked size to the service, made on the fly so that nothing but the service holds it. Later hours
 * repeat the first hour's values under later instants: what matters here is the size.
 */
export async function runMemoryBench(
  options: { megabytes: number },
  tell: (line: string) => void,
): Promise<MemoryBenchResult> {
  const home = join(tmpdir(), 'tallybay-bench', `memory-${process.pid}`);
  rmSync(home, { recursive: true, force: true });
  const service = await IngestService.start(home, ['BENCH-0']);
  const sent = { bytes: 0 };
  try {
    const start = performance.now();
    const { id } = await post(`${service.url}/v1/logs?vehicle=BENCH-0`, longLog(options.megabytes * 1e6, sent, tell));
    await service.untilStored(1);
    const upload = await service.get<{ counts: { rowsKept: number } }>(`/v1/uploads/${id}`);
    const figures = service.figures();
    if (!figures) throw new Error('peak memory is read from /proc, which this system does not have');
    return {
      bytes: sent.bytes,
      rows: upload.counts.rowsKept,
      seconds: (performance.now() - start) / 1000,
      peakMegabytes: figures.peakBytes / 1e6,
    };
  } finally {
    await service.stop();
    rmSync(home, { recursive: true, force: true });
  }
}

async function post(url: string, body: AsyncIterable<Uint8Array>): Promise<{ id: string }> {
  return new Promise((resolve, reject) => {
    const outgoing = request(url, { method: 'POST' }, (response) => {
      response.setEncoding('utf8');
      let text = '';
      response.on('data', (part: string) => {
        text += part;
      });
      response.on('end', () =>
        response.statusCode === 202 ? resolve(JSON.parse(text) as { id: string }) : reject(new Error(text)),
      );
    });
    outgoing.on('error', reject);
    Readable.from(body, { objectMode: false }).on('error', reject).pipe(outgoing);
  });
}

async function* longLog(
  bytes: number,
  sent: { bytes: number },
  tell: (line: string) => void,
): AsyncGenerator<Uint8Array> {
  const first = Buffer.concat([...benchLog({ seed: 1, rows: BLOCK_ROWS, columns: 60 })]).toString('utf8');
  const headerEnd = first.indexOf('\n') + 1;
  const rows = first.slice(headerEnd);
  yield Buffer.from(first.slice(0, headerEnd));
  for (let hour = 0; sent.bytes < bytes; hour++) {
    // The bench log's rows begin with an ISO instant; the hour is moved on by rewriting date and hour.
    const block = Buffer.from(rows.replaceAll(/^(\d{4}-\d\d-\d\dT\d\d)/gm, (instant) => later(instant, hour)));
    sent.bytes += block.length;
    tell(`${(sent.bytes / 1e6).toFixed(0)} MB sent`);
    for (let at = 0; at < block.length; at += 1 << 18) yield block.subarray(at, at + (1 << 18));
  }
}

function later(dateAndHour: string, hours: number): string {
  return new Date(Date.parse(`${dateAndHour}:00:00Z`) + hours * 3_600_000).toISOString().slice(0, 13);
}
