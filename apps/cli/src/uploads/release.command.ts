import { type Release, TallybayError, uploadSchema } from '@tallybay/contracts';
import type { Command } from 'commander';
import { problemSummary } from '../output/problem-text.js';
import { ServiceClient } from '../service/client.js';
import { addUrl } from '../service/service-options.js';
import type { Session } from '../session.js';
import { logParameters } from '../upload/log-options.js';

interface ReleaseOptions {
  url: string;
  vehicle?: string;
  recordedAt?: string;
  timeZone?: string;
}

export function registerRelease(program: Command, session: Session): void {
  const command = program
    .command('release')
    .summary('give a waiting upload what it needs')
    .description('Say which vehicle a waiting upload is from, or when it was recorded, and let it go on.')
    .argument('<upload>', 'id of the upload, see `tallybay uploads --waiting`')
    .option('--vehicle <id>', 'vehicle that it is from')
    .option('--recorded-at <time>', 'instant of the first row, with offset: 2026-10-05T07:12:00+02:00')
    .option('--time-zone <zone>', "zone of the recorder's clock, such as Europe/Berlin");
  addUrl(command).action((id: string, options: ReleaseOptions) => releaseUpload(id, options, session));
}

async function releaseUpload(id: string, options: ReleaseOptions, session: Session): Promise<void> {
  const { vehicle, recordedAt, timeZone } = logParameters(options);
  const release: Release = { vehicle, recordedAt, timeZone };
  if (!vehicle && !recordedAt && !timeZone)
    throw new TallybayError('parameter_invalid', 'nothing is said about the upload', {
      advice: 'Give --vehicle, --recorded-at or --time-zone; `tallybay uploads --waiting` tells which is needed.',
    });
  const { terminal } = session;
  const client = ServiceClient.of(options.url, terminal.signal);
  const upload = await client
    .json(
      {
        method: 'POST',
        path: `/v1/uploads/${encodeURIComponent(id)}/release`,
        body: Buffer.from(JSON.stringify(release)),
        contentType: 'application/json',
      },
      uploadSchema,
    )
    .finally(() => client.close());
  terminal.out(`${upload.id}  ${upload.state}  ${upload.vehicle ?? '-'}  ${upload.fileName ?? ''}`.trimEnd());
  if (upload.state === 'waiting' && upload.problem) terminal.out(`  still waits: ${problemSummary(upload.problem)}`);
}
