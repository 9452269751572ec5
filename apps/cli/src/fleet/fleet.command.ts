import { readFile } from 'node:fs/promises';
import { resolve } from 'node:path';
import { type Fleet, fleetSchema, TallybayError } from '@tallybay/contracts';
import type { Command } from 'commander';
import { plural } from '../output/numbers.js';
import { ServiceClient } from '../service/client.js';
import { addUrl } from '../service/service-options.js';
import type { Session } from '../session.js';
import { fileProblem } from '../upload/content.js';

export function registerFleet(program: Command, session: Session): void {
  const fleet = program
    .command('fleet')
    .summary('register depots, vehicles, recorders, profiles')
    .description("The fleet's depots, vehicles, recorders and profiles.");
  const command = fleet
    .command('import')
    .summary('register what a fleet file lists')
    .description('Register the depots, vehicles, recorder assignments and profiles of one JSON file. Safe to repeat.')
    .argument('<file>', 'fleet file');
  addUrl(command).action(async (file: string, options: { url: string }) => {
    const { terminal } = session;
    const content = await readFleet(resolve(terminal.cwd, file));
    const client = ServiceClient.of(options.url, terminal.signal);
    await importFleet(client, content).finally(() => client.close());
    terminal.out(fleetLine(content));
  });
}

/** @throws TallybayError `file_unreadable`, or `body_invalid` with the member that is wrong */
export async function readFleet(path: string): Promise<Fleet> {
  const text = await readFile(path, 'utf8').catch((error) => {
    throw fileProblem(path, error);
  });
  let value: unknown;
  try {
    value = JSON.parse(text.replace(/^\uFEFF/, ''));
  } catch (error) {
    throw new TallybayError('body_invalid', `${path} is no JSON (${(error as Error).message})`, {
      advice: 'Correct the file; an editor that knows JSON shows the place.',
      place: { file: path },
      cause: error,
    });
  }
  const parsed = fleetSchema.safeParse(value);
  if (parsed.success) return parsed.data;
  const issue = parsed.error.issues[0];
  throw new TallybayError('body_invalid', `${path}: ${issue?.message ?? 'unexpected shape'}`, {
    advice: 'A fleet file lists depots, vehicles, assignments and profiles.',
    place: { file: path, field: issue?.path.join('.') ?? '' },
  });
}

/** POST /v1/fleet; what is there already is brought up to date. */
export async function importFleet(client: ServiceClient, fleet: Fleet): Promise<void> {
  const body = Buffer.from(JSON.stringify(fleet));
  await client.call({ method: 'POST', path: '/v1/fleet', body, contentType: 'application/json' });
}

const fleetLine = (fleet: Fleet): string =>
  `${fleet.name}: ${plural(fleet.depots.length, 'depot')}, ${plural(fleet.vehicles.length, 'vehicle')}, ` +
  `${plural(fleet.assignments.length, 'recorder assignment')}, ${plural(fleet.profiles.length, 'profile')} registered`;
