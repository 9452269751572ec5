import type { Shop } from '@tallybay/contracts';

const MS_PER_DAY = 86_400_000;
const ZONE = 'UTC';
const WEEK = [1, 2, 3, 4, 5, 6, 7];

/** ISO date so many days from now. */
export const dayAhead = (days: number): string => new Date(Date.now() + days * MS_PER_DAY).toISOString().slice(0, 10);

/** Two depots with a bay and a person each, an hour and a half a day, one holiday, one van at a time. */
export const SHOP: Shop = {
  bays: [
    { id: 'north-1', name: 'North 1', depot: 'north', features: ['pit'], closed: [] },
    { id: 'south-1', name: 'South 1', depot: 'south', features: [], closed: [] },
  ],
  people: ['north', 'south'].map((depot) => ({
    ...{ id: `p-${depot}`, name: `Person ${depot}`, depot, skills: ['emissions', 'diagnostics'] },
    ...{ weekdays: WEEK, absent: [] },
  })),
  hours: ['north', 'south'].flatMap((depot) => WEEK.map((weekday) => ({ depot, weekday, from: '08:00', to: '09:30' }))),
  ...{ holidays: [{ date: dayAhead(2), name: 'Well Day' }], spares: [{ vehicleClass: 'van', count: 1 }] },
  ...{ inService: [], travel: [] },
  rules: { horizonDays: 14, moveCost: 60, travelCostPerHour: 40, beyondDays: 14, leastWeight: 0.1 },
};

/** Four vehicles whose emissions inspections are due, one of them tomorrow. */
export const FLEET = {
  name: 'Kestrel Valley',
  depots: ['north', 'south'].map((id) => ({ id, name: `Depot ${id}`, timeZone: ZONE })),
  vehicles: [1, 2, 3, 4].map((number) => ({
    ...{ id: `KV-${number}`, vehicleClass: number < 3 ? 'van' : 'truck', depot: number % 2 === 0 ? 'south' : 'north' },
    ...{ inspectionDue: dayAhead(number === 4 ? 1 : 12), modelYear: 2015, fuel: 'gas' },
  })),
};
