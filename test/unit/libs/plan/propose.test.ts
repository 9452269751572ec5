import type { Inspection, InspectionKind, Shop } from '@tallybay/contracts';
import { planRulesSchema, shopSchema } from '@tallybay/contracts';
import {
  type Finding,
  placeAt,
  planFromShop,
  proposeInspections,
  readinessFindings,
  returningFindings,
  STANDARD_KINDS,
  serviceFinding,
} from '@tallybay/plan';
import { describe, expect, it } from 'vitest';

const TODAY = '2026-11-23';
const rules = planRulesSchema.parse({});
const heat = (weight = 0.8): Finding => ({
  ...{
    vehicle: 'KV-1',
    source: 'heat',
    text: 'Coolant at or above 110 °C for 14 min',
    weight,
    evidence: [{ kind: 'drive', id: 'd' }],
  },
});
const propose = (findings: Finding[], settled?: Parameters<typeof proposeInspections>[0]['settled']) =>
  proposeInspections({ today: TODAY, kinds: STANDARD_KINDS, rules, findings, ...(settled ? { settled } : {}) });

describe('proposals', () => {
  it('give a finding to the kinds that name it, else to those that take all of its source', () => {
    const code: Finding = { ...heat(), source: 'codes', text: 'P0420 (catalyst) is confirmed' };
    const hot: Finding = { ...heat(), source: 'codes', text: 'P0217 (Engine too hot) is confirmed' };
    expect(propose([heat()]).map(({ kind }) => kind)).toEqual(['cooling-system']);
    expect(propose([code]).map(({ kind }) => kind)).toEqual(['code-diagnosis']);
    expect(propose([hot]).map(({ kind }) => kind)).toEqual(['cooling-system']);
  });

  it('make one inspection a vehicle and kind, dearer with every finding, never past certainty', () => {
    const [one] = propose([heat(0.5)]);
    const [two] = propose([heat(0.5), heat(0.5)]);
    const [most] = propose([heat(1), heat(1)]);
    const { costPerDay } = STANDARD_KINDS.find(({ id }) => id === 'cooling-system')!;
    expect([one!.costPerDay, two!.costPerDay, most!.costPerDay]).toEqual([
      costPerDay * 0.5,
      costPerDay * 0.75,
      costPerDay,
    ]);
    expect(two!.why).toHaveLength(2);
    expect(one).toMatchObject({ earliest: '2026-11-24', latest: '2026-11-30' });
  });

  it('leave out what is too weak, just done, or declined until its date comes near', () => {
    const declined = new Map([['KV-1\ncooling-system', { day: '2026-11-20', by: 'declined' as const }]]);
    const done = new Map([['KV-1\ncooling-system', { day: '2026-11-20', by: 'done' as const }]]);
    const long = new Map([['KV-1\ncooling-system', { day: '2026-10-01', by: 'done' as const }]]);
    expect(propose([heat(0.05)])).toEqual([]);
    expect(propose([heat()], declined)).toEqual([]);
    expect(propose([{ ...heat(), dueBy: '2026-11-27' }], declined)).toHaveLength(1);
    expect(propose([heat()], done)).toEqual([]);
    expect(propose([heat()], long)).toHaveLength(1);
  });

  it('come from due inspections and verdicts, the repair early enough before the date', () => {
    const row = {
      ...{
        vehicle: 'KV-1',
        vehicleClass: 'van',
        depot: 'north',
        inspectionDue: '2026-12-20',
        dueInDays: 27,
        newestSnapshot: null,
      },
      verdicts: [{ programme: 'p', verdict: 'would_fail' as const, blocking: [], why: ['The lamp is on.'] }],
    } as unknown as Parameters<typeof readinessFindings>[0][number];
    expect(readinessFindings([row], 'p', TODAY).map(({ source, dueBy }) => [source, dueBy])).toEqual([
      ['inspection_due', '2026-12-20'],
      ['readiness', '2026-12-10'],
    ]);
    expect(readinessFindings([row], 'p', '2026-10-01')).toEqual([]);
  });

  it('come from codes that returned and are there now', () => {
    const where = [
      { vehicle: 'KV-1', depot: 'north', returns: 2, active: true, lastReturn: '2026-11-20T08:00:00Z' },
      { vehicle: 'KV-2', depot: 'north', returns: 2, active: false, lastReturn: '2026-11-20T08:00:00Z' },
    ];
    const found = returningFindings([{ code: 'P0420', text: 'Catalyst', module: null, returns: 4, where }]);
    expect(found.map(({ vehicle, text }) => [vehicle, text])).toEqual([
      ['KV-1', 'P0420 (Catalyst) came back 2 times, last on 2026-11-20'],
    ]);
  });

  it('come from engine hours, distance and days since the last service, whichever is first', () => {
    const vehicle = { id: 'KV-1', vehicleClass: 'van', depot: 'north' };
    const kind = { id: 'service', every: { days: 365, engineHours: 400, km: 15_000 } };
    const readings = [
      { day: '2026-09-24', engineHours: 1000, odometerKm: 50_000 },
      { day: '2026-11-23', engineHours: 1300, odometerKm: 51_000 },
    ];
    const at = { today: TODAY, horizonDays: 28 };
    // 300 h in 60 days: the 400 h are full 20 days on.
    const due = serviceFinding({ vehicle, readings, done: new Map() }, kind, at);
    expect(due).toMatchObject({ dueBy: '2026-12-13', text: expect.stringContaining('400 engine hours') });
    const fresh = new Map([['service', '2026-11-23']]);
    expect(serviceFinding({ vehicle, readings, done: fresh }, kind, at)).toBeNull();
    expect(serviceFinding({ vehicle, readings: [], done: new Map() }, kind, at)).toBeNull();
  });
});

