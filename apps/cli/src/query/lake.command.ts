import { lakeSizeSchema } from '@tallybay/contracts';
import type { Command } from 'commander';
import { tableLines } from '../output/table.js';
import { ServiceClient } from '../service/client.js';
import { addUrl } from '../service/service-options.js';
import type { Session } from '../session.js';

export function registerLake(program: Command, session: Session): void {
  const command = program
    .command('lake')
    .summary('how much the lake holds')
    .description(
      'Files and megabytes of the lake by table and by vehicle, with the oldest and the newest row of each.',
    );
  addUrl(command).action((options: { url: string }) => lake(options, session));
}

const MB = 1_000_000;
const day = (ms: number | null): string => (ms === null ? '-' : new Date(ms).toISOString().slice(0, 10));
const megabytes = (bytes: number): string => (bytes / MB).toFixed(1);

async function lake({ url }: { url: string }, { terminal }: Session): Promise<void> {
  const client = ServiceClient.of(url, terminal.signal);
  const { tables, vehicles } = await client
    .json({ method: 'GET', path: '/v1/lake' }, lakeSizeSchema)
    .finally(() => client.close());
  const right = (title: string) => ({ title, align: 'right' as const });
  const total = tables.reduce((sum, { files, bytes }) => ({ files: sum.files + files, bytes: sum.bytes + bytes }), {
    files: 0,
    bytes: 0,
  });
  const byTable = [...tables, { table: 'all', ...total }].map(({ table, files, bytes }) => [
    table,
    String(files),
    megabytes(bytes),
  ]);
  for (const line of tableLines([{ title: 'table' }, right('files'), right('MB')], byTable)) terminal.out(line);
  if (vehicles.length === 0) return;
  terminal.out('');
  const byVehicle = vehicles.map((row) => [
    row.vehicle,
    String(row.uploads),
    String(row.files),
    megabytes(row.bytes),
    day(row.oldestMs),
    day(row.newestMs),
  ]);
  const heads = [
    { title: 'vehicle' },
    right('uploads'),
    right('files'),
    right('MB'),
    { title: 'oldest' },
    { title: 'newest' },
  ];
  for (const line of tableLines(heads, byVehicle)) terminal.out(line);
}
