import type { Fleet } from '@tallybay/contracts';
import { describe, expect, it } from 'vitest';
import { datesFromToday, firstWeek } from '../../../../../apps/cli/src/demo/demo-dates.js';

const fleetOf = (...dues: (string | undefined)[]): Fleet => ({
  ...{ name: 'Kestrel Valley', assignments: [], profiles: [] },
  depots: [{ id: 'north', name: 'North', timeZone: 'America/Denver' }],
  vehicles: dues.map((inspectionDue, index) => ({
    ...{ id: `KV-${index}`, vehicleClass: 'van', depot: 'north', ...(inspectionDue ? { inspectionDue } : {}) },
  })) as Fleet['vehicles'],
});
const dues = (fleet: Fleet) => fleet.vehicles.map(({ inspectionDue }) => inspectionDue);

// ISO 8601: week 38 of 2026 is 14 to 20 September.
describe('the demo’s due dates', () => {
  it('follow today as they followed the fleet’s last week; what was due within it stays', () => {
    const fleet = fleetOf('2026-09-15', '2026-09-20', '2026-09-21', '2026-12-13', undefined);
    // Six in the morning in London is still the day before in Denver.
    expect(dues(datesFromToday(fleet, '2026-W38', Date.UTC(2027, 2, 2, 6)))).toEqual([
      '2026-09-15',
      '2026-09-20',
      '2027-03-01',
      '2027-05-23',
      undefined,
    ]);
  });

  it('change nothing else', () => {
    const fleet = fleetOf('2026-09-15');
    expect(datesFromToday(fleet, '2026-W38', 0)).toEqual(fleet);
  });
});

// ISO 8601: 2026 has 53 weeks, the last from 28 December to 3 January.
describe('the demo’s weeks', () => {
  it.each([
    ['Thursday of week 48', '2026-11-26T12:00:00Z', 3, '2026-W45'],
    ['Monday of week 48 in Denver, still Sunday in Los Angeles', '2026-11-23T07:30:00Z', 3, '2026-W44'],
    ['Monday of week 48 everywhere', '2026-11-23T08:00:00Z', 1, '2026-W47'],
    ['Monday of week 1, across a year of 53 weeks', '2027-01-04T20:00:00Z', 2, '2026-W52'],
  ])('end with the last that is over in every depot: %s', (_, now, weeks, first) => {
    expect(firstWeek(weeks, Date.parse(now))).toBe(first);
  });
});
