import type { EvalSummary, ListFigures } from './measures/summary.js';

/** The figures as text, for people. */
export function describe(summary: EvalSummary): string {
  return [
    `${summary.vehicleWeeks} vehicle-weeks driven, ${summary.heat.positives} of them with an overheating fault grown to 0.3 or more`,
    '',
    row('list', ['AP', 'P@5', 'R@5', 'P@10', 'R@10']),
    list('heat', summary.heat),
    ...Object.entries(summary.plain).map(([name, figures]) => list(name, figures)),
    `ratio to the best plain list (${summary.bestPlain}): ${number(summary.ratioToBestPlain)}`,
    '',
    row('AP against other truths', ['heat', 'plain']),
    ...Object.entries(summary.otherPositives).map(([name, { heat, bestPlain }]) =>
      row(name, [number(heat), number(bestPlain)]),
    ),
    '',
    row('kind of fault', ['faults', 'called', 'days', 'weeks', 'called', 'AP']),
    ...summary.kinds.map((kind) =>
      row(kind.kind, [
        ...[String(kind.faults), String(kind.called), number(kind.medianWarningDays, 1)],
        ...[String(kind.grownWeeks), String(kind.calledWeeks), number(kind.averagePrecision)],
      ]),
    ),
    '',
    `median warning of growing cooling faults: ${number(summary.coolingMedianWarningDays, 1)} days`,
    `false alarms: ${summary.falseAlarms} in ${summary.healthyWeeks} healthy vehicle-weeks, ${number(summary.falseAlarmsPer100)} per 100`,
    `bad sensors called hot: ${summary.sensorFaultsAsHeat} in ${summary.sensorWeeks} vehicle-weeks`,
    ...named(
      'never called',
      summary.missed.map(
        (fault) =>
          `seed ${fault.seed} ${fault.vehicle} ${fault.kind}, best ${number(fault.bestHeat, 3)} in ${fault.engineHours.toFixed(1)} h`,
      ),
    ),
    ...named('false alarms', summary.falseAlarmRows.map(sentence)),
    ...named('bad sensors called hot', summary.sensorRows.map(sentence)),
    '',
  ].join('\n');
}

const sentence = ({ seed, week, vehicle, heat, said }: EvalSummary['falseAlarmRows'][number]): string =>
  `seed ${seed} ${week} ${vehicle} ${number(heat, 3)} ${said}`;

const named = (title: string, lines: readonly string[]): string[] =>
  lines.length > 0 ? ['', `${title}:`, ...lines.map((line) => `  ${line}`)] : [];

const list = (name: string, figures: ListFigures): string =>
  row(
    name,
    [figures.averagePrecision, figures.precisionAt5, figures.recallAt5, figures.precisionAt10, figures.recallAt10].map(
      (value) => number(value),
    ),
  );

const row = (name: string, cells: readonly string[]): string =>
  name.padEnd(46) + cells.map((cell) => cell.padStart(8)).join('');

const number = (value: number | null, digits = 2): string => (value === null ? '-' : value.toFixed(digits));
