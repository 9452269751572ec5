import { READERS, type Reader } from './seed-codes.js';
import type { AllCodes, CodesSummary, ForecastFigures, HitFigures } from './summary.js';

/** Codes and readiness as text, for people. */
export const describeCodes = ({ read, driven }: AllCodes): string =>
  [
    'codes and readiness',
    ...READERS.flatMap((reader) => ['', ...section(reader, read[reader])]),
    '',
    'vehicles that only drive and are cleared often',
    ...forecastRows(driven),
    '',
  ].join('\n');

function section(reader: Reader, summary: CodesSummary): string[] {
  const { hits, verdicts, forecast } = summary;
  return [
    row(reader, ['found', 'missed', 'made up', 'prec.', 'recall']),
    hitRow('clears', hits.clears),
    hitRow('returns', hits.returns),
    hitRow('returns that a reading could show', hits.returnsThatCouldBeSeen),
    hitRow('hidden clears at the inspection', hits.hiddenClears),
    ...Object.entries(verdicts).map(([verdict, figures]) => hitRow(`federal verdict: ${verdict}`, figures)),
    `verdicts right at the week's end: ${summary.verdictsRight} of ${summary.verdictWeeks}; where nothing had happened since the reading: ${summary.freshRight} of ${summary.freshWeeks}`,
    ...forecastRows(forecast),
  ];
}

const forecastRows = ({ asked, given, brier, brierOfShare, bins }: ForecastFigures): string[] => [
  `forecasts of open monitors, one and two weeks ahead: ${given} of ${asked} given; Brier ${number(brier)} (${number(brierOfShare)} for the share alone)`,
  ...bins.map(
    ({ from, count, meanChance, cameTrue }) =>
      `  chance ${from.toFixed(1)} to ${(from + 0.2).toFixed(1)}: ${count}, mean ${number(meanChance)}, came true ${number(cameTrue)}`,
  ),
];

const hitRow = (name: string, { found, missed, madeUp, precision, recall }: HitFigures): string =>
  row(name, [String(found), String(missed), String(madeUp), number(precision), number(recall)]);

const row = (name: string, cells: readonly string[]): string =>
  name.padEnd(46) + cells.map((cell) => cell.padStart(8)).join('');

const number = (value: number | null): string => (value === null ? '-' : value.toFixed(2));
