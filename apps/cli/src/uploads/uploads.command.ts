import { type Upload, uploadListSchema, uploadStateSchema } from '@tallybay/contracts';
import { type Command, Option } from 'commander';
import { bytesText, countText, plural } from '../output/numbers.js';
import { problemSummary } from '../output/problem-text.js';
import { tableLines, wrapLines } from '../output/table.js';
import { ServiceClient } from '../service/client.js';
import { addUrl, wholeNumber } from '../service/service-options.js';
import type { Session } from '../session.js';

interface UploadsOptions {
  url: string;
  waiting?: boolean;
  state?: string;
  limit: number;
  json?: boolean;
}

const PAGE = 200;

export function registerUploads(program: Command, session: Session): void {
  const command = program
    .command('uploads')
    .summary('list what the service has received')
    .description('List uploads, newest first, with their state and what they wait for.')
    .option('--waiting', 'only those that need a vehicle or a time from a person')
    .addOption(new Option('--state <state>', 'only those in this state').choices(uploadStateSchema.options))
    .option('--limit <n>', 'at most this many', wholeNumber(1), 100)
    .option('--json', 'print them as the service does');
  addUrl(command).action((options: UploadsOptions) => listUploads(options, session));
}

async function listUploads(options: UploadsOptions, session: Session): Promise<void> {
  const { terminal } = session;
  const client = ServiceClient.of(options.url, terminal.signal);
  const state = options.waiting ? 'waiting' : options.state;
  const uploads = await fetchUploads(client, { state, limit: options.limit }).finally(() => client.close());
  if (options.json) terminal.out(JSON.stringify(uploads, null, 2));
  else for (const line of uploadLines(uploads, state)) terminal.out(line);
}

/** Pages through the list until `limit` uploads are there or it ends. */
export async function fetchUploads(
  client: ServiceClient,
  filter: { state?: string | undefined; limit: number },
): Promise<Upload[]> {
  const uploads: Upload[] = [];
  let after: string | undefined;
  do {
    const size = String(Math.min(PAGE, filter.limit - uploads.length));
    const query = { state: filter.state, limit: size, after };
    const page = await client.json({ method: 'GET', path: '/v1/uploads', query }, uploadListSchema);
    uploads.push(...page.uploads);
    after = page.uploads.length > 0 ? (page.next ?? undefined) : undefined;
  } while (after && uploads.length < filter.limit);
  return uploads.slice(0, filter.limit);
}

/** A table, and under it what each waiting or failed upload needs. */
export function uploadLines(uploads: readonly Upload[], state?: string): string[] {
  if (uploads.length === 0) return [state ? `No uploads are ${state}.` : 'No uploads yet.'];
  const table = tableLines(
    [
      { title: 'upload' },
      { title: 'state' },
      { title: 'received' },
      { title: 'vehicle' },
      { title: 'recorder' },
      { title: 'size', align: 'right' },
      { title: 'rows kept', align: 'right' },
      { title: 'file' },
    ],
    uploads.map(uploadCells),
  );
  const needs = uploads.filter((upload) => upload.problem).flatMap(needLines);
  return [...table, ...(needs.length > 0 ? ['', ...needs] : []), '', plural(uploads.length, 'upload')];
}

const uploadCells = (upload: Upload): string[] => [
  upload.id,
  stateText(upload),
  upload.receivedAt.replace(/\.\d+Z$/, 'Z'),
  upload.vehicle ?? '-',
  upload.recorder ?? '-',
  bytesText(upload.bytes),
  upload.counts ? countText(upload.counts.rowsKept) : '-',
  upload.fileName ?? '-',
];

function stateText(upload: Upload): string {
  const { chunks, decoded } = upload.progress;
  return upload.state === 'decoding' && chunks > 0
    ? `decoding ${Math.floor((100 * decoded) / chunks)} %`
    : upload.state;
}

function needLines(upload: Upload): string[] {
  const text = `${upload.id}: ${upload.problem ? problemSummary(upload.problem) : ''}`;
  return wrapLines(text, 110, '    ');
}
