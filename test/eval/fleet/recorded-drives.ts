import type { LogPlan, LogSummary, SignalStats } from '@tallybay/decode';
import { heldValue, type SignalFact, WARNING_RULE } from '@tallybay/risk';
import type { RecordedDrive } from './eval-vehicle.js';

/** The drives of one decoded log, in the shape in which the lake gives them to the ranking. */
export function recordedDrives(uploadId: string, summary: LogSummary): RecordedDrive[] {
  return summary.segments
    .filter(({ drive }) => drive !== null)
    .map((segment): RecordedDrive => {
      const driveId = `${uploadId}-d${segment.drive}`;
      const { startMs, endMs, seconds, distanceKm } = segment;
      return {
        drive: { driveId, uploadId, startedMs: startMs, endedMs: endMs, seconds, distanceKm },
        dwell: summary.dwell
          .filter((row) => row.segment === segment.segment)
          .map(({ segment: _, drive: __, ...row }) => ({ driveId, ...row })),
        signals: segment.stats.map((stats) => {
          const bins = summary.dwell.filter((row) => row.segment === segment.segment && row.signal === stats.signal);
          const held = heldValue(bins, WARNING_RULE.heldSeconds);
          return { ...signalFact(driveId, stats), ...(held === null ? {} : { held }) };
        }),
      };
    });
}

function signalFact(driveId: string, stats: SignalStats): SignalFact {
  const { signal, header, sourceUnit, valid, min, max, first, last, mean, seconds, rejected, stuckSeconds } = stats;
  return {
    ...{ driveId, signal, channel: header, sourceUnit, valid, min, max, first, last, mean, seconds, stuckSeconds },
    ...{ outOfRange: rejected.out_of_range ?? 0, unreadable: rejected.unreadable ?? 0, jump: rejected.jump ?? 0 },
  };
}

/** A plan for columns that need no reading: values arrive in the catalogue's units with their instants. */
export const planOf = (signals: LogPlan['signals'], sourceUnit: string): LogPlan => ({
  ...{ version: 1, format: 'csv', dialect: null, signals, preamble: [], vin: null, recorder: null, decisions: [] },
  channels: signals.map((signal) => ({
    ...{ header: signal, sourceUnit, role: 'signal', signal, scale: 1, offset: 0, confidence: 1, why: 'given' },
  })),
  time: { kind: 'absolute', columns: [], format: 'epoch-ms', timeZone: null, startDate: null, startMs: null },
});
