import { setTimeout as sleep } from 'node:timers/promises';
import type { Upload, UploadReceipt } from '@tallybay/contracts';
import { describe, expect, it, onTestFinished } from 'vitest';
import { Load } from '../../faults/load.js';
import { ended, get, Path } from '../../faults/path.js';
import { compareLake, isClean, reportLines } from '../../faults/report.js';

/** Sends the body over `seconds`, as a slow line does; resolves with the answer. */
function slowly(url: string, body: Buffer, seconds: number): Promise<Response> {
  const parts = 20;
  async function* pieces() {
    for (let n = 0; n < parts; n++) {
      yield body.subarray(Math.floor((n * body.length) / parts), Math.floor(((n + 1) * body.length) / parts));
      await sleep((seconds * 1000) / parts);
    }
  }
  return fetch(url, { method: 'POST', body: pieces(), duplex: 'half' } as unknown as RequestInit);
}

describe('a rolling restart during an upload', { timeout: 120_000 }, () => {
  it('does not fail the upload: the old process takes it to its end, and says "not now" to new ones', async () => {
    const path = await Path.create();
    onTestFinished(() => path.close());
    const first = await path.add('receive');
    const second = await path.add('receive');
    await path.add('decode');
    const load = new Load(() => [second.url], 3);
    const { body, sent } = load.next(2);
    const upload = slowly(`${first.url}/v1/logs?vehicle=${sent.vehicle}`, body, 3);
    await sleep(1_000);
    const stopped = first.stop();
    await sleep(500);
    const ready = await fetch(`${first.url}/health/ready`).catch(() => null);
    expect(ready === null || ready.status === 503).toBe(true);
    const refused = await fetch(`${first.url}/v1/logs?vehicle=${sent.vehicle}`, { method: 'POST', body: 'Time,RPM\n' });
    expect(refused.status).toBe(503);
    expect(await refused.json()).toMatchObject({ code: 'service_stopping' });
    const answer = await upload;
    expect(answer.status).toBe(202);
    expect(((await answer.json()) as UploadReceipt).id).toBe(sent.id);
    load.acknowledged.push(sent);
    expect(await stopped).toBe(0);
    await first.start();
    // The other half of the roll, now with the first one back.
    const { body: more, sent: next } = load.next(2);
    const during = slowly(`${second.url}/v1/logs?vehicle=${next.vehicle}`, more, 2);
    await sleep(500);
    const secondStopped = second.stop();
    expect((await during).status).toBe(202);
    load.acknowledged.push(next);
    expect(await secondStopped).toBe(0);
    expect((await ended(first.url, sent.id)).state).toBe('stored');
    expect((await ended(first.url, next.id)).state).toBe('stored');
    await path.settle();
    const report = await compareLake(path, load, {
      name: 'rolling restart',
      done: { restarts: 2 },
      reportedTooEarly: 0,
      beganMs: Date.now(),
    });
    console.log(reportLines(report).join('\n'));
    expect(report, JSON.stringify(report, null, 1)).toSatisfy(isClean);
  });

  it('leaves the drafts of another receiver alone when one starts', async () => {
    const path = await Path.create();
    onTestFinished(() => path.close());
    const first = await path.add('all');
    const load = new Load(() => [first.url], 4);
    const { body, sent } = load.next(1);
    const upload = slowly(`${first.url}/v1/logs?vehicle=${sent.vehicle}`, body, 6);
    await sleep(500);
    const second = await path.add('receive');
    expect((await upload).status).toBe(202);
    expect((await get<Upload>(`${second.url}/v1/uploads/${sent.id}`)).id).toBe(sent.id);
  });
});
