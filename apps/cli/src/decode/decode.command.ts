import { PROBLEMS, TallybayError } from '@tallybay/contracts';
import {
  bytesFromHex,
  DECODE_PROBLEMS,
  type DecodeProblem,
  type DiagnosticTransport,
  decodeFaultList,
} from '@tallybay/decode';
import { type Command, Option } from 'commander';
import { problemLines } from '../output/problem-text.js';
import type { Session } from '../session.js';
import { faultListLines } from './dm-lines.js';
import { responseLines } from './response-lines.js';
import { decodeTyped, responseByte, SERVICES, type ServiceId, serviceId } from './service-input.js';

interface DecodeOptions {
  dm1?: string;
  service?: string;
  transport?: DiagnosticTransport;
  json?: boolean;
}

export function registerDecode(program: Command, session: Session): void {
  program
    .command('decode')
    .summary('read diagnostic bytes')
    .description('Read diagnostic responses given as hex: trouble codes, parameters, monitors, VIN.')
    .argument('[hex...]', 'responses or frames, with or without blanks and CAN ids')
    .option('--service <id>', `service that was asked: ${SERVICES.join(', ')}`)
    .addOption(new Option('--transport <kind>', 'where codes read differently by it').choices(['can', 'legacy']))
    .option('--dm1 <hex>', 'read a J1939 active-fault message (DM1) instead: lamps, then four bytes a fault')
    .option('--json', 'print what was read as JSON')
    .action((hex: string[], options: DecodeOptions) =>
      options.dm1 === undefined
        ? decodeService(hex, options, session)
        : decodeDm1([options.dm1, ...hex], options, session),
    );
}

function decodeService(hex: readonly string[], options: DecodeOptions, session: Session): void {
  const { terminal } = session;
  const service = serviceId(options.service ?? '');
  if (!service)
    throw new TallybayError('parameter_invalid', `"${options.service ?? ''}" is no service that is read here`, {
      advice: `Say which service was asked, --service with one of ${SERVICES.join(', ')}; or give --dm1.`,
      place: { field: '--service' },
    });
  if (hex.length === 0)
    throw new TallybayError('parameter_invalid', 'there are no bytes to read', {
      advice: 'Give the response as hex, for instance: tallybay decode 43 01 02 17 --service 03 --transport can',
    });
  const { responses, problems } = decodeTyped(hex, service, options.transport ?? null);
  if (options.json) terminal.out(JSON.stringify({ responses, problems }, null, 2));
  else for (const response of responses) for (const line of responseLines(response)) terminal.out(line);
  noteProblems(problems, session);
  if (responses.length === 0 && problems.length === 0) noteProblems([nothingOf(service)], session);
}

const nothingOf = (service: ServiceId): DecodeProblem => ({
  code: 'response_absent',
  detail: `these bytes hold no response of service ${service}`,
  advice: `Such a response starts with ${responseByte(service)}; check --service.`,
});

function decodeDm1(words: readonly string[], options: DecodeOptions, session: Session): void {
  const { terminal } = session;
  const bytes = bytesFromHex(words.join(' '));
  const list = bytes.ok ? decodeFaultList(bytes.value) : bytes;
  if (!list.ok) noteProblems([list.problem], session);
  else if (options.json) terminal.out(JSON.stringify(list.value, null, 2));
  else for (const line of faultListLines(list.value)) terminal.out(line);
}

/** Problems go beside what was read; they decide how the program ends. */
export function noteProblems(problems: readonly DecodeProblem[], session: Session): void {
  for (const { code, detail, advice } of problems) {
    const document = {
      type: `urn:tallybay:problem:${code}`,
      title: DECODE_PROBLEMS[code],
      status: 422,
      detail,
      code,
      advice,
    };
    for (const line of problemLines(document)) session.terminal.note(line);
    session.worsen(PROBLEMS.body_not_text.exitCode);
  }
}
