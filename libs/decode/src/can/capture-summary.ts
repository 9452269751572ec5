import type { LogPlan, LogSummary, SignalStats } from '../log/types.js';
import { pidName } from '../obd/pid-table.js';
import { type CaptureOrigin, isCapturePlan } from './capture-plan.js';
import type { CaptureReport, CaptureSignalCount } from './capture-report.js';

/**
 * A capture's summary as a person expects it: `blank` is how often the planned sender said "not available" (a frame that
 * does not carry the signal is no blank cell), error and reserved raw values are `rejected`, and signals that nobody sent
 * are left out. Other figures are untouched; a summary of another format is returned as it is.
 */
export function withCaptureCounts(summary: LogSummary, report: CaptureReport, plan: LogPlan): LogSummary {
  if (!isCapturePlan(plan)) return summary;
  const counted = new Map(
    plan.channels.flatMap((channel, index) => {
      const origin = plan.capture.origins[index];
      const isColumn = channel.role === 'signal' && channel.signal !== null && origin !== undefined;
      return isColumn ? [[channel.signal, report.signals.filter((count) => feeds(count, origin))] as const] : [];
    }),
  );
  const change = (stats: SignalStats): SignalStats[] => {
    const counts = counted.get(stats.signal) ?? [];
    if (stats.valid === 0 && counts.length === 0) return [];
    const sum = (key: 'notAvailable' | 'error' | 'reserved'): number =>
      counts.reduce((total, count) => total + count[key], 0);
    const extra = Object.fromEntries(
      (['error', 'reserved'] as const).flatMap((key) => (sum(key) > 0 ? [[key, sum(key)]] : [])),
    );
    return [{ ...stats, blank: sum('notAvailable'), rejected: { ...stats.rejected, ...extra } }];
  };
  const segments = summary.segments.map((segment) => ({
    ...segment,
    stats: segment.stats.filter((stats) => stats.valid > 0),
  }));
  return { ...summary, signals: summary.signals.flatMap(change), segments };
}

function feeds(count: CaptureSignalCount, origin: CaptureOrigin): boolean {
  if (origin.kind === 'dbc' || (origin.bus !== null && origin.bus !== count.bus)) return false;
  if (origin.kind === 'spn') return count.parameter === `SPN ${origin.spn}` && count.source === origin.source;
  const isField = count.parameter === `PID ${pidName(origin.pid)} ${origin.field}`;
  return isField && (origin.module === null || origin.module === count.module);
}
