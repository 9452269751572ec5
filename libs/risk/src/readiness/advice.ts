import type { ReadinessForecast } from './forecast.js';
import type { HiddenClear } from './hidden-clear.js';
import { monitorNames, type ReadinessVerdict } from './verdict.js';

const MS_PER_DAY = 86_400_000;

/**
 * What to do next, in sentences: read again, repair, drive as usual. Never how to get past a test.
 * @param at `verdict` under the programme that counts here, null forecast where monitors were never read
 */
export function readinessAdvice(at: {
  verdict: ReadinessVerdict;
  forecast: ReadinessForecast | null;
  hidden: HiddenClear | null;
  asOfMs: number;
  staleDays: number;
}): string[] {
  const { verdict, forecast, hidden } = at;
  const advice: string[] = [];
  if (verdict.verdict === 'not_subject') return advice;
  if (verdict.snapshot === null) return ['Read the codes and monitors: nothing is known of this vehicle.'];
  const ageDays = Math.floor((at.asOfMs - verdict.snapshot.atMs) / MS_PER_DAY);
  if (ageDays > at.staleDays)
    advice.push(`The newest reading is ${ageDays} days old: read again before relying on what it says.`);
  if (verdict.verdict === 'would_fail')
    advice.push('Find and repair what set the codes. Clearing them takes away the evidence, not the cause.');
  if (hidden)
    advice.push(
      hidden.codes.length > 0
        ? `Find out whether what set ${hidden.codes.join(', ')} was repaired: an inspection sees that codes were cleared.`
        : 'Find out what was cleared and whether it was repaired: an inspection sees that codes were cleared.',
    );
  return [...advice, ...monitorAdvice(verdict, forecast)];
}

function monitorAdvice(verdict: ReadinessVerdict, forecast: ReadinessForecast | null): string[] {
  if (!forecast || forecast.monitors.length === 0) return [];
  const overdue = forecast.monitors.filter((monitor) => monitor.overdue).map(({ monitor }) => monitor);
  const others = verdict.incomplete.filter((monitor) => !overdue.includes(monitor));
  return [
    ...(overdue.length > 0
      ? [
          `${monitorNames(overdue)}: open for longer than in nearly all others of the class. A monitor that cannot run has a cause; have it looked at.`,
        ]
      : []),
    ...(others.length > 0 ? [recheckText(forecast)] : []),
  ];
}

/** The day by which every open monitor with a forecast is likely complete; without one just "some days". */
function recheckText(forecast: ReadinessForecast): string {
  const days = forecast.monitors.filter(({ overdue }) => !overdue).map(({ likelyAtMs }) => likelyAtMs);
  const known = days.filter((ms): ms is number => ms !== null);
  const when =
    known.length === days.length ? `on ${new Date(Math.max(...known)).toISOString().slice(0, 10)}` : 'in some days';
  return `Drive as usual and read the monitors again ${when}. Clearing codes or disconnecting the battery sets every monitor back.`;
}
