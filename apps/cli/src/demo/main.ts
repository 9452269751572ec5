import { classifyError } from '@tallybay/contracts';
import { CommanderError } from 'commander';
import { errorLines } from '../output/problem-text.js';
import { processTerminal } from '../terminal.js';
import { runDemo } from './demo.js';
import { readDemoOptions } from './demo-options.js';

const stop = new AbortController();
process.once('SIGINT', () => stop.abort());
process.once('SIGTERM', () => stop.abort());

try {
  const options = readDemoOptions(process.argv.slice(2), process.cwd());
  process.exitCode = await runDemo(options, processTerminal(stop.signal));
} catch (thrown) {
  if (thrown instanceof CommanderError) process.exitCode = thrown.exitCode === 0 ? 0 : 64;
  else if (stop.signal.aborted) process.exitCode = 130;
  else {
    const error = classifyError(thrown);
    for (const line of errorLines(error, 'demo')) process.stderr.write(`${line}\n`);
    process.exitCode = error.problem.exitCode;
  }
}
