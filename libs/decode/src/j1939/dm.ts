import { type Decoded, decoded, refused } from '../decode-problem.js';
import type { MonitorName, MonitorState } from '../obd/monitor-status.js';
import { decodeFaults, decodeLamps, type J1939Fault, type LampStatus } from './fault.js';

/** Diagnostic messages that are read. Numbers of DM1 read, the others from memory of SAE J1939-73. */
export const DM_PGNS = {
  DM1: 65_226,
  DM2: 65_227,
  DM5: 65_230,
  DM6: 65_231,
  DM12: 65_236,
  DM21: 49_408,
  DM23: 64_949,
  DM26: 64_952,
  DM28: 64_896,
} as const;

export type DmName = keyof typeof DM_PGNS;

/** What the faults of a message are; DM1 is active, DM12 emission-related and confirmed, DM28 permanent. */
export const FAULT_LIST_DMS = {
  DM1: 'active',
  DM2: 'previously active',
  DM6: 'pending',
  DM12: 'emission-related active',
  DM23: 'previously malfunction-lamp-on',
  DM28: 'permanent',
} as const;

export type FaultListDm = keyof typeof FAULT_LIST_DMS;

export interface FaultList extends LampStatus {
  faults: J1939Fault[];
}

const names = new Map<number, DmName>(Object.entries(DM_PGNS).map(([name, pgn]) => [pgn, name as DmName]));

export function dmOfPgn(pgn: number): DmName | null {
  return names.get(pgn) ?? null;
}

export function isFaultListDm(name: DmName): name is FaultListDm {
  return name in FAULT_LIST_DMS;
}

/** DM1, DM2, DM6, DM12, DM23, DM28: lamps, flash, then four bytes a fault. Problem: `response_short`. */
export function decodeFaultList(data: Uint8Array): Decoded<FaultList> {
  if (data.length < 6) {
    return refused(
      'response_short',
      `The message has ${data.length} bytes, at least 6 are due`,
      'Send the whole message.',
    );
  }
  return decoded({ ...decodeLamps(data[0] ?? 0, data[1] ?? 0), faults: decodeFaults(data.subarray(2)) });
}

export interface Dm5 {
  /** Null = no number: the raw byte is above FA (error, not available, reserved). */
  activeCount: number | null;
  previouslyActiveCount: number | null;
  obdCompliance: number | null;
  monitors: MonitorState[];
}

/** Continuous: support in bits 1 to 3, status in bits 5 to 7 of byte 4. */
const CONTINUOUS: readonly MonitorName[] = ['misfire', 'fuel_system', 'components'];

/** Bytes 5 and 6 (support), 7 and 8 (1 = not complete), from bit 1 of the first; null = no monitor of ours, or reserved. */
const NON_CONTINUOUS: readonly (MonitorName | null)[] = [
  'catalyst',
  'heated_catalyst',
  'evap',
  'secondary_air',
  'ac_refrigerant',
  'o2_sensor',
  'o2_heater',
  'egr_vvt',
  null, // cold start aid
  'boost_pressure',
  'pm_filter',
  'nox_scr',
  'nmhc_catalyst',
  null,
  null,
  null,
];

/** Only engines with compression ignition have these; with one of them the oxygen sensor is the exhaust gas sensor. */
const COMPRESSION_ONLY: readonly MonitorName[] = ['boost_pressure', 'pm_filter', 'nox_scr', 'nmhc_catalyst'];

/**
 * DM5: 1 active count, 2 previously active count, 3 OBD compliance, 4 continuous monitors, 5-6 support, 7-8 status.
 * Source: SAE J1939-73, from memory. Problem: `response_short`.
 */
export function decodeDm5(data: Uint8Array): Decoded<Dm5> {
  if (data.length < 8)
    return refused('response_short', `DM5 has ${data.length} bytes, 8 are due`, 'Send the whole message.');
  const at = (byte: number): number => data[byte - 1] ?? 0;
  const state = (id: MonitorName, supported: boolean, incomplete: boolean, continuous: boolean): MonitorState => ({
    id,
    supported,
    complete: supported && !incomplete,
    continuous,
  });
  // A module without the feature sends FF in every byte: nothing is supported, rather than all of it.
  const empty = at(4) === 0xff && at(5) === 0xff && at(6) === 0xff;
  const bit = (word: number, index: number): boolean => !empty && ((word >> index) & 1) === 1;
  const support = at(5) | (at(6) << 8);
  const status = at(7) | (at(8) << 8);
  const monitors = CONTINUOUS.map((id, index) => state(id, bit(at(4), index), bit(at(4), index + 4), true));
  NON_CONTINUOUS.forEach((id, index) => {
    if (id !== null) monitors.push(state(id, bit(support, index), bit(status, index), false));
  });
  const compression = monitors.some((monitor) => monitor.supported && COMPRESSION_ONLY.includes(monitor.id));
  for (const monitor of monitors) if (compression && monitor.id === 'o2_sensor') monitor.id = 'exhaust_gas_sensor';
  return decoded({
    activeCount: countOf(at(1)),
    previouslyActiveCount: countOf(at(2)),
    obdCompliance: countOf(at(3)),
    monitors,
  });
}

export interface DmCounters {
  distanceWithLampKm?: number;
  distanceSinceClearKm?: number;
  minutesWithLamp?: number;
  minutesSinceClear?: number;
  warmUpsSinceClear?: number;
  secondsSinceStart?: number;
}

/** DM21: distance with lamp, distance since clear, minutes with lamp, minutes since clear; two bytes each (from memory). */
export function decodeDm21(data: Uint8Array): DmCounters {
  return defined({
    distanceWithLampKm: wordOf(data, 0),
    distanceSinceClearKm: wordOf(data, 2),
    minutesWithLamp: wordOf(data, 4),
    minutesSinceClear: wordOf(data, 6),
  });
}

/** DM26: seconds since engine start in bytes 1-2, warm-ups since clear in byte 3 (from memory). */
export function decodeDm26(data: Uint8Array): DmCounters {
  const warmUps = data[2];
  return defined({
    secondsSinceStart: wordOf(data, 0),
    warmUpsSinceClear: warmUps === undefined ? undefined : (countOf(warmUps) ?? undefined),
  });
}

function countOf(byte: number): number | null {
  return byte <= 0xfa ? byte : null;
}

function wordOf(data: Uint8Array, at: number): number | undefined {
  const [low, high] = [data[at], data[at + 1]];
  if (low === undefined || high === undefined || high > 0xfa) return undefined;
  return low | (high << 8);
}

function defined(counters: DmCounters): DmCounters {
  return Object.fromEntries(Object.entries(counters).filter(([, value]) => value !== undefined));
}
