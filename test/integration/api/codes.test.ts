// Rules: see libs/risk; the tests against chance name their source in unit/libs/risk/stats/exact-tests.test.ts.
import {
  fleetCodesSchema,
  fleetReadinessSchema,
  vehicleCodesSchema,
  vehicleReadinessSchema,
} from '@tallybay/contracts';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { startApi, type TestApi } from '../../unit/apps/api/test-api.js';
import { CODES_FLEET, NOW_MS, putCodesFleet } from './codes-fleet.js';

let api: TestApi;
const ends: (() => Promise<void> | void)[] = [];
const DAY_MS = 86_400_000;
/** The service's clock; visits are done at its time. */
let nowMs = NOW_MS;
beforeAll(async () => {
  api = await startApi(
    {},
    () => nowMs,
    (work) => void ends.unshift(work),
  );
  await api.call('POST', '/v1/fleet', CODES_FLEET);
  putCodesFleet(api.runtime.config.lakeDirectory);
});
afterAll(async () => {
  for (const end of ends) await end();
});

const fleetCodes = async (query = '') => fleetCodesSchema.parse((await api.call('GET', `/v1/codes${query}`)).body);

/** A visit of the vehicle that was done at an instant. */
async function repair(vehicle: string, atMs: number): Promise<void> {
  const { inspections, work } = api.runtime.registry;
  const day = new Date(atMs).toISOString().slice(0, 10);
  await inspections.propose([
    {
      ...{ vehicle, kind: 'code-diagnosis', label: 'Diagnosis of trouble codes', why: [], minutes: 60, skills: [] },
      ...{ features: [], earliest: day, latest: null, costPerDay: 5, latePerDay: 10 },
    },
  ]);
  const [{ id, kind, label } = { id: '', kind: '', label: '' }] = await inspections.list({ vehicle });
  const visit = {
    ...{ vehicle, vehicleClass: 'van', depot: 'north', bay: 'north-1', minutes: 60, person: null, day, lastDay: day },
    ...{ note: null, findings: null, used: [], parts: [{ day, fromMinute: 480, minutes: 60 }] },
    inspections: [{ id, kind, label, why: [] }],
  };
  const plan = { boardVersion: 0, created: [visit], moved: [], removed: [], report: null, by: null };
  const { visits } = await work.applyPlan(plan);
  nowMs = atMs;
  await work.changeAll([{ id: visits[0]!.id, change: { state: 'done' } }], null);
  nowMs = NOW_MS;
}

describe('the fleet’s codes over HTTP', () => {
  it('say which returns where, with the last return in days, kilometres and warm-ups', async () => {
    const codes = await fleetCodes();
    expect(codes).toMatchObject({ vehicles: 28, vehiclesRead: 28, classes: ['diesel', 'van'] });
    expect(codes.codes[0]).toMatchObject({ code: 'P0420', vehicles: 1, active: 0, returnsIn: { d30: 1, d90: 3 } });
    expect(codes.codes[0]!.where).toMatchObject([
      {
        ...{ vehicle: 'KV-220', module: 'engine', status: 'cleared', cleared: 4, cameBack: 3 },
        lastReturn: { after: 'cleared', days: 14, km: 800, warmUps: 13 },
      },
    ]);
  });

  it('tell what was cleared again and again, and shortly before the inspection', async () => {
    const { patterns } = await fleetCodes();
    expect(patterns).toMatchObject([
      { kind: 'cleared_and_back', vehicle: 'KV-220', code: 'P0420', cleared: 4, cameBack: 3 },
      { kind: 'cleared_before_inspection', vehicle: 'KV-220', code: 'P0420', cleared: 1, cameBack: 0 },
    ]);
  });

  it('find the pair that comes together and the code that spreads among the vans', async () => {
    const { together, spreading } = await fleetCodes();
    expect(together.pairs).toMatchObject([{ codes: ['P0171', 'P0300'], both: 4, atOnce: 4, lift: 7 }]);
    expect(spreading.codes).toMatchObject([
      { code: 'P0455', vehicleClass: 'van', now: { newVehicles: 5 }, before: { newVehicles: 0 }, active: 5, of: 20 },
    ]);
    expect(spreading.codes[0]!.vehicles).toEqual(['KV-211', 'KV-212', 'KV-213', 'KV-214', 'KV-215']);
  });

  it('are those of a class or depot when asked, and the choices stay', async () => {
    const diesels = await fleetCodes('?class=diesel');
    expect(diesels).toMatchObject({ vehicles: 8, codes: [], classes: ['diesel', 'van'] });
    expect((await fleetCodes('?depot=south')).vehicles).toBe(0);
    const round = await fleetCodes('?route=Hill%20pumps%20round');
    expect(round).toMatchObject({ vehicles: 2, routes: ['Hill pumps round'], filters: { route: 'Hill pumps round' } });
    expect((await api.call('GET', `/v1/codes?class=${'x'.repeat(60)}`)).body).toMatchObject({
      code: 'parameter_invalid',
      field: 'class',
    });
  });
});

