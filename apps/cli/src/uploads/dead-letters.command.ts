import { problemSchema } from '@tallybay/contracts';
import type { Command } from 'commander';
import { z } from 'zod';
import { bytesText, plural } from '../output/numbers.js';
import { problemSummary } from '../output/problem-text.js';
import { tableLines } from '../output/table.js';
import { ServiceClient } from '../service/client.js';
import { addUrl, wholeNumber } from '../service/service-options.js';
import type { Session } from '../session.js';

const lettersSchema = z.object({
  deadLetters: z.array(
    z.object({
      at: z.string(),
      key: z.string(),
      bytes: z.number(),
      reason: z.unknown(),
      uploadId: z.string().nullable(),
    }),
  ),
});
type Letter = z.infer<typeof lettersSchema>['deadLetters'][number];

interface LettersOptions {
  url: string;
  limit: number;
  json?: boolean;
}

export function registerDeadLetters(program: Command, session: Session): void {
  const command = program
    .command('dead-letters')
    .summary('list what could not be decoded')
    .description('List messages that were set aside, and why. Nothing is lost: `tallybay decode-again` tries anew.')
    .option('--limit <n>', 'at most this many, the newest', wholeNumber(1), 100)
    .option('--json', 'print them as the service does');
  addUrl(command).action((options: LettersOptions) => deadLetters(options, session));
}

async function deadLetters(options: LettersOptions, session: Session): Promise<void> {
  const { terminal } = session;
  const client = ServiceClient.of(options.url, terminal.signal);
  const call = { method: 'GET', path: '/v1/dead-letters', query: { limit: String(options.limit) } } as const;
  const { deadLetters: letters } = await client.json(call, lettersSchema).finally(() => client.close());
  if (options.json) terminal.out(JSON.stringify(letters, null, 2));
  else for (const line of letterLines(letters)) terminal.out(line);
}

function letterLines(letters: readonly Letter[]): string[] {
  if (letters.length === 0) return ['Nothing was set aside.'];
  const rows = letters.map((letter) => [
    letter.at,
    letter.key,
    letter.uploadId ?? '-',
    bytesText(letter.bytes),
    reasonText(letter.reason),
  ]);
  const columns = [
    { title: 'time' },
    { title: 'vehicle' },
    { title: 'upload' },
    { title: 'size', align: 'right' as const },
    { title: 'reason' },
  ];
  return [...tableLines(columns, rows), '', plural(letters.length, 'message')];
}

function reasonText(reason: unknown): string {
  const problem = problemSchema.safeParse(reason);
  return problem.success ? problemSummary(problem.data) : JSON.stringify(reason);
}
