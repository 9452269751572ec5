import type { FleetCodes, FleetReadiness, VehicleCodes, VehicleReadiness } from '@tallybay/contracts';
import { beforeEach, describe, expect, it, onTestFinished } from 'vitest';
import { FakeService } from './fake-service.js';
import { runTallybay } from './recorded-terminal.js';

let service: FakeService;
const tallybay = (...args: string[]) => runTallybay([...args, '--url', service.url]);
const answer = (path: string, body: unknown) => service.routes.set(`GET ${path}`, () => ({ status: 200, body }));

beforeEach(async () => {
  service = await FakeService.start();
  onTestFinished(() => service.stop());
});

const returnsIn = { d30: 1, d90: 2, d365: 2 };
const lastReturn = {
  at: '2026-10-05T09:00:00Z',
  after: 'cleared' as const,
  days: 6,
  km: 312,
  warmUps: 9,
  repair: null,
};
const chance = { chance: 0.81, low: 0.62, high: 0.95 };

const FLEET: FleetCodes = {
  ...{
    asOf: '2026-10-08T00:00:00Z',
    filters: { vehicleClass: 'van', depot: null, route: null },
    classes: ['van'],
    depots: ['north'],
    routes: [],
  },
  ...{ vehicles: 20, vehiclesRead: 18, caution: 'Unread is not healthy.' },
  codes: [
    {
      ...{ code: 'P0420', text: 'catalyst weak', severity: 0.4, vehicles: 2, active: 1, returnsIn },
      where: [
        {
          ...{ vehicle: 'KV-102', vehicleClass: 'van', depot: 'north', module: '7E8', status: 'confirmed', returnsIn },
          ...{
            firstSeen: '2026-09-01T00:00:00Z',
            lastSeen: '2026-10-05T09:00:00Z',
            lastReturn,
            cleared: 2,
            cameBack: 2,
          },
        },
      ],
    },
  ],
  patterns: [
    {
      ...{ kind: 'cleared_and_back', code: 'P0420', module: '7E8', cleared: 2, cameBack: 2, at: [] },
      ...{ text: 'P0420 was cleared 2 times and was back each time.', vehicle: 'KV-102', depot: 'north' },
    },
  ],
  together: {
    ...{ method: 'Fisher', leastVehicles: 3 },
    pairs: [
      {
        ...{ codes: ['P0171', 'P0300'], texts: ['lean', 'misfire'], vehicles: [5, 4], both: 4, atOnce: 3 },
        ...{ support: 0.2, lift: 4, p: 0.001, adjusted: 0.004 },
      },
    ],
  },
  spreading: { method: 'binomial', nowDays: 28, beforeDays: 84, leastVehicles: 3, codes: [] },
};

describe('tallybay codes', () => {
  it('prints the fleet: table, patterns, pairs; the filters go to the service', async () => {
    answer('/v1/codes', FLEET);
    const ran = await tallybay('codes', '--class', 'van');
    const text = ran.out.join('\n');
    expect(service.received[0]).toMatchObject({ path: '/v1/codes', query: { class: 'van' } });
    expect(ran.out[0]).toBe('Codes of class van: 18 of 20 vehicles read in the last 400 days');
    expect(text).toMatch(/P0420 +1 +2 +1 +2 +2 +KV-102 +catalyst weak/);
    expect(text).toContain('KV-102: P0420 was cleared 2 times and was back each time.');
    expect(text).toContain('P0171 and P0300: 4 vehicles with both, 3 at the same time; 4.0 times as often');
    expect(text).not.toContain('Spread in a class');
    expect(text).toContain('Unread is not healthy.');
  });

  it('says that no vehicle fits a filter, and which names are known', async () => {
    answer('/v1/codes', { ...FLEET, ...{ vehicles: 0, vehiclesRead: 0, codes: [], patterns: [] } });
    const text = (await tallybay('codes', '--class', 'van')).out.join('\n');
    expect(text).toContain('No vehicle fits, so nothing is known.\nRegistered classes: van.');
    expect(text).not.toContain('No codes');
  });

  it("prints one vehicle's codes over time, and a vehicle that was never read as that", async () => {
    const codes: VehicleCodes = {
      ...{ vehicle: 'KV-102', asOf: '2026-10-08T00:00:00Z', snapshots: 3, firstSnapshot: '2026-09-01T00:00:00Z' },
      newestSnapshot: '2026-10-05T09:00:00Z',
      lastRead: { confirmed: '2026-10-05T09:00:00Z', pending: '2026-09-29T00:00:00Z', permanent: null },
      codes: [
        {
          ...{ code: 'P0420', module: '7E8', text: 'Catalyst weak', severity: 0.4, status: 'confirmed', returnsIn },
          ...{ firstSeen: '2026-09-01T00:00:00Z', lastSeen: '2026-10-05T09:00:00Z', lastRead: '2026-10-05T09:00:00Z' },
          spans: [
            {
              ...{ start: '2026-09-01T00:00:00Z', end: '2026-09-29T00:00:00Z', last: '2026-09-25T00:00:00Z' },
              ...{ state: 'active', endedBy: 'cleared' },
            },
            { start: '2026-10-05T09:00:00Z', end: null, last: '2026-10-05T09:00:00Z', state: 'active', endedBy: null },
          ],
          returns: [lastReturn],
        },
      ],
      clears: [
        {
          ...{ at: '2026-09-29T00:00:00Z', since: '2026-09-25T00:00:00Z', by: 'counter', why: 'warm-ups went down' },
          ...{ codes: ['P0420'], cameBack: ['P0420'] },
        },
      ],
      patterns: [],
    };
    answer('/v1/vehicles/KV-102/codes', codes);
    const text = (await tallybay('codes', 'KV-102')).out.join('\n');
    expect(text).toContain('3 snapshots; last read: confirmed 2026-10-05, pending 2026-09-29, permanent never');
    expect(text).toContain('P0420 in 7E8: confirmed. Catalyst weak.');
    expect(text).toContain('2026-09-01 to 2026-09-25, cleared by 2026-09-29');
    expect(text).toContain('2026-10-05 after it was cleared: 6 days, 312 km, 9 warm-ups after the clear');
    expect(text).toContain('between 2026-09-25 and 2026-09-29 (warm-ups went down): took P0420; back: P0420');
    expect(text).toContain('active     2026-10-05, still there');
    const never = { ...codes, snapshots: 0, firstSnapshot: null, newestSnapshot: null, codes: [], clears: [] };
    answer('/v1/vehicles/KV-102/codes', { ...never, lastRead: { confirmed: null, pending: null, permanent: null } });
    expect((await tallybay('codes', 'KV-102')).out).toEqual([
      'KV-102: no snapshot has arrived, so nothing is known of its codes.',
    ]);
  });
});

