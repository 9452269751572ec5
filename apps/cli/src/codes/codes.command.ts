import { fleetCodesSchema, vehicleCodesSchema } from '@tallybay/contracts';
import type { Command } from 'commander';
import { ServiceClient } from '../service/client.js';
import { addUrl, wholeNumber } from '../service/service-options.js';
import type { Session } from '../session.js';
import { fleetCodeLines } from './fleet-code-lines.js';
import { vehicleCodeLines } from './vehicle-code-lines.js';

interface CodesOptions {
  url: string;
  class?: string;
  depot?: string;
  route?: string;
  top?: number;
  json?: boolean;
}

export function registerCodes(program: Command, session: Session): void {
  const command = program
    .command('codes')
    .summary('trouble codes: which return, come together, spread')
    .description(
      "Print the fleet's trouble codes: which return where, which were cleared without repair, which come together and which spread in a class. With a vehicle: its codes over time, with clears and returns.",
    )
    .argument('[vehicle]', 'one vehicle instead of the fleet')
    .option('--class <class>', 'only vehicles of this class')
    .option('--depot <depot>', 'only vehicles of this depot')
    .option('--route <route>', 'only vehicles of this route')
    .option('--top <n>', 'only the first codes', wholeNumber(1))
    .option('--json', 'print what the service answers');
  addUrl(command).action((vehicle: string | undefined, options: CodesOptions) => codes(vehicle, options, session));
}

async function codes(vehicle: string | undefined, options: CodesOptions, { terminal }: Session): Promise<void> {
  const client = ServiceClient.of(options.url, terminal.signal);
  const print = <T>(answer: T, lines: (answer: T) => string[]) => {
    for (const line of options.json ? [JSON.stringify(answer, null, 2)] : lines(answer)) terminal.out(line);
  };
  try {
    if (vehicle !== undefined) {
      const path = `/v1/vehicles/${encodeURIComponent(vehicle)}/codes`;
      print(await client.json({ method: 'GET', path }, vehicleCodesSchema), vehicleCodeLines);
    } else {
      const query = { class: options.class, depot: options.depot, route: options.route };
      const answer = await client.json({ method: 'GET', path: '/v1/codes', query }, fleetCodesSchema);
      print(answer, (fleet) => fleetCodeLines(fleet, options.top));
    }
  } finally {
    client.close();
  }
}
