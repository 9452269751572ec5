import type { PidRow } from './pid-types.js';
import { PIDS_00_3F, SUPPORT_ROWS } from './pids-00-3f.js';
import { PIDS_40_5F } from './pids-40-5f.js';
import { PIDS_60_A6 } from './pids-60-a6.js';

/** Every service 01 parameter that is read, in order of its number. */
export const PID_ROWS: readonly PidRow[] = [...SUPPORT_ROWS, ...PIDS_00_3F, ...PIDS_40_5F, ...PIDS_60_A6].sort(
  (first, second) => first.pid - second.pid,
);

const byNumber = new Map(PID_ROWS.map((row) => [row.pid, row]));

export function pidRow(pid: number): PidRow | null {
  return byNumber.get(pid) ?? null;
}

export function pidName(pid: number): string {
  return pid.toString(16).toUpperCase().padStart(2, '0');
}
