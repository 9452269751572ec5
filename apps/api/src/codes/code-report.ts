import type {
  ClearPatternReport,
  CodeReturnReport,
  CodeTimelineReport,
  ReturnsIn,
  VehicleCodes,
} from '@tallybay/contracts';
import {
  byTime,
  type ClearPattern,
  CODE_PATTERN_RULE,
  type CodeReturn,
  type CodeTimeline,
  clearPatterns,
  codeTimelines,
  findClears,
  type RepairFact,
  type RuleSet,
  repairBefore,
  type SnapshotFact,
  severityOf,
} from '@tallybay/risk';

const MS_PER_DAY = 86_400_000;
const SPAN_STATES = { confirmed: 'active', pending: 'pending', permanent: 'permanent' } as const;

export const isoOf = (ms: number): string => new Date(ms).toISOString();

interface Known {
  rules: RuleSet;
  nowMs: number;
  repairs: readonly RepairFact[];
}

/** What a vehicle's snapshots say of its codes, as the answer has it. */
export function vehicleCodesFrom(
  vehicle: { id: string; inspectionDue?: string | undefined },
  snapshots: readonly SnapshotFact[],
  { rules, nowMs, repairs }: Known,
): VehicleCodes {
  const ordered = byTime(snapshots);
  const timelines = codeTimelines(ordered, rules.codes);
  const lastRead = (status: 'confirmed' | 'pending' | 'permanent') => {
    const newest = ordered.findLast(({ read }) => read[status]);
    return newest ? isoOf(newest.atMs) : null;
  };
  return {
    ...{ vehicle: vehicle.id, asOf: isoOf(nowMs), snapshots: ordered.length },
    firstSnapshot: ordered[0] ? isoOf(ordered[0].atMs) : null,
    newestSnapshot: ordered.length > 0 ? isoOf(ordered.at(-1)!.atMs) : null,
    lastRead: { confirmed: lastRead('confirmed'), pending: lastRead('pending'), permanent: lastRead('permanent') },
    codes: timelines.map((timeline) => timelineFrom(timeline, { rules, nowMs, repairs })),
    clears: findClears(ordered, rules.codes).map((clear) => {
      const taken = timelines.flatMap((timeline) =>
        timeline.clears
          .filter((item) => item.clear.beforeMs === clear.beforeMs)
          .map(({ backMs }) => ({ code: timeline.code, back: backMs !== null })),
      );
      return {
        ...{ at: isoOf(clear.beforeMs), since: isoOf(clear.afterMs), by: 'counter' as const, why: clear.why },
        codes: distinct(taken.map(({ code }) => code)),
        cameBack: distinct(taken.filter(({ back }) => back).map(({ code }) => code)),
      };
    }),
    patterns: clearPatterns(timelines, vehicle.inspectionDue ?? null, CODE_PATTERN_RULE).map(patternFrom),
  };
}

function timelineFrom(timeline: CodeTimeline, { rules, nowMs, repairs }: Known): CodeTimelineReport {
  const { code, module, standing } = timeline;
  const spans = timeline.histories.flatMap(({ status, spans }) => spans.map((span) => ({ ...span, status })));
  return {
    ...{ code, module, ...severityOf(rules.severities, code), status: standing },
    ...{ firstSeen: isoOf(timeline.firstSeenMs), lastSeen: isoOf(timeline.lastSeenMs) },
    lastRead: isoOf(timeline.lastReadMs),
    spans: spans
      .sort((a, b) => a.fromMs - b.fromMs || (a.status < b.status ? -1 : 1))
      .map(({ fromMs, lastMs, endedMs, endedBy, status }) => ({
        ...{ start: isoOf(fromMs), end: endedMs === null ? null : isoOf(endedMs), last: isoOf(lastMs) },
        ...{ state: SPAN_STATES[status], endedBy },
      })),
    returns: timeline.returns.map((back) => returnFrom(back, timeline, repairs)),
    returnsIn: returnsIn(timeline.returns, nowMs),
  };
}

/** A return as the answer has it; whether it came after a repair is judged as in the reasons of a ranking. */
export function returnFrom(
  { atMs, after, days, distanceKm, warmUps }: CodeReturn,
  { firstSeenMs }: { firstSeenMs: number },
  repairs: readonly RepairFact[],
): CodeReturnReport {
  const repair = repairBefore(repairs, { firstSeenMs, returnedMs: atMs });
  return {
    ...{ at: isoOf(atMs), after, days, km: distanceKm, warmUps },
    repair: repair && { at: isoOf(repair.atMs), label: repair.label },
  };
}

export function patternFrom({ atMs, ...pattern }: ClearPattern): ClearPatternReport {
  return { ...pattern, at: atMs.map(isoOf) };
}

/** Returns in the last 30, 90 and 365 days before `nowMs`. */
export function returnsIn(returns: readonly CodeReturn[], nowMs: number): ReturnsIn {
  const within = (days: number) =>
    returns.filter(({ atMs }) => atMs <= nowMs && atMs > nowMs - days * MS_PER_DAY).length;
  return { d30: within(30), d90: within(90), d365: within(365) };
}

export const distinct = (values: readonly string[]): string[] => [...new Set(values)].sort();
