import { expect, it, onTestFinished } from 'vitest';
import { FakeService } from './fake-service.js';
import { runTallybay } from './recorded-terminal.js';

// Own rule (issue "The analyst's history", upkeep): size, files, oldest and newest by vehicle, as a table and as JSON.

const size = {
  upkeep: {
    ...{ at: '2026-11-26T03:41:00.000Z', removed: { files: 12, bytes: 3_400_000 }, withheld: 7 },
    packed: { packed: 3, files: 40 },
    expired: { uploads: 2, tables: { samples: 2 } },
    ...{ superseded: { files: 0, bytes: 0 }, abandoned: { files: 0, bytes: 0 } },
  },
  tables: [{ table: 'samples', files: 3, bytes: 2_500_000 }],
  vehicles: [
    {
      ...{ vehicle: 'KV-101', files: 3, bytes: 2_500_000, uploads: 3 },
      ...{ oldestMs: Date.parse('2026-01-02T08:00:00Z'), newestMs: Date.parse('2026-11-25T08:00:00Z') },
    },
  ],
};

it('tallybay lake tells how much there is, and what was tidied', async () => {
  const service = await FakeService.start();
  onTestFinished(() => service.stop());
  service.routes.set('GET /v1/lake', () => ({ status: 200, body: size }));
  const table = await runTallybay(['lake', '--url', service.url]);
  expect(table.out.join('\n')).toMatch(/samples +3 +2\.5\nall +3 +2\.5/);
  expect(table.out.join('\n')).toMatch(/KV-101 +3 +3 +2\.5 +2026-01-02 +2026-11-25/);
  expect(table.out).toContain(
    'Tidied 2026-11-26 03:41 UTC: 40 small files made 3 packs, 12 files removed (3.4 MB), old rows of 2 uploads taken out; 7 files wait until no query can read them',
  );
  const json = await runTallybay(['lake', '--json', '--url', service.url]);
  expect(JSON.parse(json.out.join('\n'))).toEqual(size);
});
