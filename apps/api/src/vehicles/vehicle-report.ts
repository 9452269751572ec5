import type { VehicleCodes, VehicleHeatReport, VehicleReadiness } from '@tallybay/contracts';
import type { CodeHistory, ReadinessVerdict, VehicleFacts, VehicleHeat } from '@tallybay/risk';

export const isoOf = (ms: number): string => new Date(ms).toISOString();

/** The answers' shapes from libs/risk's: instants as RFC 3339, internals left out. */
export function heatWeekFrom(week: string, facts: VehicleFacts, heat: VehicleHeat): VehicleHeatReport['weeks'][number] {
  return {
    week,
    engineHours: heat.engineHours,
    distanceKm: heat.distanceKm,
    drives: facts.drives.length,
    signals: heat.signals.map(({ signal, label, state, finding, engineHours, maxC, stages }) => ({
      ...{ signal, label, state, engineHours, maxC },
      finding: finding?.text ?? null,
      stages: stages.map(({ stage, valueC, written, seconds, degreeMinutes, exact }) => ({
        ...{ stage, valueC, written, seconds, degreeMinutes, exact },
      })),
    })),
  };
}

export function codeHistoryFrom(history: CodeHistory): VehicleCodes['codes'][number] {
  const { code, module, status, active } = history;
  return {
    ...{ code, module, status, active },
    firstSeen: isoOf(history.firstSeenMs),
    lastSeen: isoOf(history.lastSeenMs),
    spans: history.spans.map((span) => ({
      from: isoOf(span.fromMs),
      last: isoOf(span.lastMs),
      ended: span.endedMs === null ? null : isoOf(span.endedMs),
      endedBy: span.endedBy,
    })),
    returns: history.returns.map(({ atMs, after, days, distanceKm, warmUps }) => ({
      ...{ at: isoOf(atMs), after, days, distanceKm, warmUps },
    })),
  };
}

export function verdictFrom(verdict: ReadinessVerdict): VehicleReadiness['verdicts'][number] {
  const { programme, blocking, incomplete, why, snapshot } = verdict;
  return {
    ...{ programme, verdict: verdict.verdict, blocking, incomplete, why },
    snapshot: snapshot && { upload: snapshot.uploadId, at: isoOf(snapshot.atMs) },
  };
}
