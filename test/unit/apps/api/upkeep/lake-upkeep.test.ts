import { readdirSync, utimesSync } from 'node:fs';
import { join } from 'node:path';
import { lakeSizeSchema } from '@tallybay/contracts';
import { checkLake } from '@tallybay/lake';
import { expect, it } from 'vitest';
import { putRows } from '../../../libs/lake/lake-builder.js';
import { startApi } from '../test-api.js';

// Own rule (issue "The analyst's history", upkeep): what a round removed is said at the upload and with the lake's size.

const NOW = Date.parse('2026-11-26T00:00:00Z');
const DAY = 86_400_000;
const iso = (ms: number) => new Date(ms).toISOString();

it('a round removes what people no longer keep, says so, and keeps everything else', async () => {
  let now = NOW;
  const { runtime, call } = await startApi({}, () => now);
  const lake = runtime.config.lakeDirectory;
  for (const [id, days] of [
    ['new', 10],
    ['old', 400],
  ] as const) {
    const at = NOW - days * DAY;
    await runtime.registry.uploads.insertIfAbsent({
      ...{ id, kind: 'log', state: 'stored', bytes: 1, sha256: id, receivedAt: iso(at), storedAt: iso(at) },
      ...{ vehicle: 'KV-1', firstTime: iso(at - 1000), lastTime: iso(at), attempt: 0 },
    });
    putRows(lake, 'samples', { vehicle: 'KV-1', upload: id }, [{ row_no: 1, time: at }]);
    putRows(lake, 'uploads', { vehicle: 'KV-1', upload: id }, [{ kind: 'log', first_at: at, last_at: at }]);
  }
  expect((await call('GET', '/v1/lake')).body.upkeep).toBeNull();
  // Nothing goes unless somebody says so.
  expect(await runtime.upkeeper.round()).toMatchObject({ expired: { uploads: 0 }, withheld: 0 });
  const refused = await call('PUT', '/v1/settings/lake-keeping', { uploads: 30 });
  expect(refused.status).toBe(422);
  const put = await call('PUT', '/v1/settings/lake-keeping', { samples: 365 });
  expect(put.status).toBe(200);
  expect(await runtime.upkeeper.round()).toMatchObject({
    ...{ expired: { uploads: 1, tables: { samples: 1 } }, withheld: 1, removed: { files: 0 } },
  });
  const row = await runtime.registry.uploads.get('old');
  expect(row?.decisions.at(-1)).toMatchObject({ what: 'rows removed', value: 'samples' });
  expect(row?.decisions.at(-1)?.why).toContain('samples 365');
  expect((await runtime.registry.uploads.get('new'))?.decisions).toEqual([]);

  const withheld = join(lake, 'withheld');
  for (const name of readdirSync(withheld)) utimesSync(join(withheld, name), NOW / 1000, NOW / 1000);
  now = NOW + DAY / 24 + 1;
  expect(await runtime.upkeeper.round()).toMatchObject({ removed: { files: 1 }, expired: { uploads: 0 } });
  const size = lakeSizeSchema.parse((await call('GET', '/v1/lake')).body);
  expect(size.upkeep?.removed.files).toBe(1);
  expect(size.tables.filter(({ files }) => files > 0)).toMatchObject([
    { table: 'samples', files: 1 },
    { table: 'uploads', files: 2 },
  ]);
  // Both commands speak of the same files.
  expect(await checkLake(lake)).toEqual({ files: size.tables.reduce((sum, { files }) => sum + files, 0), damaged: [] });
  expect(size.vehicles[0]).toMatchObject({ vehicle: 'KV-1', uploads: 2, files: 3, oldestMs: NOW - 400 * DAY });
});
