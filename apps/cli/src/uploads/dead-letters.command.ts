import { type DeadLetter, deadLetterListSchema } from '@tallybay/contracts';
import type { Command } from 'commander';
import { bytesText, plural } from '../output/numbers.js';
import { problemSummary } from '../output/problem-text.js';
import { tableLines, wrapLines } from '../output/table.js';
import { ServiceClient } from '../service/client.js';
import { addUrl, wholeNumber } from '../service/service-options.js';
import type { Session } from '../session.js';

interface LettersOptions {
  url: string;
  limit: number;
  json?: boolean;
}

export function registerDeadLetters(program: Command, session: Session): void {
  const command = program
    .command('dead-letters')
    .summary('list what could not be decoded')
    .description('List messages that were set aside, and why. Nothing is lost: `tallybay replay` tries them anew.')
    .option('--limit <n>', 'at most this many, the newest', wholeNumber(1), 100)
    .option('--json', 'print them as the service does');
  addUrl(command).action((options: LettersOptions) => deadLetters(options, session));
}

async function deadLetters(options: LettersOptions, session: Session): Promise<void> {
  const { terminal } = session;
  const client = ServiceClient.of(options.url, terminal.signal);
  const call = { method: 'GET', path: '/v1/dead-letters', query: { limit: String(options.limit) } } as const;
  const { deadLetters: letters } = await client.json(call, deadLetterListSchema).finally(() => client.close());
  if (options.json) terminal.out(JSON.stringify(letters, null, 2));
  else for (const line of letterLines(letters)) terminal.out(line);
}

/** A table, and under it the reason of each that is not settled yet. */
function letterLines(letters: readonly DeadLetter[]): string[] {
  if (letters.length === 0) return ['Nothing was set aside.'];
  const rows = letters.map((letter) => [
    letter.id,
    letter.at,
    letter.key,
    letter.uploadId ?? '-',
    letter.uploadState ?? '-',
    bytesText(letter.bytes),
  ]);
  const columns = [
    { title: 'message' },
    { title: 'time' },
    { title: 'vehicle' },
    { title: 'upload' },
    { title: 'now' },
    { title: 'size', align: 'right' as const },
  ];
  const reasons = letters
    .filter((letter) => letter.uploadState !== 'stored')
    .flatMap((letter) =>
      wrapLines(`${letter.id}: ${letter.reason ? problemSummary(letter.reason) : 'no reason is given'}`, 110, '    '),
    );
  return [
    ...tableLines(columns, rows),
    ...(reasons.length > 0 ? ['', ...reasons] : []),
    '',
    plural(letters.length, 'message'),
  ];
}
