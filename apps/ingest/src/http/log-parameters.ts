import type { IncomingHttpHeaders } from 'node:http';
import { type LogParameters, logParametersSchema, mustKnow, parseContract, TallybayError } from '@tallybay/contracts';

/** Parameter -> the header that may carry it instead of the query. */
const HEADERS: Record<keyof LogParameters, string> = {
  vehicle: 'x-tallybay-vehicle',
  recorder: 'x-tallybay-recorder',
  recordedAt: 'x-tallybay-recorded-at',
  timeZone: 'x-tallybay-time-zone',
  fileName: 'x-tallybay-file-name',
};

/** The query wins over a header. @throws TallybayError `parameter_invalid` naming the parameter */
export function logParameters(query: Record<string, unknown>, headers: IncomingHttpHeaders): LogParameters {
  mustKnow(Object.keys(HEADERS), query);
  const values: Record<string, unknown> = {};
  for (const [name, header] of Object.entries(HEADERS)) {
    const value = query[name] ?? headers[header] ?? (name === 'fileName' ? dispositionName(headers) : undefined);
    if (value !== undefined && value !== '') values[name] = Array.isArray(value) ? value[0] : value;
  }
  const parameters = parseContract(logParametersSchema, values, 'parameter_invalid');
  if (parameters.timeZone) mustBeZone(parameters.timeZone);
  return parameters;
}

/** `Content-Disposition: attachment; filename="…"` (RFC 6266), quoted or bare. */
function dispositionName(headers: IncomingHttpHeaders): string | undefined {
  const match = /filename="?([^";]+)"?/i.exec(headers['content-disposition'] ?? '');
  return match?.[1];
}

/** @throws TallybayError `parameter_invalid` unless it is a zone of the IANA time zone database */
export function mustBeZone(timeZone: string): void {
  try {
    new Intl.DateTimeFormat('en', { timeZone });
  } catch (cause) {
    throw new TallybayError('parameter_invalid', `timeZone: "${timeZone}" is no IANA time zone`, {
      advice: 'Give a name such as America/Denver or UTC.',
      place: { field: 'timeZone' },
      cause,
    });
  }
}
