import { setTimeout as wait } from 'node:timers/promises';
import { planRunSchema, type Shop, shopPlanSchema, TallybayError } from '@tallybay/contracts';
import { z } from 'zod';
import { plural } from '../output/numbers.js';
import { tableLines } from '../output/table.js';
import type { ServiceClient } from '../service/client.js';

const PLAN_SECONDS = 5;
const ASK_EVERY_MS = 200;
const SHOWN_VISITS = 8;
const WORKDAYS = [1, 2, 3, 4, 5];
const DEPOTS = ['northgate', 'millrace'];

/** The district's invented shop: two bays at one depot, one at the other, three people. */
const SHOP: Omit<Shop, 'rules'> = {
  bays: [
    { id: 'north-pit', name: 'Northgate pit', depot: 'northgate', features: ['pit', 'lift'], closed: [] },
    { id: 'north-lift', name: 'Northgate lift', depot: 'northgate', features: ['lift'], closed: [] },
    { id: 'mill-lift', name: 'Millrace lift', depot: 'millrace', features: ['lift'], closed: [] },
  ],
  people: [
    person('p1', 'Person 1', 'northgate', ['diagnostics', 'emissions']),
    person('p2', 'Person 2', 'northgate', ['diagnostics']),
    person('p3', 'Person 3', 'millrace', ['diagnostics', 'emissions']),
  ],
  hours: DEPOTS.flatMap((depot) => WORKDAYS.map((weekday) => ({ depot, weekday, from: '07:00', to: '15:30' }))),
  holidays: [],
  spares: ['van', 'vacuum_truck', 'crew_bus', 'service_pickup'].map((vehicleClass) => ({ vehicleClass, count: 2 })),
  inService: [{ vehicleClass: 'crew_bus', weekdays: [1, 5] }],
  travel: [
    { from: 'northgate', to: 'millrace', minutes: 35 },
    { from: 'tern-basin', to: 'northgate', minutes: 50 },
    { from: 'tern-basin', to: 'millrace', minutes: 40 },
  ],
};

function person(id: string, name: string, depot: string, skills: string[]): Shop['people'][number] {
  return { id, name, depot, skills, weekdays: WORKDAYS, absent: [] };
}

/** Sets up the shop and lets it plan what the ranking found. @returns lines that say what came of it */
export async function planShop(client: ServiceClient): Promise<string[]> {
  const body = Buffer.from(JSON.stringify(SHOP));
  const contentType = 'application/json';
  await client.json({ method: 'PUT', path: '/v1/settings/shop', contentType, body }, z.unknown());
  const asked = Buffer.from(JSON.stringify({ seconds: PLAN_SECONDS }));
  let run = await client.json({ method: 'POST', path: '/v1/plan', contentType, body: asked }, planRunSchema);
  while (run.state === 'running') {
    await wait(ASK_EVERY_MS);
    run = await client.json({ method: 'GET', path: '/v1/plan/run' }, planRunSchema);
  }
  if (run.problem || !run.report)
    throw new TallybayError('internal', run.problem?.detail ?? 'the planner gave no report');
  const { visits } = await client.json({ method: 'GET', path: '/v1/plan' }, shopPlanSchema);
  const { planned, gap, late, waiting } = run.report;
  const good = run.report.optimal ? 'no plan is better' : `within ${(gap * 100).toFixed(1)} % of the best possible`;
  const order = visits.toSorted((a, b) => (`${a.day} ${a.from}` < `${b.day} ${b.from}` ? -1 : 1));
  const rows = order
    .slice(0, SHOWN_VISITS)
    .map((visit) => [
      ...[visit.day, visit.from, visit.bay, visit.vehicle],
      visit.inspections.map(({ label }) => label.split(':')[0]).join(', '),
    ]);
  return [
    `  ${plural(planned, 'visit')}, ${good}; ${late.length} late, ${waiting.length} without a place`,
    '',
    ...tableLines(
      ['day', 'from', 'bay', 'vehicle', 'inspections'].map((title) => ({ title })),
      rows,
    ),
    ...(visits.length > SHOWN_VISITS ? [`… and ${visits.length - SHOWN_VISITS} more; the page has them all.`] : []),
  ];
}
