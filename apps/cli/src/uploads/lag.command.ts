import { type PipelineState, pipelineSchema } from '@tallybay/contracts';
import type { Command } from 'commander';
import { countText, plural } from '../output/numbers.js';
import { tableLines } from '../output/table.js';
import { ServiceClient } from '../service/client.js';
import { addUrl } from '../service/service-options.js';
import type { Session } from '../session.js';

export function registerLag(program: Command, session: Session): void {
  const command = program
    .command('lag')
    .summary('how far decoding is behind')
    .description('Uploads by state, and the messages on the stream that no decode worker has finished with.')
    .option('--json', 'print it as the service does');
  addUrl(command).action((options: { url: string; json?: boolean }) => lag(options, session));
}

async function lag(options: { url: string; json?: boolean }, session: Session): Promise<void> {
  const { terminal } = session;
  const client = ServiceClient.of(options.url, terminal.signal);
  const state = await client
    .json({ method: 'GET', path: '/v1/pipeline' }, pipelineSchema)
    .finally(() => client.close());
  if (options.json) terminal.out(JSON.stringify(state, null, 2));
  else for (const line of lagLines(state)) terminal.out(line);
}

function lagLines(state: PipelineState): string[] {
  const uploads = Object.entries(state.uploads).map(([name, count]) => `${countText(count)} ${name}`);
  const behind = state.partitions.filter(({ committed, end }) => committed !== end);
  const rows = behind.map(({ topic, partition, committed, end }) => [
    topic,
    String(partition),
    committed,
    end,
    String(BigInt(end) - BigInt(committed)),
  ]);
  const right = { align: 'right' as const };
  const columns = [
    { title: 'topic' },
    { title: 'partition', ...right },
    { title: 'finished up to', ...right },
    { title: 'end', ...right },
    { title: 'behind', ...right },
  ];
  return [
    uploads.length === 0 ? 'No uploads yet.' : `Uploads: ${uploads.join(', ')}.`,
    state.lag === 0
      ? 'Nothing on the stream is waiting.'
      : `${plural(state.lag, 'message')} on the stream to be finished:`,
    ...(rows.length > 0 ? ['', ...tableLines(columns, rows)] : []),
  ];
}
