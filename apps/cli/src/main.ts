import { run } from './run.js';
import { processTerminal } from './terminal.js';

const stop = new AbortController();
// The first Ctrl-C ends in order; the second one ends at once.
process.once('SIGINT', () => stop.abort());
process.once('SIGTERM', () => stop.abort());
// `tallybay … | head` closes the pipe early: that is no error of ours.
process.stdout.on('error', (error: NodeJS.ErrnoException) => process.exit(error.code === 'EPIPE' ? 0 : 74));

process.exitCode = await run(process.argv.slice(2), processTerminal(stop.signal));
