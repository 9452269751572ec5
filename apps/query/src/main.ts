import { analystAskSchema, classifyError, FRAME } from '@tallybay/contracts';
import { AnalystSandbox } from '@tallybay/lake';
import { FramePipe } from './frame-pipe.js';
import { linesOf } from './lines.js';
import { readQueryConfig } from './query.config.js';

/** When the api goes away there is nobody to answer: a query may be deep inside native code, so no orderly end is tried. */
process.stdin.once('close', () => process.kill(process.pid, 'SIGKILL'));
process.stdout.once('error', () => process.kill(process.pid, 'SIGKILL'));

const pipe = new FramePipe(process.stdout);
const sandbox = await AnalystSandbox.open(readQueryConfig(process.env));
// The first statement of a process is several times slower than the next: it is ours.
for await (const _ of sandbox.answer({ sql: 'SELECT count(*) FROM vehicles', format: 'json', maxRows: 1 }));
await pipe.json(FRAME.ready, {});

for await (const line of linesOf(process.stdin)) {
  try {
    const ask = analystAskSchema.parse(JSON.parse(line));
    for await (const part of sandbox.answer(ask)) {
      if (part.kind === 'columns') await pipe.json(FRAME.columns, { columns: part.columns });
      else if (part.kind === 'bytes') await pipe.bytes(part.bytes);
      else await pipe.json(FRAME.end, { rows: part.rows, truncated: part.truncated });
    }
  } catch (thrown) {
    const error = classifyError(thrown);
    await pipe.json(FRAME.failed, { code: error.code, detail: error.message, advice: error.options.advice });
  }
}
