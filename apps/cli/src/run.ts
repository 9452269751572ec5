import { createRequire } from 'node:module';
import { classifyError, PROBLEMS } from '@tallybay/contracts';
import { Command, CommanderError } from 'commander';
import { registerCodes } from './codes/codes.command.js';
import { registerDecode } from './decode/decode.command.js';
import { registerFleet } from './fleet/fleet.command.js';
import { registerInspect } from './inspect/inspect.command.js';
import { errorLines } from './output/problem-text.js';
import { registerLake } from './query/lake.command.js';
import { registerLakeSql } from './query/lake-sql.command.js';
import { registerQuery } from './query/query.command.js';
import { registerRank } from './rank/rank.command.js';
import { registerReadiness } from './readiness/readiness.command.js';
import { Session } from './session.js';
import type { Terminal } from './terminal.js';
import { registerUpload } from './upload/upload.command.js';
import { registerCheckLake } from './uploads/check-lake.command.js';
import { registerDeadLetters } from './uploads/dead-letters.command.js';
import { registerDecodeAgain } from './uploads/decode-again.command.js';
import { registerLag } from './uploads/lag.command.js';
import { registerRelease } from './uploads/release.command.js';
import { registerReplay } from './uploads/replay.command.js';
import { registerUploads } from './uploads/uploads.command.js';
import { registerWatch } from './watch/watch.command.js';

const { version } = createRequire(import.meta.url)('../package.json') as { version: string };

const USAGE_EXIT_CODE = PROBLEMS.parameter_invalid.exitCode;
/** What a shell reports for a program that Ctrl-C ended: 128 + SIGINT. */
const INTERRUPTED_EXIT_CODE = 130;

/**
 * The whole program: reads the arguments, runs one verb, prints what is wrong in words.
 * @returns the process's exit code; never rejects
 */
export async function run(args: readonly string[], terminal: Terminal): Promise<number> {
  const session = new Session(terminal);
  try {
    await buildProgram(session).parseAsync([...args], { from: 'user' });
    return terminal.signal.aborted && !session.endsOnStop ? INTERRUPTED_EXIT_CODE : session.exitCode;
  } catch (error) {
    if (terminal.signal.aborted) return INTERRUPTED_EXIT_CODE;
    if (error instanceof CommanderError) return error.exitCode === 0 ? 0 : USAGE_EXIT_CODE;
    const problem = classifyError(error);
    for (const line of errorLines(problem)) terminal.note(line);
    if (problem.code === 'internal' && terminal.env.TALLYBAY_DEBUG) terminal.note(String(problem.stack));
    return problem.problem.exitCode;
  }
}

function buildProgram(session: Session): Command {
  const { terminal } = session;
  const program = new Command('tallybay')
    .version(version, '--version', 'print the version')
    .description("A fleet's engine logs, from the recorder's card to the week's ranking.")
    .configureOutput({
      writeOut: (text) => terminal.out(text.replace(/\n$/, '')),
      writeErr: (text) => terminal.note(text.replace(/\n$/, '')),
      outputError: (text, write) => write(text.replace(/^error: /, 'tallybay: ')),
    })
    .exitOverride()
    .showHelpAfterError('Run with --help to see what is possible.');
  for (const register of VERBS) register(program, session);
  return program;
}

/** In the order of the help: from the card to the ranking, then what keeps the path clear. */
const VERBS = [
  registerInspect,
  registerDecode,
  registerUpload,
  registerWatch,
  registerUploads,
  registerRelease,
  registerRank,
  registerCodes,
  registerReadiness,
  registerQuery,
  registerLake,
  registerLakeSql,
  registerFleet,
  registerLag,
  registerDecodeAgain,
  registerDeadLetters,
  registerReplay,
  registerCheckLake,
];
