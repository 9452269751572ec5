import type { MonitorForecastReport, VehicleReadiness } from '@tallybay/contracts';
import { plural, valueText } from '../output/numbers.js';
import { tableLines, wrapLines } from '../output/table.js';
import { chanceText, OUTLOOK_WORDS, VERDICT_WORDS } from './readiness-words.js';

const TEXT_WIDTH = 110;
const SCALES = { warm_ups: 'warm-ups', kilometres: 'km', days: 'days' } as const;

/** One vehicle's readiness for a person: verdicts, hidden clear, open monitors with their chance, what to do. */
export function vehicleReadinessLines(readiness: VehicleReadiness): string[] {
  const { inspectionDue, dueInDays, hiddenClear, advice } = readiness;
  const due = inspectionDue === null ? 'no inspection date registered' : `inspection due ${inspectionDue}`;
  const days =
    dueInDays === null
      ? ''
      : dueInDays < 0
        ? `, ${plural(-dueInDays, 'day')} overdue`
        : `, in ${plural(dueInDays, 'day')}`;
  const newest = readiness.newestSnapshot ? `newest snapshot ${readiness.newestSnapshot.slice(0, 10)}` : 'never read';
  return [
    `${readiness.vehicle}: ${due}${days}; ${newest}${readiness.stale ? ', too old' : ''}`,
    '',
    ...tableLines(
      [{ title: 'programme' }, { title: 'at an inspection' }, { title: 'monitors ready by then' }, { title: 'why' }],
      readiness.verdicts.map(({ label, verdict, readyByDate, why }) => [
        ...[label, VERDICT_WORDS[verdict], readyByDate ? chanceText(readyByDate) : '', why.join(' ')],
      ]),
    ),
    ...(hiddenClear ? ['', ...wrapLines(hiddenClear.text, TEXT_WIDTH)] : []),
    ...forecastLines(readiness.forecast),
    ...(advice.length > 0
      ? ['', 'What to do', ...advice.flatMap((text) => wrapLines(`  - ${text}`, TEXT_WIDTH, '    '))]
      : []),
    '',
    ...wrapLines(readiness.caution, TEXT_WIDTH),
  ];
}

function forecastLines(forecast: VehicleReadiness['forecast']): string[] {
  if (!forecast || forecast.monitors.length === 0) return [];
  const { soFar, usualUntilThen, scale } = forecast;
  const use =
    soFar === null || usualUntilThen === null
      ? 'its use since the last clear is not known'
      : `${valueText(soFar, 0)} ${SCALES[scale]} since the last clear, ${valueText(usualUntilThen, 0)} more at its usual use`;
  return [
    '',
    `Not complete yet, until ${forecast.date} (${use})`,
    ...tableLines(
      [
        { title: 'monitor' },
        { title: 'by then' },
        { title: 'chance' },
        { title: 'likely from' },
        { title: 'runs in (common practice)' },
      ],
      forecast.monitors.map((row) => [
        row.label,
        outlookText(row),
        monitorChance(row),
        row.likelyOn ?? '',
        row.driving,
      ]),
    ),
    ...wrapLines(forecast.method, TEXT_WIDTH),
  ];
}

const outlookText = ({ outlook, overdue }: MonitorForecastReport): string =>
  `${OUTLOOK_WORDS[outlook]}${overdue ? ', open unusually long' : ''}`;

const monitorChance = ({ chance, low, high }: MonitorForecastReport): string =>
  chance === null ? '' : chanceText({ chance, low: low ?? 0, high: high ?? 1 });
