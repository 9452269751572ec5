import { resolve } from 'node:path';
import type { Command } from 'commander';
import { ServiceClient } from '../service/client.js';
import { addUrl } from '../service/service-options.js';
import type { Session } from '../session.js';

export function registerLakeSql(program: Command, session: Session): void {
  const command = program
    .command('lake-sql')
    .summary('a script that opens the lake with DuckDB')
    .description(
      'Print a script that opens the lake with the plain DuckDB command line, with comments on every column: `tallybay lake-sql > lake.sql; duckdb -init lake.sql`. The same lies in the lake itself as lake.sql.',
    )
    .option('--lake <folder>', 'where the lake lies on this machine; by default where the service has it');
  addUrl(command).action((options: { url: string; lake?: string }) => lakeSql(options, session));
}

async function lakeSql({ url, lake }: { url: string; lake?: string }, { terminal }: Session): Promise<void> {
  const client = ServiceClient.of(url, terminal.signal);
  const directory = lake === undefined ? undefined : resolve(terminal.cwd, lake);
  const call = { method: 'GET', path: '/v1/lake.sql', query: { directory } } as const;
  const { text } = await client.call(call).finally(() => client.close());
  terminal.out(text.trimEnd());
}
