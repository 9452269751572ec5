import type { CodeReturnReport, CodeTimelineReport, VehicleCodes } from '@tallybay/contracts';
import { plural, valueText } from '../output/numbers.js';
import { wrapLines } from '../output/table.js';

const TEXT_WIDTH = 110;

/** One vehicle's codes over time for a person. Never read is said as such: it is not "no codes". */
export function vehicleCodeLines(codes: VehicleCodes): string[] {
  if (codes.newestSnapshot === null)
    return [`${codes.vehicle}: no snapshot has arrived, so nothing is known of its codes.`];
  const { confirmed, pending, permanent } = codes.lastRead;
  const read = Object.entries({ confirmed, pending, permanent })
    .map(([status, at]) => `${status} ${at === null ? 'never' : dayOf(at)}`)
    .join(', ');
  return [
    `${codes.vehicle}: ${plural(codes.snapshots, 'snapshot')}; last read: ${read} (days in UTC)`,
    ...(codes.codes.length === 0 ? ['', 'No codes in what was read.'] : codes.codes.flatMap(timelineLines)),
    ...section('Clears', codes.clears.flatMap(clearLines)),
    ...section(
      'Cleared without repair',
      codes.patterns.flatMap(({ text }) => wrapLines(`  ${text}`, TEXT_WIDTH, '    ')),
    ),
  ];
}

function timelineLines(line: CodeTimelineReport): string[] {
  const where = line.module ? ` in ${line.module}` : '';
  const { d30, d90, d365 } = line.returnsIn;
  return [
    '',
    ...wrapLines(`${line.code}${where}: ${line.status}. ${line.text}.`, TEXT_WIDTH, '  '),
    ...line.spans.map(
      ({ state, start, end, last, endedBy }) =>
        `  ${state.padEnd(9)}  ${daysOf(start, last)}${end === null ? ', still there' : `, ${endedBy} by ${dayOf(end)}`}`,
    ),
    ...line.returns.map((item) => `  came back  ${returnText(item)}`),
    ...(line.returns.length > 0 ? [`  returns    ${d30} in 30 days, ${d90} in 90, ${d365} in 365`] : []),
  ];
}

function returnText({ at, after, days, km, warmUps }: CodeReturnReport): string {
  const use = [
    `${plural(Math.round(days), 'day')}`,
    ...(km === null ? [] : [`${valueText(km, 0)} km`]),
    ...(warmUps === null ? [] : [`${plural(warmUps, 'warm-up')} after the clear`]),
  ];
  return `${dayOf(at)} after it was ${after}: ${use.join(', ')}`;
}

const clearLines = ({ since, at, why, codes, cameBack }: VehicleCodes['clears'][number]): string[] =>
  wrapLines(
    `  ${betweenText(since, at)} (${why}): ${codes.length > 0 ? `took ${codes.join(', ')}` : 'no code was seen before it'}${cameBack.length > 0 ? `; back: ${cameBack.join(', ')}` : ''}`,
    TEXT_WIDTH,
    '    ',
  );

const dayOf = (instant: string): string => instant.slice(0, 10);

const daysOf = (from: string, to: string): string =>
  dayOf(from) === dayOf(to) ? dayOf(from) : `${dayOf(from)} to ${dayOf(to)}`;

const betweenText = (from: string, to: string): string =>
  dayOf(from) === dayOf(to) ? `on ${dayOf(to)}` : `between ${dayOf(from)} and ${dayOf(to)}`;

const section = (title: string, lines: readonly string[]): string[] => (lines.length > 0 ? ['', title, ...lines] : []);
