import { type LakeUpkeep, lakeSizeSchema } from '@tallybay/contracts';
import type { Command } from 'commander';
import { countText } from '../output/numbers.js';
import { tableLines } from '../output/table.js';
import { ServiceClient } from '../service/client.js';
import { addUrl } from '../service/service-options.js';
import type { Session } from '../session.js';

export function registerLake(program: Command, session: Session): void {
  const command = program
    .command('lake')
    .summary('how much the lake holds')
    .description(
      'Print files and megabytes of the lake by table and by vehicle, with the oldest and the newest row of each, and what the last round of upkeep removed.',
    )
    .option('--json', 'print the answer of the service as JSON');
  addUrl(command).action((options: LakeOptions) => lake(options, session));
}

interface LakeOptions {
  url: string;
  json?: boolean;
}

const MB = 1_000_000;
const day = (ms: number | null): string => (ms === null ? '-' : new Date(ms).toISOString().slice(0, 10));
const megabytes = (bytes: number): string => (bytes / MB).toFixed(1);

async function lake({ url, json }: LakeOptions, { terminal }: Session): Promise<void> {
  const client = ServiceClient.of(url, terminal.signal);
  const size = await client.json({ method: 'GET', path: '/v1/lake' }, lakeSizeSchema).finally(() => client.close());
  if (json) return terminal.out(JSON.stringify(size, null, 1));
  const { tables, vehicles, upkeep } = size;
  const right = (title: string) => ({ title, align: 'right' as const });
  const total = tables.reduce((sum, { files, bytes }) => ({ files: sum.files + files, bytes: sum.bytes + bytes }), {
    files: 0,
    bytes: 0,
  });
  const byTable = [...tables, { table: 'all', ...total }].map(({ table, files, bytes }) => [
    table,
    countText(files),
    megabytes(bytes),
  ]);
  for (const line of tableLines([{ title: 'table' }, right('files'), right('MB')], byTable)) terminal.out(line);
  if (upkeep) terminal.out(upkeepLine(upkeep));
  if (vehicles.length === 0) return;
  terminal.out('');
  const byVehicle = vehicles.map((row) => [
    row.vehicle,
    countText(row.uploads),
    countText(row.files),
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

function upkeepLine({ at, packed, removed, expired, withheld }: LakeUpkeep): string {
  const weeks = packed.packed > 0 ? `${packed.files} small files made ${packed.packed} packs, ` : '';
  const old = expired.uploads > 0 ? `, old rows of ${expired.uploads} uploads taken out` : '';
  return (
    `Tidied ${at.slice(0, 16).replace('T', ' ')} UTC: ${weeks}${removed.files} files removed ` +
    `(${megabytes(removed.bytes)} MB)${old}; ${withheld} files wait until no query can read them`
  );
}