describe('one vehicle over HTTP', () => {
  it('has its clears with what they took and what came back', async () => {
    const codes = vehicleCodesSchema.parse((await api.call('GET', '/v1/vehicles/KV-220/codes')).body);
    expect(codes.clears.map(({ codes: taken, cameBack }) => [taken, cameBack])).toEqual([
      ...[1, 2, 3].map(() => [['P0420'], ['P0420']]),
      [['P0420'], []],
    ]);
    expect(codes.codes[0]!.spans.map(({ endedBy }) => endedBy)).toEqual(['cleared', 'cleared', 'cleared', 'cleared']);
  });

  it('shows the hidden clear before its inspection, and does not advise a way around it', async () => {
    const readiness = vehicleReadinessSchema.parse((await api.call('GET', '/v1/vehicles/KV-220/readiness')).body);
    expect(readiness).toMatchObject({ inspectionDue: '2026-10-14', dueInDays: 5, hiddenClear: { codes: ['P0420'] } });
    expect(readiness.verdicts[0]).toMatchObject({ programme: 'federal', verdict: 'would_be_refused' });
    expect(readiness.advice[0]).toContain('Find out whether what set P0420 was repaired');
  });

  it('forecasts open monitors from how the class’s completed, at its own usual use', async () => {
    const { forecast, verdicts } = vehicleReadinessSchema.parse(
      (await api.call('GET', '/v1/vehicles/KV-310/readiness')).body,
    );
    expect(forecast).toMatchObject({ date: '2026-11-05', dateFrom: 'inspection_due', scale: 'warm_ups', soFar: 4 });
    expect(forecast!.monitors).toMatchObject([
      { monitor: 'nmhc_catalyst', outlook: 'likely', classClears: 7, ownClears: 0 },
      { monitor: 'pm_filter', classClears: 7, driving: expect.stringContaining('regeneration') },
    ]);
    expect(verdicts.find(({ programme }) => programme === 'california')).toMatchObject({
      // Both may be open on a diesel from 2007 under the later edition.
      ...{ verdict: 'would_pass', readyByDate: { chance: 1, low: 1, high: 1 } },
    });
  });

  it('is in the fleet’s list by due date with the same judgement', async () => {
    const fleet = fleetReadinessSchema.parse((await api.call('GET', '/v1/fleet/readiness')).body);
    expect(fleet.vehicles.slice(0, 2).map(({ vehicle }) => vehicle)).toEqual(['KV-220', 'KV-310']);
    const one = vehicleReadinessSchema.parse((await api.call('GET', '/v1/vehicles/KV-310/readiness')).body);
    const { method: _, ...forecast } = one.forecast!;
    expect(fleet.vehicles[1]!.forecast).toEqual(forecast);
    expect(fleet.vehicles[0]!.hiddenClear).not.toBeNull();
    expect(fleet.caution).toContain('The local inspection programme decides');
  });
});

describe('a code that came back after a repair', () => {
  it('is called that in the fleet’s codes, on the vehicle’s timeline and in the reason for its rank', async () => {
    const repairedMs = NOW_MS - 40 * DAY_MS;
    const expected = { at: new Date(repairedMs).toISOString(), label: 'Diagnosis of trouble codes' };
    const before = (await fleetCodes()).codes[0]!.where[0]!;
    expect(before.lastReturn?.repair).toBeNull();
    await repair('KV-220', repairedMs);
    expect((await fleetCodes()).codes[0]!.where[0]!.lastReturn?.repair).toEqual(expected);
    const { codes } = vehicleCodesSchema.parse((await api.call('GET', '/v1/vehicles/KV-220/codes')).body);
    const returns = codes.find(({ code }) => code === 'P0420')!.returns;
    // Only returns after the repair are that.
    expect(returns.map(({ at, repair }) => [Date.parse(at) > repairedMs, repair])).toEqual([
      [false, null],
      [false, null],
      [true, expected],
    ]);
    const { body } = await api.call('POST', '/v1/rankings/2026-W40');
    const text = JSON.stringify(body);
    expect(text).toContain(`it returned after the repair of ${expected.at.slice(0, 10)} (${expected.label})`);
  });
});
