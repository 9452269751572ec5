import { type Ranking, type RankingPreview, rankingPreviewSchema, rankingSchema } from '@tallybay/contracts';
import { DEFAULT_RULES, shiftWeek, weekWindow } from '@tallybay/risk';
import { describe, expect, it } from 'vitest';
import { startApi } from '../../unit/apps/api/test-api.js';
import { putRows } from '../../unit/libs/lake/lake-builder.js';

const ZONE = 'America/Denver';
const WEEK = '2026-W41';
const LAST_WEEK = shiftWeek(WEEK, -1);
const HOUR_MS = 3_600_000;
const NOW_MS = weekWindow(WEEK, ZONE).toMs + 5 * HOUR_MS;
const VEHICLES = ['KV-1', 'KV-2', 'KV-3'];
/** Seconds of coolant at 112 °C: beyond caution (110 °C), below alarm (115.6 °C). */
const HOT_SECONDS: Record<string, Record<string, number>> = {
  [LAST_WEEK]: { 'KV-1': 900, 'KV-2': 0, 'KV-3': 300 },
  [WEEK]: { 'KV-1': 300, 'KV-2': 900, 'KV-3': 0 },
};

async function withTwoWeeks() {
  const api = await startApi({}, () => NOW_MS);
  await api.call('POST', '/v1/fleet', {
    name: 'Kestrel Valley Water District',
    depots: [{ id: 'north', name: 'North yard', timeZone: ZONE }],
    vehicles: VEHICLES.map((id) => ({ id, vehicleClass: 'pickup', depot: 'north', fuel: 'gas', modelYear: 2015 })),
  });
  for (const [week, hot] of Object.entries(HOT_SECONDS))
    for (const vehicle of VEHICLES)
      putDrive(api.runtime.config.lakeDirectory, { vehicle, week, hotSeconds: hot[vehicle]! });
  const preview = async (body: unknown): Promise<RankingPreview> => {
    const answer = await api.call('POST', '/v1/rankings/preview', body);
    expect(answer.status, JSON.stringify(answer.body)).toBe(200);
    return rankingPreviewSchema.parse(answer.body);
  };
  const rank = async (week: string): Promise<Ranking> =>
    rankingSchema.parse((await api.call('POST', `/v1/rankings/${week}`)).body);
  return { ...api, preview, rank };
}

function putDrive(lake: string, { vehicle, week, hotSeconds }: { vehicle: string; week: string; hotSeconds: number }) {
  const upload = `${vehicle}-${week}`;
  const key = { vehicle, upload };
  const seconds = 4 * 3600;
  const started_at = weekWindow(week, ZONE).fromMs + 30 * HOUR_MS;
  const common = { drive_id: `${upload}-d1`, segment: 1, started_at };
  const ended = { ended_at: started_at + 4 * HOUR_MS, seconds, distance_km: 120, distance_source: 'speed' };
  putRows(lake, 'drives', key, [{ ...common, ...ended, rows: seconds }]);
  const bin = (low: number, inBin: number) => ({
    ...{ ...common, signal: 'coolant_temp_c', low, high: low + 0.5, seconds: inBin, value_seconds: low * inBin },
    ...{ min: low, max: low },
  });
  putRows(lake, 'dwell', key, [bin(90, seconds - hotSeconds), ...(hotSeconds > 0 ? [bin(112, hotSeconds)] : [])]);
  const figures = { min: 20, max: hotSeconds > 0 ? 112 : 90, first: 20, last: 90, mean: 88 };
  const rejected = { out_of_range: 0, unreadable: 0, jump: 0, stuck_seconds: 0 };
  putRows(lake, 'signal_stats', key, [
    { ...common, ...figures, ...rejected, signal: 'coolant_temp_c', channel: 'ECT', valid: seconds, seconds },
  ]);
}

const order = (ranking: Ranking) => ranking.ranked.map(({ vehicle }) => vehicle);

