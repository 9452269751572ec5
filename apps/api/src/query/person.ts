import type { IncomingHttpHeaders } from 'node:http';
import { TallybayError } from '@tallybay/contracts';

export const PERSON_HEADER = 'x-tallybay-person';

/**
 * Who asks, by the name in `x-tallybay-person`: limits, questions and the log go by it. It is a name, not a proof: whoever
 * must be kept apart needs a proxy in front that sets it. Without one, everybody at an address is one person.
 * @throws TallybayError `parameter_invalid` for a name that is no short plain text
 */
export function personOf(
  headers: IncomingHttpHeaders | Record<string, string | string[] | undefined>,
  address: string,
): string {
  const given = headers[PERSON_HEADER];
  if (given === undefined || given === '') return `someone at ${address}`;
  const name = decoded(Array.isArray(given) ? given.join(', ') : given).trim();
  if (/^[\p{L}\p{N}][\p{L}\p{N} .@_'-]{0,79}$/u.test(name)) return name;
  throw new TallybayError('parameter_invalid', `${PERSON_HEADER}: ${JSON.stringify(name.slice(0, 80))} is no name`, {
    advice: 'Send up to 80 letters, digits, spaces and . @ _ - (percent-encoded where they are not ASCII).',
    place: { field: PERSON_HEADER },
  });
}

function decoded(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}
