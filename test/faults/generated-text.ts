import { CHANNELS } from '@tallybay/synthetic-fleet';
import { type Fingerprint, TIME_MODULUS, thousandths } from './fingerprint.js';

/** The generator's names -> catalogue signals; `plain-iso` logs are in the catalogue's units. */
const SIGNAL_OF = new Map(CHANNELS.map((channel) => [channel.names.en, channel.key]));

/**
 * What a generated log amounts to, read off its text: one row a line, ISO 8601 time first, numbers between commas. Shares
 * nothing with the decoder, so that both cannot be wrong in the same way.
 */
export function fingerprintOfText(text: string): Fingerprint {
  const [header = '', ...lines] = text.trimEnd().split('\n');
  const signals = header
    .split(',')
    .slice(1)
    .map((name) => SIGNAL_OF.get(name.replace(/ \([^)]*\)$/, '')));
  const sums = new Float64Array(signals.length);
  const seen = signals.map(() => false);
  let timeSum = 0;
  for (const line of lines) {
    const [time = '', ...cells] = line.split(',');
    timeSum += Date.parse(time) % TIME_MODULUS;
    for (const [column, cell] of cells.entries()) {
      if (cell === '') continue;
      sums[column]! += thousandths(Number(cell));
      seen[column] = true;
    }
  }
  const known = signals.flatMap((signal, column) =>
    signal !== undefined && seen[column] ? [[signal, sums[column]!] as const] : [],
  );
  return { rows: lines.length, timeSum, sums: new Map(known) };
}
