import type { Demand, PlanProblem } from '@tallybay/plan';
import fc from 'fast-check';

const SKILLS = ['diesel', 'electrics'];
const demandOf = (days: number) =>
  fc.record({
    vehicle: fc.integer({ min: 0, max: 3 }),
    vehicleClass: fc.constantFrom('van', 'bus'),
    depot: fc.constantFrom('north', 'south'),
    minutes: fc.constantFrom(60, 120, 180, 240, 300),
    skills: fc.subarray(SKILLS, { maxLength: 1 }),
    features: fc.subarray(['pit'], { maxLength: 1 }),
    earliest: fc.integer({ min: -1, max: days - 1 }),
    latest: fc.option(fc.integer({ min: -1, max: days }), { nil: null }),
    costPerDay: fc.integer({ min: 0, max: 20 }),
    latePerDay: fc.integer({ min: 0, max: 30 }),
    busy: fc.option(fc.integer({ min: 0, max: days - 1 }), { nil: null }),
    held: fc.option(
      fc.record({
        bay: fc.integer({ min: 0, max: 1 }),
        day: fc.integer({ min: 0, max: days - 1 }),
        hold: fc.constantFrom('pinned' as const, 'booked' as const, 'booked' as const, 'proposed' as const),
      }),
      { nil: null },
    ),
  });

const personOf = (days: number) =>
  fc.record({
    depot: fc.constantFrom('north', 'south'),
    skills: fc.subarray(SKILLS),
    present: fc.array(fc.boolean(), { minLength: days, maxLength: days }),
  });

/** Small enough to try every plan: two bays, up to three days, up to `most` visits. */
export function smallCase(most: number): fc.Arbitrary<PlanProblem> {
  const days = 3;
  return fc
    .record({
      demands: fc.array(demandOf(days), { minLength: 1, maxLength: most }),
      people: fc.array(personOf(days), { minLength: 1, maxLength: 3 }),
      pits: fc.tuple(fc.boolean(), fc.boolean()),
      depots: fc.tuple(fc.constantFrom('north', 'south'), fc.constantFrom('north', 'south')),
      closed: fc.option(fc.integer({ min: 0, max: days - 1 }), { nil: null }),
      open: fc.constantFrom(180, 240),
      spare: fc.integer({ min: 1, max: 3 }),
      spareNorth: fc.option(fc.integer({ min: 0, max: 1 }), { nil: null }),
      travel: fc.boolean(),
    })
    .map(({ demands, people, pits, depots, closed, open, spare, spareNorth, travel }) => ({
      days: Array.from({ length: days }, (_, day) => `2026-11-${String(23 + day)}`),
      bays: [0, 1].map((bay) => ({
        ...{ id: `bay-${bay}`, name: `Bay ${bay}`, depot: depots[bay]!, features: pits[bay] ? ['pit'] : [] },
        days: Array.from({ length: days }, (_, day) =>
          day === closed
            ? { closed: 'holiday' as const, why: 'a holiday' }
            : { fromMinute: 480, toMinute: 480 + open + 60 * bay },
        ),
      })),
      people: people.map((person, index) => ({ ...person, id: `p${index}`, name: `Person ${index}` })),
      demands: demands.map(
        ({ busy, held, vehicle, ...rest }, index): Demand => ({
          ...{ ...rest, id: `d${index}`, vehicle: `v${vehicle}` },
          mayCome: Array.from({ length: days }, (_, day) => day !== busy),
          held: held && { ...held, fromMinute: 480 },
        }),
      ),
      // Of the whole fleet, and in some cases of one depot besides.
      spares: [
        { vehicleClass: 'bus', depot: null, count: spare },
        ...(spareNorth === null ? [] : [{ vehicleClass: 'van', depot: 'north', count: spareNorth }]),
      ],
      travel: new Map(
        travel
          ? [
              ['north\nsouth', 30],
              ['south\nnorth', 30],
            ]
          : [],
      ),
      rules: { horizonDays: days, moveCost: 15, travelCostPerHour: 4, beyondDays: 5, leastWeight: 0.1 },
    }));
}
