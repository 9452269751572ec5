import { driveEpisodes, Lake } from '@tallybay/lake';
import { DEFAULT_RULES, stageEpisodeRules } from '@tallybay/risk';
import { expect, it, onTestFinished } from 'vitest';
import { putRows, temporaryLake } from '../lake-builder.js';

it('episodes of a drive are cut from its own samples, with the context of the worst value', async () => {
  const directory = temporaryLake();
  const start = Date.UTC(2026, 9, 6, 14);
  const key = { vehicle: 'KV-1', upload: 'u1' };
  const sample = (second: number, coolant: number | null) => ({
    ...{ row_no: second + 1, time: start + second * 1000, coolant_temp_c: coolant },
    ...{ vehicle_speed_kmh: 20 + second, ambient_temp_c: 31 },
  });
  const warm = (second: number) =>
    second % 2 ? null : second < 40 || second > 100 ? 95 : 112 + (second === 70 ? 6 : 0);
  putRows(
    directory,
    'samples',
    key,
    Array.from({ length: 150 }, (_item, second) => sample(second, warm(second))),
  );
  putRows(directory, 'samples', { vehicle: 'KV-1', upload: 'u2' }, [
    { row_no: 1, time: start + 5_000, coolant_temp_c: 140 },
  ]);
  const lake = await Lake.open(directory, { threads: 1 });
  onTestFinished(() => lake.close());
  const rules = stageEpisodeRules(DEFAULT_RULES, 'coolant_temp_c', { vehicleClass: 'van' });
  const drive = { vehicleId: 'KV-1', uploadId: 'u1', startedMs: start, endedMs: start + 149_000 };
  const found = await driveEpisodes(
    lake,
    drive,
    rules.map((rule) => ({ signal: 'coolant_temp_c' as const, rule })),
  );
  expect(found.map(({ rule, episodes }) => [rule.stage, episodes.length])).toEqual([
    ['watch', 1],
    ['caution', 1],
    ['alarm', 0],
    ['severe', 0],
  ]);
  expect(found[1]!.episodes[0]).toMatchObject({
    ...{ startMs: start + 40_000, endMs: start + 102_000, seconds: 62, worst: 118, worstAtMs: start + 70_000 },
    contextAtWorst: { vehicle_speed_kmh: 90, ambient_temp_c: 31, engine_load_pct: null, engine_speed_rpm: null },
  });
});
