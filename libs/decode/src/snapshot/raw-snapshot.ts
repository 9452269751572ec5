import type { DecodeProblem } from '../decode-problem.js';
import type { Ignition, MonitorName } from '../obd/monitor-status.js';
import { readJ1939Snapshot } from './j1939-snapshot.js';
import { readObdSnapshot } from './obd-snapshot.js';

export interface RawResponses {
  /** `can` ISO 15765-4, `legacy` older diagnostic buses, `j1939` frames with 29-bit ids or named DM messages. */
  transport: 'can' | 'legacy' | 'j1939';
  /** Hex, one response or frame each. */
  responses: readonly string[];
}

export interface RawSnapshotCode {
  code: string;
  status: 'pending' | 'confirmed' | 'permanent';
  /** CAN id (`7E8`), header address, or `SA0`; absent without one. */
  module?: string;
  failureType?: string;
  occurrences?: number;
}

export interface RawSnapshotCounters {
  warmUpsSinceClear?: number;
  distanceSinceClearKm?: number;
  minutesSinceClear?: number;
  distanceWithLampKm?: number;
  minutesWithLamp?: number;
}

export type SnapshotPart = 'pending' | 'confirmed' | 'permanent' | 'lamp' | 'monitors' | 'counters';

/** The fields are those of a snapshot; one that no response carries is absent, which is not "none". */
export interface RawSnapshot {
  codes?: RawSnapshotCode[];
  lampOn?: boolean;
  ignition?: Ignition;
  monitors?: { id: MonitorName; supported: boolean; complete: boolean }[];
  counters?: RawSnapshotCounters;
  odometerKm?: number;
  engineHours?: number;
  vin?: string;
  /** What was read, codes of each kind apart. */
  read: SnapshotPart[];
  /** For each code service, the modules that answered; absent for a service with an answer from an unnamed module. */
  modulesRead?: Partial<Record<RawSnapshotCode['status'], string[]>>;
  /** Responses that could not be read; the others were. */
  problems: DecodeProblem[];
}

/** Raw responses of one moment to codes, lamp, monitors and counters. Never throws. */
export function decodeRawSnapshot({ transport, responses }: RawResponses): RawSnapshot {
  return transport === 'j1939' ? readJ1939Snapshot(responses) : readObdSnapshot(responses, transport);
}
