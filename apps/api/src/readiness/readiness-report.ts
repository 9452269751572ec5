import type { HiddenClearReport, ReadinessForecastReport, Vehicle, VehicleReadiness } from '@tallybay/contracts';
import {
  byTime,
  type CompletionHistory,
  chanceToBeReady,
  completionHistory,
  FORECAST_RULE,
  forecastReadiness,
  type HiddenClear,
  hiddenClear,
  monitorLabel,
  type ReadinessForecast,
  type RuleSet,
  readinessAdvice,
  readinessVerdict,
  type SnapshotFact,
} from '@tallybay/risk';

const MS_PER_DAY = 86_400_000;

export const READINESS_CAUTION =
  'These verdicts compare the newest snapshots with published rules. The local inspection programme decides, not this list.';

export const FORECAST_METHOD =
  "Conditional Kaplan-Meier estimate of how monitors completed after earlier clears, of this vehicle and of others of its class (these together count as at most 10 of its own), carried to the date at the vehicle's usual use; interval: the middle 90 % of a Beta with Jeffreys' prior whose trials are the clears that got as far. Completion is dated to the snapshot that first showed it, so the forecast errs toward later. It does not cover how use may change.";

export interface ReadinessAsk {
  rules: RuleSet;
  nowMs: number;
  /** Zone of the vehicle's depot: due dates are days there. */
  timeZone: string;
  /** The vehicle's class without it. */
  others: CompletionHistory;
}

/** What a vehicle's newest readings say of its next inspection, as the answer has it. */
export function vehicleReadinessFrom(
  vehicle: Vehicle,
  snapshots: readonly SnapshotFact[],
  ask: ReadinessAsk,
): VehicleReadiness {
  const { rules, nowMs } = ask;
  const ordered = byTime(snapshots);
  const forecast = forecastFor(vehicle, ordered, ask);
  const verdicts = rules.programmes.map((programme) => ({
    programme,
    verdict: readinessVerdict(programme, vehicle, ordered),
  }));
  const main = verdicts.find(({ programme }) => programme.id === rules.readiness.programme) ?? verdicts[0];
  const hidden = main ? hiddenClear(ordered, { verdict: main.verdict, asOfMs: nowMs }, rules) : null;
  const newestRead = ordered.findLast(({ read }) => read.monitors);
  const { staleDays } = rules.readiness;
  return {
    ...{ vehicle: vehicle.id, inspectionDue: vehicle.inspectionDue ?? null, dueInDays: dueInDays(vehicle, ask) },
    newestSnapshot: ordered.length > 0 ? isoOf(ordered.at(-1)!.atMs) : null,
    stale: newestRead !== undefined && nowMs - newestRead.atMs > staleDays * MS_PER_DAY,
    monitors: (newestRead?.monitors ?? []).map(({ id, supported, complete }) => ({
      ...{ monitor: id, label: monitorLabel(id), supported, complete },
    })),
    verdicts: verdicts.map(({ programme, verdict }) => ({
      ...{ programme: programme.id, label: programme.label, verdict: verdict.verdict },
      ...{ blocking: verdict.blocking, incomplete: verdict.incomplete, why: verdict.why },
      snapshot: verdict.snapshot && { upload: verdict.snapshot.uploadId, at: isoOf(verdict.snapshot.atMs) },
      readyByDate: forecast && chanceToBeReady(programme, vehicle, ordered, forecast),
    })),
    hiddenClear: hidden && hiddenClearFrom(hidden),
    forecast: forecast && forecastFrom(forecast, dateOf(vehicle, ask)),
    advice: main ? readinessAdvice({ verdict: main.verdict, forecast, hidden, asOfMs: nowMs, staleDays }) : [],
    caution: READINESS_CAUTION,
  };
}

function forecastFor(vehicle: Vehicle, ordered: SnapshotFact[], ask: ReadinessAsk): ReadinessForecast | null {
  const rules = { codes: ask.rules.codes, forecast: FORECAST_RULE };
  const history = { own: completionHistory(ordered, rules), others: ask.others };
  return forecastReadiness(ordered, history, Date.parse(`${dateOf(vehicle, ask).date}T00:00:00Z`), rules);
}

type ForecastDate = Pick<ReadinessForecastReport, 'date' | 'days' | 'dateFrom'>;

function dateOf(vehicle: Vehicle, ask: ReadinessAsk): ForecastDate {
  const days = dueInDays(vehicle, ask);
  if (vehicle.inspectionDue !== undefined && days !== null && days >= 0)
    return { date: vehicle.inspectionDue, days, dateFrom: 'inspection_due' };
  const ahead = FORECAST_RULE.daysWithoutDate;
  return { date: isoOf(ask.nowMs + ahead * MS_PER_DAY).slice(0, 10), days: ahead, dateFrom: 'next_two_weeks' };
}

/** Calendar days in the depot's zone: what is due today is due in 0 days until midnight there. */
function dueInDays({ inspectionDue }: Vehicle, { nowMs, timeZone }: ReadinessAsk): number | null {
  if (inspectionDue === undefined) return null;
  const today = new Intl.DateTimeFormat('en-CA', { timeZone }).format(nowMs);
  return Math.round((Date.parse(inspectionDue) - Date.parse(today)) / MS_PER_DAY);
}

function forecastFrom(forecast: ReadinessForecast, date: ForecastDate): ReadinessForecastReport {
  const { scale, soFar, usualPerDay, usualUntilThen } = forecast;
  return {
    ...{ ...date, scale, soFar, usualPerDay, usualUntilThen },
    monitors: forecast.monitors.map(({ monitor, outlook, chance, likelyAtMs, ...rest }) => ({
      ...{ monitor, label: monitorLabel(monitor), outlook },
      ...{ chance: chance?.chance ?? null, low: chance?.low ?? null, high: chance?.high ?? null },
      likelyOn: likelyAtMs === null ? null : isoOf(likelyAtMs).slice(0, 10),
      ...{ overdue: rest.overdue, ownClears: rest.ownClears, classClears: rest.classClears, driving: rest.driving },
    })),
    method: FORECAST_METHOD,
  };
}

const hiddenClearFrom = ({ text, uploadId, atMs, sinceMs, codes }: HiddenClear): HiddenClearReport => ({
  ...{ text, upload: uploadId, at: isoOf(atMs), since: sinceMs === null ? null : isoOf(sinceMs), codes },
});

const isoOf = (ms: number): string => new Date(ms).toISOString();
