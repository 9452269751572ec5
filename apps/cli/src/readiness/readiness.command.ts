import { fleetReadinessSchema, TallybayError, vehicleReadinessSchema } from '@tallybay/contracts';
import type { Command } from 'commander';
import { ServiceClient } from '../service/client.js';
import { depotNamer } from '../service/depot-names.js';
import { addUrl, wholeNumber } from '../service/service-options.js';
import type { Session } from '../session.js';
import { fleetReadinessLines } from './fleet-readiness-lines.js';
import { vehicleReadinessLines } from './vehicle-readiness-lines.js';

interface ReadinessOptions {
  url: string;
  programme?: string;
  within?: number;
  json?: boolean;
}

export function registerReadiness(program: Command, session: Session): void {
  const command = program
    .command('readiness')
    .summary('who would pass, be refused or fail an emissions inspection')
    .description(
      "Print the fleet by inspection date: what an inspection would make of the newest readings, and how likely the monitors are ready by then. With a vehicle: every programme's verdict, open monitors, and what to do. The local programme decides, not this.",
    )
    .argument('[vehicle]', 'one vehicle instead of the fleet')
    .option('--programme <id>', 'inspection programme of the list; the first one by default')
    .option('--within <days>', 'only inspections due within so many days, overdue ones included', wholeNumber(0))
    .option('--json', 'print what the service answers');
  addUrl(command).action((vehicle: string | undefined, options: ReadinessOptions) =>
    readiness(vehicle, options, session),
  );
}

async function readiness(vehicle: string | undefined, options: ReadinessOptions, { terminal }: Session): Promise<void> {
  const client = ServiceClient.of(options.url, terminal.signal);
  try {
    const lines = vehicle === undefined ? await fleetLines(client, options) : await oneLines(client, vehicle, options);
    for (const line of lines) terminal.out(line);
  } finally {
    client.close();
  }
}

async function oneLines(client: ServiceClient, vehicle: string, { json }: ReadinessOptions): Promise<string[]> {
  const path = `/v1/vehicles/${encodeURIComponent(vehicle)}/readiness`;
  const answer = await client.json({ method: 'GET', path }, vehicleReadinessSchema);
  return json ? [JSON.stringify(answer, null, 2)] : vehicleReadinessLines(answer);
}

async function fleetLines(client: ServiceClient, options: ReadinessOptions): Promise<string[]> {
  const answer = await client.json({ method: 'GET', path: '/v1/fleet/readiness' }, fleetReadinessSchema);
  const known = answer.programmes.map(({ id }) => id);
  const programme = options.programme ?? known[0] ?? '';
  if (!known.includes(programme))
    throw new TallybayError('parameter_invalid', `there is no inspection programme "${programme}"`, {
      advice: `Known are ${known.join(', ')}.`,
      place: { field: '--programme' },
    });
  if (options.json) return [JSON.stringify(answer, null, 2)];
  const named = await depotNamer(client);
  return fleetReadinessLines(
    { ...answer, vehicles: named(answer.vehicles) },
    { programme, withinDays: options.within ?? null },
  );
}
