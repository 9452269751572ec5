import { uploadSchema } from '@tallybay/contracts';
import type { Command } from 'commander';
import { ServiceClient } from '../service/client.js';
import { addUrl } from '../service/service-options.js';
import type { Session } from '../session.js';

export function registerDecodeAgain(program: Command, session: Session): void {
  const command = program
    .command('decode-again')
    .summary('decode stored uploads anew')
    .description(
      "Decode uploads again from their stored bytes, with today's signal catalogue and profiles. Their rows are replaced.",
    )
    .argument('<upload...>', 'ids of uploads')
    .option('--vehicle <id>', 'they are from this vehicle after all');
  addUrl(command).action((ids: string[], options: { url: string; vehicle?: string }) =>
    decodeAgain(ids, options, session),
  );
}

async function decodeAgain(ids: string[], options: { url: string; vehicle?: string }, session: Session): Promise<void> {
  const { terminal } = session;
  const client = ServiceClient.of(options.url, terminal.signal);
  const body = Buffer.from(JSON.stringify({ vehicle: options.vehicle }));
  try {
    for (const id of ids) {
      const path = `/v1/uploads/${encodeURIComponent(id)}/decode-again`;
      const upload = await client.json({ method: 'POST', path, body, contentType: 'application/json' }, uploadSchema);
      terminal.out(`${upload.id}  ${upload.state}  ${upload.vehicle ?? '-'}  ${upload.fileName ?? ''}`.trimEnd());
    }
  } finally {
    client.close();
  }
}
