import type { VehicleQuality, VehicleWeeks } from '@tallybay/contracts';
import type { VehicleQualityRows, VehicleWeekRows } from '@tallybay/lake';
import { exposureAtOrAbove, type HeatSignal, type StageRow } from '@tallybay/risk';
import { nameOf } from '../recordings/recording-report.js';
import { isoOf } from './vehicle-report.js';

type SignalWeeks = Pick<VehicleWeeks['signals'][number], 'stages' | 'weeks' | 'bins'>;

/** One signal's weeks in the order of `names`; null when it was not recorded in any of them. */
export function signalWeeks(
  rows: VehicleWeekRows,
  ask: { signal: HeatSignal; stages: readonly StageRow[]; names: readonly string[] },
): SignalWeeks | null {
  const { signal, stages, names } = ask;
  const dwell = rows.dwell.filter((row) => row.signal === signal);
  if (dwell.length === 0) return null;
  const peaks = new Map(rows.peaks.filter((row) => row.signal === signal).map((row) => [row.week, row]));
  const byWeek = Map.groupBy(dwell, ({ week }) => week);
  return {
    stages: stages.map(({ stage, valueC, written }) => ({ stage, value: valueC, written })),
    weeks: names.map((week) => {
      const bins = byWeek.get(week) ?? [];
      const seconds = sum(bins.map((bin) => bin.seconds));
      const peak = peaks.get(week);
      const facts = bins.map(({ value_seconds, ...bin }) => ({
        ...bin,
        ...{ driveId: week, signal, valueSeconds: value_seconds },
      }));
      return {
        seconds,
        mean: seconds > 0 ? sum(bins.map((bin) => bin.value_seconds)) / seconds : null,
        max: peak?.max ?? null,
        maxAt: peak && peak.max_at !== null ? isoOf(peak.max_at) : null,
        maxUpload: peak?.max_upload ?? null,
        atOrAbove: stages.map(({ valueC }) => exposureAtOrAbove(facts, valueC).seconds),
      };
    }),
    bins: binsOf(dwell, names),
  };
}

function binsOf(dwell: VehicleWeekRows['dwell'], names: readonly string[]): SignalWeeks['bins'] {
  const bins = [...Map.groupBy(dwell, ({ low }) => low).entries()].sort(([a], [b]) => a - b);
  return bins.map(([low, rows]) => ({
    ...{ low, high: rows[0]!.high },
    seconds: names.map((week) => sum(rows.filter((row) => row.week === week).map(({ seconds }) => seconds))),
  }));
}

/** Less confidence in a mapping than this is worth a look. */
const SURE = 0.8;
/** A value that stood still this long while the engine worked is worth a look [s]. */
const STUCK_SECONDS = 600;

type Figures = VehicleQualityRows['signals'][number];

const isWorthALook = (row: Figures): boolean =>
  row.out_of_range + row.unreadable + row.jump > 0 ||
  row.stuck_seconds >= STUCK_SECONDS ||
  row.valid === 0 ||
  row.channels.length > 1 ||
  (row.confidence !== null && row.confidence < SURE);

export function qualityOf(rows: VehicleQualityRows): Pick<VehicleQuality, 'recordings' | 'signals' | 'signalsFine'> {
  const worth = rows.signals.filter(isWorthALook);
  return {
    recordings: {
      ...{ count: rows.recordings.count, rows: rows.recordings.rows, rowsKept: rows.recordings.rows_kept },
      ...{ gaps: rows.recordings.gaps, longestGapSeconds: rows.recordings.longest_gap_seconds },
      ...{ longestGapUpload: rows.recordings.longest_gap_upload, backwardSteps: rows.recordings.backward_steps },
      duplicateTimes: rows.recordings.duplicate_times,
    },
    signals: worth.map((row) => ({
      ...{ signal: row.signal, label: nameOf(row.signal).label, channels: row.channels, confidence: row.confidence },
      ...{ valid: row.valid, blank: row.blank, outOfRange: row.out_of_range, unreadable: row.unreadable },
      ...{ jump: row.jump, stuckSeconds: row.stuck_seconds },
    })),
    signalsFine: rows.signals.length - worth.length,
  };
}

/** Ascending, so that the sum does not depend on the order of the rows. */
const sum = (values: readonly number[]): number => values.toSorted((a, b) => a - b).reduce((all, one) => all + one, 0);