describe('the preview of ranking rules', () => {
  it('shows what weeks would have been, saves nothing, and comes true when it is saved', async () => {
    const { call, preview, rank } = await withTwoWeeks();
    const inForce = await rank(WEEK);
    expect(order(inForce)).toEqual(['KV-2', 'KV-1', 'KV-3']);
    // The hotter half at 112 °C is no longer beyond a limit; KV-1 has none of its own left either.
    const exclusions = [
      { vehicle: 'KV-2', component: null, reason: 'in the body shop', from: '2026-10-05', until: '2026-10-31' },
    ];
    const tried = await preview({ exclusions, weeks: 2 });
    expect(tried.ruleVersion).toBe(inForce.ruleVersion);
    expect(tried.weeks.map(({ week }) => week)).toEqual([WEEK, LAST_WEEK]);
    expect(tried.weeks[1]).toEqual({ week: LAST_WEEK, vehicles: [], unchanged: 3 });
    expect(tried.weeks[0]!.vehicles.map((row) => [row.vehicle, row.before.rank, row.after.rank])).toEqual([
      ['KV-1', 2, 1],
      ['KV-3', 3, 2],
      ['KV-2', 1, null],
    ]);
    expect(tried.weeks[0]!.vehicles[0]!.rankChange).toBe(1);
    expect(tried.weeks[0]!.vehicles[2]!.after.cause).toMatch(/^Left out until 2026-10-31: in the body shop\./);

    expect((await call('GET', '/v1/settings/ranking-exclusions')).body).toMatchObject({ version: 0, document: [] });
    expect((await call('GET', '/v1/rankings')).body.rankings).toEqual([{ week: WEEK, revision: 1 }]);

    const saved = await call('PUT', '/v1/settings/ranking-exclusions', exclusions, { 'if-none-match': '*' });
    expect(saved.status).toBe(200);
    const after = await rank(WEEK);
    expect(after).toMatchObject({ revision: 2 });
    expect(after.ruleVersion).not.toBe(inForce.ruleVersion);
    expect(order(after)).toEqual(['KV-1', 'KV-3']);
    expect(after.unranked).toMatchObject([{ vehicle: 'KV-2', causes: [{ code: 'excluded' }] }]);
    expect(after.changes.join(' ')).toMatch(/KV-2 is no longer ranked: Left out until 2026-10-31/);
  });

  it('tries weights and limits, and what is not given stays as it is in force', async () => {
    const { preview } = await withTwoWeeks();
    const same = await preview({ weights: DEFAULT_RULES.weights, stages: DEFAULT_RULES.stages });
    expect(same.weeks.map(({ unchanged }) => unchanged)).toEqual([3, 3]);
    const lighter = await preview({ weights: { heat: 0.2, codes: 0.7, readiness: 0.4 }, weeks: 1 });
    expect(lighter.weeks[0]!.vehicles.map(({ rankChange }) => rankChange)).toEqual([0, 0, 0]);
    for (const row of lighter.weeks[0]!.vehicles) expect(row.after.score!).toBeLessThan(row.before.score!);
    // Limits above 112 °C: nobody is hot any more. Limits below what is in force are read from the lake as well.
    const raised = DEFAULT_RULES.stages.map((row) => ({ ...row, valueC: row.valueC + 10 }));
    const cooler = await preview({ stages: raised, weeks: 1 });
    expect(cooler.weeks[0]!.vehicles.find(({ vehicle }) => vehicle === 'KV-2')!.after.score!).toBeLessThan(0.2);
    const lowered = DEFAULT_RULES.stages.map((row) => ({ ...row, valueC: row.valueC - 20 }));
    const hotter = await preview({ stages: lowered, weeks: 1 });
    for (const row of hotter.weeks[0]!.vehicles) expect(row.after.score!).toBeGreaterThan(row.before.score!);
  });

  it('names what is wrong in a document that cannot be saved', async () => {
    const { call } = await withTwoWeeks();
    const wrong = await call('POST', '/v1/rankings/preview', { weights: { heat: 2, codes: 0.5, readiness: 0.5 } });
    expect(wrong).toMatchObject({ status: 422, body: { code: 'body_invalid' } });
    expect(JSON.stringify(wrong.body)).toMatch(/heat/);
    const backwards = { vehicle: 'KV-1', component: 'heat', reason: 'x', from: '2026-10-05', until: '2026-10-01' };
    expect(await call('POST', '/v1/rankings/preview', { exclusions: [backwards] })).toMatchObject({ status: 422 });
    expect(await call('POST', '/v1/rankings/preview', { weeks: 9 })).toMatchObject({ status: 422 });
  });
});
