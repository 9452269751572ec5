import type { DecodeProblem, DecodeProblemCode } from '../decode-problem.js';
import type { Dm5, DmCounters, DmName } from '../j1939/dm.js';
import type { J1939Fault, J1939Lamps } from '../j1939/fault.js';
import type { ServiceResponse } from '../obd/service.js';

/** How often one parameter of one sender had a value, and how often not. */
export interface CaptureSignalCount {
  /** `SPN 110` or `PID 05 coolant_temp`. */
  parameter: string;
  name: string;
  unit: string;
  bus: string;
  /** Source address of a J1939 sender; null for diagnostic answers. */
  source: number | null;
  /** CAN id of a diagnostic answer; null for J1939. */
  module: string | null;
  valid: number;
  notAvailable: number;
  error: number;
  /** Parameter-specific and reserved raw values. */
  reserved: number;
  /** The frame ended before it. */
  absent: number;
  min: number | null;
  max: number | null;
}

export interface CaptureMessageCount {
  bus: string;
  pgn: number;
  source: number;
  count: number;
}

/** Lamps of one sender's fault list, each combination with how often it came. */
export interface CaptureLamps {
  dm: DmName;
  bus: string;
  source: number;
  messages: number;
  states: { bytes: string; lamps: J1939Lamps; messages: number }[];
}

export interface CaptureFault {
  dm: DmName;
  bus: string;
  source: number;
  code: string;
  fault: J1939Fault;
  messages: number;
  firstMs: number;
  lastMs: number;
}

/** What a capture says beside its samples. A DM that never came is absent: no data, which is not "no faults". */
export interface CaptureReport {
  lines: number;
  malformed: number;
  buses: string[];
  sources: number[];
  messages: CaptureMessageCount[];
  signals: CaptureSignalCount[];
  lamps: CaptureLamps[];
  faults: CaptureFault[];
  readiness: { bus: string; source: number; dm5: Dm5 }[];
  counters: { bus: string; source: number; dm: DmName; counters: DmCounters }[];
  /** Latest diagnostic answer of each module, service and parameter. */
  responses: ServiceResponse[];
  vin: string | null;
  /** How often each problem came, and its first occurrence. */
  problems: { code: DecodeProblemCode; count: number; first: DecodeProblem }[];
}

/** Counts problems by code. */
export function createProblemCounter(): { add(problem: DecodeProblem): void; list(): CaptureReport['problems'] } {
  const byCode = new Map<DecodeProblemCode, { code: DecodeProblemCode; count: number; first: DecodeProblem }>();
  return {
    add(problem) {
      const known = byCode.get(problem.code);
      if (known) known.count++;
      else byCode.set(problem.code, { code: problem.code, count: 1, first: problem });
    },
    list: () => [...byCode.values()],
  };
}
