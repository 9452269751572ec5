import { QUERY_FORMATS, type QueryFormat, TallybayError } from '@tallybay/contracts';

const BY_TYPE = new Map<string, QueryFormat>([
  ...Object.entries(QUERY_FORMATS).map(([format, type]): [string, QueryFormat] => [type, format as QueryFormat]),
  ['*/*', 'json'],
  ['application/*', 'json'],
  ['text/*', 'csv'],
]);

/**
 * The format that `Accept` likes best of those there are (RFC 9110, section 12.5.1; order decides among equal weights).
 * @throws TallybayError `format_unsupported`
 */
export function formatOf(accept: string | undefined, asked: QueryFormat | undefined): QueryFormat {
  if (asked) return asked;
  const wanted = (accept ?? '*/*')
    .split(',')
    .map((part) =>
      part
        .trim()
        .toLowerCase()
        .split(/\s*;\s*/),
    )
    .map(([type, ...rest]) => ({ type: type!, weight: weightOf(rest) }))
    .filter(({ weight }) => weight > 0)
    .sort((a, b) => b.weight - a.weight);
  for (const { type } of wanted) {
    const format = BY_TYPE.get(type);
    if (format) return format;
  }
  throw new TallybayError('format_unsupported', `Nothing of "${accept}" can be answered`, {
    advice: `Accept one of ${Object.values(QUERY_FORMATS).join(', ')}.`,
    place: { field: 'Accept' },
  });
}

function weightOf(parameters: readonly string[]): number {
  const weight = parameters.find((parameter) => parameter.startsWith('q='));
  return weight === undefined ? 1 : Number(weight.slice(2)) || 0;
}
