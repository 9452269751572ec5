import { PROBLEMS, replayResultSchema } from '@tallybay/contracts';
import type { Command } from 'commander';
import { plural } from '../output/numbers.js';
import { problemSummary } from '../output/problem-text.js';
import { ServiceClient } from '../service/client.js';
import { addUrl } from '../service/service-options.js';
import type { Session } from '../session.js';

export function registerReplay(program: Command, session: Session): void {
  const command = program
    .command('replay')
    .summary('send what was set aside on its way again')
    .description(
      'Decode again what was set aside, once its reason is gone: the messages named, or all whose upload is still failed. Exactly the missing rows appear.',
    )
    .argument('[message...]', 'messages as `tallybay dead-letters` names them');
  addUrl(command).action((ids: string[], options: { url: string }) => replay(ids, options, session));
}

async function replay(ids: string[], options: { url: string }, session: Session): Promise<void> {
  const { terminal } = session;
  const client = ServiceClient.of(options.url, terminal.signal);
  const body = Buffer.from(JSON.stringify(ids.length > 0 ? { ids } : {}));
  const call = { method: 'POST', path: '/v1/dead-letters/replay', body, contentType: 'application/json' } as const;
  const { uploads, messages, refused } = await client.json(call, replayResultSchema).finally(() => client.close());
  for (const id of uploads) terminal.out(`${id}  decoded again`);
  for (const id of messages) terminal.out(`${id}  sent again`);
  for (const { id, problem } of refused) terminal.out(`${id}  ${problemSummary(problem)}`);
  if (refused.length > 0) session.worsen(PROBLEMS.landing_corrupt.exitCode);
  terminal.out(`${plural(uploads.length + messages.length, 'message')} on the way again, ${refused.length} refused`);
}
