import { type LogParameters, logParametersSchema, TallybayError } from '@tallybay/contracts';
import type { Command } from 'commander';

export interface LogOptions {
  vehicle?: string;
  recorder?: string;
  timeZone?: string;
  recordedAt?: string;
}

/** What the sender knows about the logs; all of it optional, none of it guessed. */
export const addLogOptions = (command: Command): Command =>
  command
    .option('--vehicle <id>', 'vehicle that the files are from')
    .option('--recorder <serial>', 'recorder that wrote them')
    .option('--time-zone <zone>', "zone of the recorder's clock, such as Europe/Berlin")
    .option('--recorded-at <time>', 'instant of the first row, with offset: 2026-10-05T07:12:00+02:00');

/** @throws TallybayError `parameter_invalid` naming the option */
export function logParameters(options: LogOptions): LogParameters {
  const { vehicle, recorder, timeZone, recordedAt } = options;
  const parsed = logParametersSchema.safeParse({ vehicle, recorder, timeZone, recordedAt });
  if (!parsed.success) {
    const issue = parsed.error.issues[0];
    const name = String(issue?.path[0] ?? '');
    throw new TallybayError(
      'parameter_invalid',
      `${OPTION_NAMES[name]} "${options[name as keyof LogOptions]}" cannot be read`,
      {
        advice: name === 'recordedAt' ? 'Write it as 2026-10-05T07:12:00+02:00.' : (issue?.message ?? ''),
        place: { field: OPTION_NAMES[name] ?? name },
      },
    );
  }
  if (timeZone && !isTimeZone(timeZone))
    throw new TallybayError('parameter_invalid', `--time-zone "${timeZone}" is not a known zone`, {
      advice: 'Use a name of the IANA time zone database, such as Europe/Berlin or America/Denver.',
      place: { field: '--time-zone' },
    });
  return parsed.data;
}

const OPTION_NAMES: Record<string, string> = {
  vehicle: '--vehicle',
  recorder: '--recorder',
  timeZone: '--time-zone',
  recordedAt: '--recorded-at',
};

export function isTimeZone(zone: string): boolean {
  try {
    new Intl.DateTimeFormat('en', { timeZone: zone });
    return true;
  } catch {
    return false;
  }
}
