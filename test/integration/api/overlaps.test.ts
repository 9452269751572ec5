// Two exports of one drive, through receive and decode into the lake, and from there over HTTP. Our own rule, no source.
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import {
  driveListSchema,
  rankingSchema,
  recordingSchema,
  vehicleHeatSchema,
  vehicleQualitySchema,
} from '@tallybay/contracts';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { IngestService } from '../../service/ingest-service.js';
import { startApi } from '../../unit/apps/api/test-api.js';
import { driveRows, writeLog } from '../../unit/libs/lake/store-log.js';

const START = Date.UTC(2026, 9, 6, 14);
const ROWS = driveRows(START, 60);
/** Each vehicle's logs in the order in which they are sent. */
const SENT: Record<string, string[]> = {
  'KV-ONE': [writeLog(ROWS, 'iso')],
  'KV-TWO': [`# first export\n${writeLog(ROWS, 'iso')}`, writeLog(ROWS, 'epoch')],
  'KV-TOO': [`# later export\n${writeLog(ROWS, 'epoch')}`, `# last export\n${writeLog(ROWS, 'iso')}`],
  'KV-LONGER': [writeLog(ROWS.slice(600, 2400), 'epoch'), `# whole\n${writeLog(ROWS, 'iso')}`],
};

let home: string;
const uploads: Record<string, string[]> = {};

beforeAll(async () => {
  home = mkdtempSync(join(tmpdir(), 'tallybay-overlaps-'));
  const service = await IngestService.start(home, Object.keys(SENT));
  try {
    for (const [vehicle, logs] of Object.entries(SENT))
      for (const body of logs) {
        const answer = await fetch(`${service.url}/v1/logs?vehicle=${vehicle}`, { method: 'POST', body });
        const { id } = (await answer.json()) as { id: string };
        (uploads[vehicle] ??= []).push(id);
      }
    await service.untilStored(Object.values(SENT).flat().length);
  } finally {
    await service.stop();
  }
});
afterAll(() => rmSync(home, { recursive: true, force: true }));

it('hours, exposures, drives and the ranking are those of one; the overlap is told', async () => {
  expect(existsSync(join(home, 'registry.sqlite'))).toBe(true);
  const { call } = await startApi({ TALLYBAY_HOME: home }, () => START + 20 * 86_400_000);
  const heatOf = async (vehicle: string) =>
    vehicleHeatSchema
      .parse((await call('GET', `/v1/vehicles/${vehicle}/heat?until=2026-W41&weeks=1`)).body)
      .weeks.map(({ drives, engineHours, distanceKm, signals }) => ({ drives, engineHours, distanceKm, signals }));
  const one = await heatOf('KV-ONE');
  expect(one[0]!.signals[0]!.stages[0]!.seconds).toBeGreaterThan(600);
  for (const vehicle of ['KV-TWO', 'KV-TOO', 'KV-LONGER']) {
    const heat = await heatOf(vehicle);
    expect(heat[0]).toMatchObject({ drives: 1 });
    expect(heat[0]!.engineHours).toBeCloseTo(one[0]!.engineHours, 6);
    heat[0]!.signals[0]!.stages.forEach((stage, index) => {
      expect(Math.abs(stage.seconds - one[0]!.signals[0]!.stages[index]!.seconds)).toBeLessThanOrEqual(1);
    });
    const drives = driveListSchema.parse((await call('GET', `/v1/vehicles/${vehicle}/drives`)).body);
    expect(drives.drives).toHaveLength(1);
  }
  const ranking = rankingSchema.parse((await call('POST', '/v1/rankings/2026-W41')).body);
  const scores = ranking.ranked.map(({ heat }) => heat.score!);
  expect(ranking.ranked.map(({ coverage }) => coverage.drives)).toEqual([1, 1, 1, 1]);
  expect(Math.max(...scores) - Math.min(...scores)).toBeLessThan(0.001);

  const longer = uploads['KV-LONGER']!;
  const recording = recordingSchema.parse((await call('GET', `/v1/recordings/${longer[0]}`)).body);
  expect(recording.overlaps).toMatchObject([{ other: longer[1], countedFrom: 'other' }]);
  expect(recording.overlaps[0]!.text).toBe(
    `Overlaps upload ${longer[1]} by 30 min: that time is counted there, not here.`,
  );
  const quality = vehicleQualitySchema.parse((await call('GET', '/v1/vehicles/KV-LONGER/quality?weeks=2')).body);
  expect(quality.overlaps).toEqual(recording.overlaps);
});
