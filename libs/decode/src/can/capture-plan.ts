import type { LogPlan, PlanHints } from '../log/types.js';
import type { DbcMessage } from './dbc.js';

/** What feeds a channel of a capture. `channel` (CAN interface) and `source` null = any. */
export type CaptureOrigin =
  | { kind: 'spn'; spn: number; pgn: number; source: number; bus: string | null }
  | { kind: 'pid'; pid: number; field: string; module: string | null; bus: string | null }
  | { kind: 'dbc'; message: string; signal: string };

/** A LogPlan of format `candump`; plain JSON like every plan. `origins` runs parallel to `channels`. */
export interface CapturePlan extends LogPlan {
  format: 'candump';
  capture: { origins: CaptureOrigin[]; dbc: DbcMessage[] };
}

export interface CaptureHints extends PlanHints {
  /** Text of a DBC file; `profile.channels` maps its `Message.Signal` (or `Signal`) to catalogue signals. */
  dbc?: string;
}

export function isCapturePlan(plan: LogPlan): plan is CapturePlan {
  return plan.format === 'candump' && 'capture' in plan;
}
