import type { RandomStream } from '../random.js';

/** What happened to one log between the recorder and the office. */
export interface LogQuirks {
  cutLastRow: boolean;
  /** The recorder restarted: rows are missing for `gapS`, then the header comes again. */
  restart: { atS: number; gapS: number } | null;
  /** The clock ran `backS` ahead until it was set right. */
  stepBack: { atS: number; backS: number } | null;
  /** Data row numbers from 0 that were written with cells missing. */
  damagedRows: number[];
  duplicated: boolean;
  /** Weeks between the drive and the upload. */
  lateWeeks: number;
  driverMarksS: number[];
}

export const QUIRK_KINDS = ['cut', 'restart', 'step_back', 'damaged', 'duplicate', 'late'] as const;
export type QuirkKind = (typeof QUIRK_KINDS)[number];

/** One quirk in about eight logs; `must` forces one. */
export function drawQuirks(random: RandomStream, seconds: number, rateHz: number, must: QuirkKind | null): LogQuirks {
  const kind = must ?? (random.chance(0.12) ? random.pick(QUIRK_KINDS) : null);
  const middle = Math.round(seconds * random.range(0.4, 0.7));
  const rows = Math.floor(seconds * rateHz);
  return {
    cutLastRow: kind === 'cut',
    restart: kind === 'restart' ? { atS: middle, gapS: random.int(9, 45) } : null,
    stepBack: kind === 'step_back' ? { atS: middle, backS: random.int(2, 4) } : null,
    damagedRows: kind === 'damaged' ? Array.from({ length: 5 }, () => random.int(20, rows - 20)) : [],
    duplicated: kind === 'duplicate',
    lateWeeks: kind === 'late' ? random.int(2, 4) : 0,
    driverMarksS: Array.from({ length: random.int(0, 3) }, () => random.int(60, Math.max(61, seconds - 30))),
  };
}
