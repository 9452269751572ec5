import { readdirSync, utimesSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { rankingsDirectory, removeAbandoned, removeSupersededRankings, stagingDirectory } from '@tallybay/lake';
import { expect, it } from 'vitest';
import { temporaryLake } from '../lake-builder.js';

// Own rule (issue "The analyst's history", upkeep): only what something newer stands for, or nobody will finish, goes.

const NOW = Date.parse('2026-11-26T00:00:00Z');
const HOUR = 3_600_000;

function put(folder: string, name: string, ageHours: number): void {
  writeFileSync(join(folder, name), 'x');
  utimesSync(join(folder, name), (NOW - ageHours * HOUR) / 1000, (NOW - ageHours * HOUR) / 1000);
}

it('removes superseded revisions of rankings that are old enough; the newest of a week stays, however old', async () => {
  const lake = temporaryLake();
  const folder = rankingsDirectory(lake);
  for (const [name, days] of [
    ['2026-W01-r1', 300],
    ['2026-W01-r2', 290],
    ['2026-W02-r1', 280],
    ['2026-W40-r9', 50],
    ['2026-W40-r10', 40],
  ] as const)
    put(folder, `${name}.json`, days * 24);
  expect(await removeSupersededRankings(lake, NOW - 100 * 24 * HOUR)).toEqual({ files: 1, bytes: 1 });
  expect(readdirSync(folder).sort()).toEqual(
    ['2026-W01-r2', '2026-W02-r1', '2026-W40-r10', '2026-W40-r9'].map((name) => `${name}.json`),
  );
  expect(await removeSupersededRankings(lake, NOW)).toEqual({ files: 1, bytes: 1 });
  expect(readdirSync(folder)).not.toContain('2026-W40-r9.json');
});

it('removes half-written files that nobody has touched for a day, and no others', () => {
  const lake = temporaryLake();
  put(stagingDirectory(lake), 'left.parquet', 25);
  put(stagingDirectory(lake), 'being-written.parquet', 23);
  expect(removeAbandoned(lake, NOW)).toEqual({ files: 1, bytes: 1 });
  expect(readdirSync(stagingDirectory(lake))).toEqual(['being-written.parquet']);
});
