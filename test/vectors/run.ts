// `npm run -s vectors -- DIR [--json]`: runs every vector file in DIR; exit 1 on any failure, 64 on wrong use.
import { statSync } from 'node:fs';
import { resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { runVectors, type TopicResult } from './runner.js';

const USAGE = 'usage: npm run -s vectors -- DIR [--json]';

process.exitCode = main(process.argv.slice(2));

function main(argv: string[]): number {
  const { values, positionals } = parseArgs({
    args: argv,
    allowPositionals: true,
    options: { json: { type: 'boolean' } },
  });
  const [directory] = positionals;
  if (directory === undefined || positionals.length > 1) return wrong(USAGE);
  // npm runs scripts in the project's folder; a relative path is meant from where the person stands.
  const path = resolve(process.env.INIT_CWD ?? '.', directory);
  if (!statSync(path, { throwIfNoEntry: false })?.isDirectory()) return wrong(`${directory} is not a folder. ${USAGE}`);
  const result = runVectors(path);
  if (result.topics.length === 0) return wrong(`${directory} holds no .json file. ${USAGE}`);
  if (values.json) process.stdout.write(`${JSON.stringify(result, null, 2)}\n`);
  else print(result.topics, result.passed, result.failed);
  return result.failed === 0 ? 0 : 1;
}

function print(topics: TopicResult[], passed: number, failed: number): void {
  const lines = topics.flatMap(({ topic, passed: good, failed: bad, failures }) => [
    `${topic.padEnd(18)} ${String(good).padStart(5)} passed ${String(bad).padStart(5)} failed`,
    ...failures.flatMap(({ vector, name, expected, got, source }) => [
      `  #${vector} ${name}`,
      `    expected ${JSON.stringify(expected)}`,
      `    got      ${JSON.stringify(got)}`,
      ...(source === null ? [] : [`    source   ${source}`]),
    ]),
  ]);
  process.stdout.write(
    `${lines.join('\n')}\n${'all'.padEnd(18)} ${String(passed).padStart(5)} passed ${String(failed).padStart(5)} failed\n`,
  );
}

function wrong(message: string): number {
  process.stderr.write(`${message}\n`);
  return 64;
}
