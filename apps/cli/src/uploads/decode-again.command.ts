import { decodeAgainResultSchema, PROBLEMS, TallybayError, type Upload, uploadSchema } from '@tallybay/contracts';
import { type Command, Option } from 'commander';
import { plural } from '../output/numbers.js';
import { problemSummary } from '../output/problem-text.js';
import { ServiceClient } from '../service/client.js';
import { addUrl } from '../service/service-options.js';
import type { Session } from '../session.js';

interface AgainOptions {
  url: string;
  vehicle?: string;
  of?: string;
  week?: string;
  state?: 'stored' | 'failed';
}

export function registerDecodeAgain(program: Command, session: Session): void {
  const command = program
    .command('decode-again')
    .summary('decode stored uploads anew')
    .description(
      "Decode uploads again from their stored bytes, with today's signal catalogue and profiles. Their rows are replaced. Name uploads, or choose them by vehicle, week or state.",
    )
    .argument('[upload...]', 'ids of uploads')
    .option('--vehicle <id>', 'the named uploads are from this vehicle after all')
    .option('--of <vehicle>', 'all uploads of this vehicle')
    .option('--week <week>', 'all uploads with data of this ISO week, such as 2026-W41')
    .addOption(new Option('--state <state>', 'all uploads in this state').choices(['stored', 'failed']));
  addUrl(command).action((ids: string[], options: AgainOptions) => decodeAgain(ids, options, session));
}

async function decodeAgain(ids: string[], options: AgainOptions, session: Session): Promise<void> {
  const { of, week, state } = options;
  const chosen = of !== undefined || week !== undefined || state !== undefined;
  if (chosen === ids.length > 0 || (chosen && options.vehicle !== undefined))
    throw new TallybayError('parameter_invalid', 'it is not clear which uploads are meant', {
      advice: 'Name uploads (with --vehicle to move them), or choose them with --of, --week and --state; not both.',
    });
  const client = ServiceClient.of(options.url, session.terminal.signal);
  try {
    if (chosen) await many(client, { vehicle: of, week, state }, session);
    else for (const id of ids) session.terminal.out(uploadLine(await one(client, id, options.vehicle)));
  } finally {
    client.close();
  }
}

function one(client: ServiceClient, id: string, vehicle: string | undefined): Promise<Upload> {
  const path = `/v1/uploads/${encodeURIComponent(id)}/decode-again`;
  const body = Buffer.from(JSON.stringify({ vehicle }));
  return client.json({ method: 'POST', path, body, contentType: 'application/json' }, uploadSchema);
}

async function many(client: ServiceClient, wanted: object, session: Session): Promise<void> {
  const { terminal } = session;
  const body = Buffer.from(JSON.stringify(wanted));
  const call = { method: 'POST', path: '/v1/decode-again', body, contentType: 'application/json' } as const;
  const { uploads, refused } = await client.json(call, decodeAgainResultSchema);
  for (const { id, problem } of refused) terminal.out(`${id}  ${problemSummary(problem)}`);
  if (refused.length > 0) session.worsen(PROBLEMS.landing_corrupt.exitCode);
  if (uploads.length + refused.length === 0) {
    terminal.out('No upload fits; `tallybay uploads` lists them. Nothing is decoded again.');
    return;
  }
  terminal.out(`${plural(uploads.length, 'upload')} will be decoded again; \`tallybay lag\` shows how far they are.`);
}

const uploadLine = (upload: Upload): string =>
  `${upload.id}  ${upload.state}  ${upload.vehicle ?? '-'}  ${upload.fileName ?? ''}`.trimEnd();