const shop = (change: object = {}): Shop =>
  shopSchema.parse({
    bays: [{ id: 'b1', name: 'Bay 1', depot: 'north', features: ['pit'] }],
    people: [{ id: 'p1', name: 'Ada', depot: 'north', skills: ['diagnostics'] }],
    hours: [1, 2, 3, 4, 5].map((weekday) => ({ depot: 'north', weekday, from: '07:00', to: '11:00' })),
    ...change,
  });
const kindOf = (id: string): InspectionKind => STANDARD_KINDS.find((kind) => kind.id === id)!;
const inspection = (id: string, kind: string, change: Partial<Inspection> = {}): Inspection => ({
  ...{
    id,
    vehicle: 'KV-1',
    kind,
    label: kindOf(kind).label,
    state: 'proposed',
    why: [],
    minutes: kindOf(kind).minutes,
  },
  ...{ skills: [...kindOf(kind).skills], features: [], earliest: '2026-11-24', latest: '2026-11-30', costPerDay: 5 },
  ...{ latePerDay: 10, visit: null, note: null, version: 1, updatedAt: '2026-11-23T08:00:00Z', ...change },
});
const vehicles = [{ id: 'KV-1', vehicleClass: 'van', depot: 'north' }];

describe('the shop as a problem', () => {
  it('joins what one visit can do, and keeps apart what it cannot', () => {
    const joined = planFromShop({
      ...{ today: TODAY, shop: shop(), vehicles, visits: [] },
      inspections: [inspection('a', 'sensor'), inspection('b', 'code-diagnosis')],
    });
    expect(joined.problem.demands).toMatchObject([
      { minutes: 105, skills: ['diagnostics'], costPerDay: 10, latest: 7 },
    ]);
    // Nobody has both skills; together they would take longer than a day; one is due before the other can begin.
    for (const other of [
      inspection('b', 'sensor', { skills: ['welding'] }),
      inspection('b', 'sensor', { minutes: 200 }),
      inspection('b', 'sensor', { earliest: '2026-12-05', latest: null }),
    ]) {
      const plan = planFromShop({
        ...{ today: TODAY, shop: shop(), vehicles, visits: [] },
        inspections: [inspection('a', 'sensor'), other],
      });
      expect(plan.problem.demands).toHaveLength(2);
    }
  });

  it('joins what is overdue with what can begin on the same day', () => {
    const late = inspection('b', 'code-diagnosis', { latest: '2026-10-01' });
    const plan = planFromShop({
      ...{ today: TODAY, shop: shop(), vehicles, visits: [] },
      inspections: [inspection('a', 'sensor'), late],
    });
    expect(plan.problem.demands).toMatchObject([{ latest: -53 }]);
  });

  it('adds new work to a visit that may move, but not to one that is pinned', () => {
    for (const [hold, count] of [
      ['booked', 1],
      ['pinned', 2],
    ] as const) {
      const visit = {
        id: 'v',
        vehicle: 'KV-1',
        bay: 'b1',
        day: '2026-11-25',
        fromMinute: 420,
        hold,
        inspections: ['a'],
      };
      const plan = planFromShop({
        ...{ today: TODAY, shop: shop(), vehicles, visits: [visit] },
        inspections: [inspection('a', 'sensor', { visit: 'v' }), inspection('b', 'code-diagnosis')],
      });
      expect(plan.problem.demands).toHaveLength(count);
      expect(plan.problem.demands[0]).toMatchObject({ id: 'v', held: { bay: 0, day: 2, hold } });
    }
  });

  it('knows opening hours, holidays, closed bays, absences and days in service', () => {
    const { problem } = planFromShop({
      ...{ today: TODAY, vehicles, visits: [], inspections: [inspection('a', 'sensor')] },
      shop: shop({
        bays: [{ id: 'b1', name: 'Bay 1', depot: 'north', closed: [{ from: '2026-11-26', to: '2026-11-26' }] }],
        people: [
          { id: 'p1', name: 'Ada', depot: 'north', skills: [], absent: [{ from: '2026-11-24', to: '2026-11-24' }] },
        ],
        holidays: [{ date: '2026-11-25', name: 'Well Day' }],
        inService: [{ vehicleClass: 'van', weekdays: [1] }],
      }),
    });
    const opening = problem.bays[0]!.days.slice(0, 6).map((day) => ('closed' in day ? day.closed : 'open'));
    expect(opening).toEqual(['open', 'open', 'holiday', 'bay_closed', 'open', 'closed']);
    expect(problem.people[0]!.present.slice(0, 6)).toEqual([true, false, true, true, true, false]);
    expect(problem.demands[0]!.mayCome.slice(0, 2)).toEqual([false, true]);
  });

  it('calls depots by their names where a place is refused, by their ids where they have none', () => {
    const says = (depotNames?: ReadonlyMap<string, string>) => {
      const { problem } = planFromShop({
        ...{ today: TODAY, visits: [], inspections: [inspection('a', 'sensor')] },
        ...{ shop: shop(), vehicles: [{ ...vehicles[0]!, depot: 'far' }], ...(depotNames && { depotNames }) },
      });
      const place = placeAt(problem, 0, 0, 1);
      const closed = problem.bays[0]!.days[5]!;
      return ['obstacle' in place ? place.obstacle.text : '', 'why' in closed ? closed.why : ''];
    };
    const names = new Map([
      ['north', 'North yard'],
      ['far', 'Far yard'],
    ]);
    expect(says(names)).toEqual(['Far yard sends no vehicles to North yard', 'North yard is closed on 2026-11-28']);
    expect(says()).toEqual(['far sends no vehicles to north', 'north is closed on 2026-11-28']);
  });
});