const verdict = {
  ...{ programme: 'federal', verdict: 'would_be_refused' as const, blocking: ['catalyst' as const], incomplete: [] },
  ...{ why: ['Not complete: catalyst.'], readyByDate: chance },
};
const forecast = {
  ...{ date: '2026-10-20', days: 12, dateFrom: 'inspection_due' as const, scale: 'warm_ups' as const },
  ...{ soFar: 3, usualUntilThen: 24, usualPerDay: 2 },
  monitors: [
    {
      ...{ monitor: 'catalyst' as const, label: 'catalyst', outlook: 'likely' as const, ...chance, overdue: false },
      ...{ likelyOn: '2026-10-12', ownClears: 2, classClears: 9, driving: 'steady cruising' },
    },
  ],
};
const hiddenClear = {
  text: 'Codes were cleared lately.',
  upload: 'u',
  at: '2026-10-07T00:00:00Z',
  since: null,
  codes: [],
};

const READINESS: FleetReadiness = {
  ...{ asOf: '2026-10-08T00:00:00Z', programmes: [{ id: 'federal', label: 'Federal test' }] },
  vehicles: [
    {
      ...{ vehicle: 'KV-102', vehicleClass: 'van', depot: 'north', inspectionDue: '2026-10-20', dueInDays: 12 },
      ...{
        newestSnapshot: '2026-10-07T00:00:00Z',
        stale: false,
        verdicts: [verdict],
        hiddenClear,
        forecast,
        advice: [],
      },
    },
    {
      ...{ vehicle: 'KV-103', vehicleClass: 'van', depot: 'north', inspectionDue: null, dueInDays: null },
      ...{ newestSnapshot: null, stale: false, verdicts: [], hiddenClear: null, forecast: null, advice: [] },
    },
  ],
  ...{ returning: [], forecastMethod: 'Kaplan-Meier', caution: 'The local inspection programme decides.' },
};

describe('tallybay readiness', () => {
  it('prints the fleet by due date with the chance, hidden clears and the caution', async () => {
    answer('/v1/fleet/readiness', READINESS);
    const text = (await tallybay('readiness')).out.join('\n');
    expect(text).toMatch(/KV-102 +van +north +2026-10-20 +12 +would be refused +81 % \(62 to 95 %\) +Not complete/);
    expect(text).toContain('KV-102: Codes were cleared lately.');
    expect(text).toContain('KV-103');
    expect(text).toContain('The local inspection programme decides.');
    expect((await tallybay('readiness', '--within', '30')).out.join('\n')).not.toContain('KV-103');
  });

  it('names the programmes there are when asked for another', async () => {
    answer('/v1/fleet/readiness', READINESS);
    const ran = await tallybay('readiness', '--programme', 'lunar');
    expect(ran.exitCode).toBe(64);
    expect(ran.notes.join('\n')).toContain('Known are federal.');
  });

  it('prints one vehicle: verdicts, open monitors with driving, what to do', async () => {
    const one: VehicleReadiness = {
      ...{ vehicle: 'KV-102', inspectionDue: '2026-10-20', dueInDays: 12, newestSnapshot: '2026-10-07T00:00:00Z' },
      ...{ stale: false, monitors: [], hiddenClear, caution: 'The local inspection programme decides.' },
      verdicts: [{ ...verdict, label: 'Federal test', snapshot: null }],
      forecast: { ...forecast, method: 'Kaplan-Meier.' },
      advice: ['Drive as usual and read the monitors again on 2026-10-12.'],
    };
    answer('/v1/vehicles/KV-102/readiness', one);
    const text = (await tallybay('readiness', 'KV-102')).out.join('\n');
    expect(text).toContain('KV-102: inspection due 2026-10-20, in 12 days; newest snapshot 2026-10-07');
    expect(text).toContain(
      'Not complete yet, until 2026-10-20 (3 warm-ups since the last clear, 24 more at its usual use)',
    );
    expect(text).toMatch(/catalyst +likely complete +81 % \(62 to 95 %\) +2026-10-12 +steady cruising/);
    expect(text).toContain('- Drive as usual and read the monitors again on 2026-10-12.');
  });
});
