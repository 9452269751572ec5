import { lakeCheckSchema, PROBLEMS } from '@tallybay/contracts';
import type { Command } from 'commander';
import { plural } from '../output/numbers.js';
import { ServiceClient } from '../service/client.js';
import { addUrl } from '../service/service-options.js';
import type { Session } from '../session.js';

export function registerCheckLake(program: Command, session: Session): void {
  const command = program
    .command('check-lake')
    .summary('look for damaged files in the lake')
    .description(
      'Look at every file of the lake, and for every upload that should be there. Damaged files are taken out, so that queries work; their uploads, and missing ones, are marked failed: `tallybay decode-again --state failed` brings the rows back.',
    );
  addUrl(command).action((options: { url: string }) => checkLake(options, session));
}

async function checkLake(options: { url: string }, session: Session): Promise<void> {
  const { terminal } = session;
  const client = ServiceClient.of(options.url, terminal.signal);
  const call = { method: 'POST', path: '/v1/lake-check' } as const;
  const { files, damaged, missing } = await client.json(call, lakeCheckSchema).finally(() => client.close());
  for (const { file, uploadId, why } of damaged) terminal.out(`${file}: ${why} (upload ${uploadId ?? 'unknown'})`);
  for (const { uploadId, vehicle } of missing) terminal.out(`${uploadId}: ${vehicle} has no rows of it in the lake`);
  terminal.out(
    `${plural(files, 'file')} looked at, ${damaged.length} damaged; ${plural(missing.length, 'upload')} missing`,
  );
  if (damaged.length + missing.length > 0) session.worsen(PROBLEMS.lake_damaged.exitCode);
}
