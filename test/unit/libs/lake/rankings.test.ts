import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Ranking } from '@tallybay/contracts';
import { listRankings, publishRanking, rankingsDirectory, readRanking, stagingDirectory } from '@tallybay/lake';
import { computeRanking } from '@tallybay/risk';
import { describe, expect, it } from 'vitest';
import { healthySnapshot, rankingInput, vehicleFacts } from '../risk/facts-builder.js';
import { temporaryLake } from './lake-builder.js';

const ranking = (minutes: number): Ranking =>
  computeRanking(
    rankingInput([
      vehicleFacts({
        id: 'KV-1',
        snapshots: [healthySnapshot()],
        stretches: [[{ signal: 'coolant_temp_c', atC: 118, minutes }]],
      }),
      vehicleFacts({ id: 'KV-2', snapshots: [healthySnapshot()] }),
    ]),
  );

describe('published rankings', () => {
  it('are kept as one file a revision, and the same content is not published twice', async () => {
    const lake = temporaryLake();
    expect(await publishRanking(lake, ranking(10))).toMatchObject({
      published: true,
      ranking: { revision: 1, changes: [] },
    });
    expect(await publishRanking(lake, ranking(10))).toMatchObject({ published: false, ranking: { revision: 1 } });
    expect(readdirSync(rankingsDirectory(lake))).toEqual(['2026-W41-r1.json']);
    expect(readdirSync(stagingDirectory(lake))).toEqual([]);
  });

  it('get a new revision that says what late data changed; the old one stays', async () => {
    const lake = temporaryLake();
    await publishRanking(lake, ranking(0.1));
    const { ranking: second } = await publishRanking(lake, ranking(30));
    expect(second.revision).toBe(2);
    expect(second.changes).toEqual([expect.stringMatching(/^KV-1 stays at 1, score 0\.\d+ to 0\.\d+\.$/)]);
    expect(await readRanking(lake, '2026-W41')).toEqual(second);
    expect((await readRanking(lake, '2026-W41', 1))?.revision).toBe(1);
    expect(await listRankings(lake)).toEqual([
      { week: '2026-W41', revision: 2 },
      { week: '2026-W41', revision: 1 },
    ]);
  });

  it('are null where there is none, and an impossible week is refused by name', async () => {
    const lake = temporaryLake();
    expect(await readRanking(lake, '2026-W40')).toBeNull();
    expect(await readRanking(lake, '2026-W41', 7)).toBeNull();
    await expect(readRanking(lake, '2027-W53')).rejects.toMatchObject({ code: 'week_invalid' });
    await expect(readRanking(lake, '../secret')).rejects.toMatchObject({ code: 'week_invalid' });
  });

  it('sort revisions as numbers and pass over other files', async () => {
    const lake = temporaryLake();
    for (const name of ['2026-W41-r9.json', '2026-W41-r10.json', '2026-W42-r1.json', 'notes.txt'])
      writeFileSync(join(rankingsDirectory(lake), name), '{}');
    expect((await listRankings(lake)).map(({ week, revision }) => `${week} ${revision}`)).toEqual([
      '2026-W42 1',
      '2026-W41 10',
      '2026-W41 9',
    ]);
  });

  it('cannot be written where a file stands in the way: says which and what to do', async () => {
    const lake = join(temporaryLake(), 'not-a-folder');
    writeFileSync(lake, '');
    await expect(publishRanking(lake, ranking(1))).rejects.toMatchObject({ code: 'lake_unwritable' });
    expect(existsSync(lake) && readFileSync(lake, 'utf8')).toBe('');
  });
});
