import type { Component, RankedVehicle, Ranking } from '@tallybay/contracts';
import { plural, valueText } from '../output/numbers.js';
import { tableLines, wrapLines } from '../output/table.js';

const TEXT_WIDTH = 110;

export interface RankingView {
  /** Vehicles in the table; all when absent. */
  top?: number | undefined;
  /** Reasons a vehicle; all when absent. */
  reasons?: number | undefined;
}

/** A week's ranking for a person: the table, why each stands where it does, who could not be ranked, what changed. */
export function rankingLines(ranking: Ranking, view: RankingView = {}): string[] {
  const shown = ranking.ranked.slice(0, view.top ?? ranking.ranked.length);
  const left = ranking.ranked.length - shown.length;
  return [
    headline(ranking),
    '',
    ...(shown.length > 0 ? rankTable(shown) : ['No vehicle could be ranked in this week.']),
    ...(left > 0 ? [`… and ${left} more; --top shows another number of them.`] : []),
    ...section(
      'Why',
      shown.flatMap((vehicle) => whyLines(vehicle, view.reasons)),
    ),
    ...section(`Not ranked: ${plural(ranking.unranked.length, 'vehicle')}`, ranking.unranked.flatMap(unrankedLines)),
    ...section(
      'What changed since the revision before',
      ranking.changes.flatMap((text) => wrapLines(text, TEXT_WIDTH, '  ')),
    ),
    '',
    ...wrapLines(ranking.caution, TEXT_WIDTH),
  ];
}

function headline(ranking: Ranking): string {
  const state = ranking.provisional ? ', provisional: the week is not over' : '';
  const days = `${dayIn(ranking.from, ranking.timeZone)} to ${dayIn(ranking.to, ranking.timeZone, -1)}`;
  return `Week ${ranking.week}, ${days}, ${ranking.timeZone}; revision ${ranking.revision}, rules ${ranking.ruleVersion}${state}`;
}

/** The calendar day of an instant; `shiftMs` -1 makes an exclusive end the last day. */
function dayIn(instant: string, timeZone: string, shiftMs = 0): string {
  const ms = Date.parse(instant);
  if (Number.isNaN(ms)) return instant;
  return new Intl.DateTimeFormat('en-CA', { timeZone, dateStyle: 'short' }).format(ms + shiftMs);
}

const rankTable = (vehicles: readonly RankedVehicle[]): string[] =>
  tableLines(
    [
      { title: 'rank', align: 'right' },
      { title: 'was', align: 'right' },
      { title: 'vehicle' },
      { title: 'class' },
      { title: 'depot' },
      { title: 'score', align: 'right' },
      { title: 'change', align: 'right' },
      { title: 'heat', align: 'right' },
      { title: 'codes', align: 'right' },
      { title: 'readiness', align: 'right' },
      { title: 'engine h', align: 'right' },
      { title: 'data', align: 'right' },
    ],
    vehicles.map((vehicle) => [
      String(vehicle.rank),
      vehicle.change.rank === null ? 'new' : String(vehicle.rank + vehicle.change.rank),
      vehicle.vehicle,
      vehicle.vehicleClass,
      vehicle.depot,
      vehicle.score.toFixed(2),
      signed(vehicle.change.score),
      componentText(vehicle.heat),
      componentText(vehicle.codes),
      componentText(vehicle.readiness),
      vehicle.coverage.engineHours.toFixed(1),
      `${Math.round(100 * vehicle.coverage.share)} %`,
    ]),
  );

const STATE_WORDS: Record<Component['state'], string> = {
  ok: '',
  no_data: 'no data',
  bad_sensor: 'bad sensor',
  stale: 'too old',
  excluded: 'left out',
};

/** Missing is not healthy: a component without a score shows why. */
const componentText = (component: Component): string =>
  component.score === null ? STATE_WORDS[component.state] || 'no data' : component.score.toFixed(2);

function signed(change: number | null): string {
  if (change === null) return '';
  const text = valueText(change, 2);
  return change > 0 && text !== '0' ? `+${text}` : text.replace(/^-0$/, '0');
}

function whyLines(vehicle: RankedVehicle, limit: number | undefined): string[] {
  const notes = [vehicle.heat, vehicle.codes, vehicle.readiness].flatMap((component) =>
    component.score === null && component.note ? [component.note] : [],
  );
  const texts = [...vehicle.reasons.slice(0, limit).map((reason) => reason.text), ...notes];
  if (texts.length === 0) return [];
  return [
    `  ${vehicle.rank}. ${vehicle.vehicle}`,
    ...texts.flatMap((text) => wrapLines(`     - ${text}`, TEXT_WIDTH, '       ')),
  ];
}

const unrankedLines = (vehicle: Ranking['unranked'][number]): string[] =>
  wrapLines(`  ${vehicle.vehicle}: ${vehicle.causes.map((cause) => cause.text).join('; ')}`, TEXT_WIDTH, '      ');

const section = (title: string, lines: readonly string[]): string[] => (lines.length > 0 ? ['', title, ...lines] : []);
