import { type Decoded, decoded, refused } from '../decode-problem.js';

/** Monitor names are those of the snapshot contract. */
export type MonitorName =
  | 'misfire'
  | 'fuel_system'
  | 'components'
  | 'catalyst'
  | 'heated_catalyst'
  | 'evap'
  | 'secondary_air'
  | 'ac_refrigerant'
  | 'o2_sensor'
  | 'o2_heater'
  | 'egr_vvt'
  | 'nmhc_catalyst'
  | 'nox_scr'
  | 'boost_pressure'
  | 'exhaust_gas_sensor'
  | 'pm_filter';

export type Ignition = 'spark' | 'compression';

/** Bits 0, 1, 2 of byte B (supported) and 4, 5, 6 (1 = not complete). */
export const CONTINUOUS_MONITORS: readonly MonitorName[] = ['misfire', 'fuel_system', 'components'];

/** Bits 0..7 of bytes C (supported) and D (1 = not complete); null = reserved, ignored even when set. */
export const NON_CONTINUOUS_MONITORS: Readonly<Record<Ignition, readonly (MonitorName | null)[]>> = {
  spark: [
    'catalyst',
    'heated_catalyst',
    'evap',
    'secondary_air',
    'ac_refrigerant', // newer editions: gasoline particulate filter
    'o2_sensor',
    'o2_heater',
    'egr_vvt',
  ],
  compression: ['nmhc_catalyst', 'nox_scr', null, 'boost_pressure', null, 'exhaust_gas_sensor', 'pm_filter', 'egr_vvt'],
};

export interface MonitorState {
  id: MonitorName;
  /** PID 01: fitted. PID 41: enabled for this drive cycle. */
  supported: boolean;
  /** Meaningful only where supported; false where it is not. */
  complete: boolean;
  continuous: boolean;
}

export interface MonitorStatus {
  /** PID 41 carries neither: null. */
  lampOn: boolean | null;
  codeCount: number | null;
  ignition: Ignition;
  monitors: MonitorState[];
}

/**
 * Bytes A..D of PID 01 (`since-clear`) or PID 41 (`this-cycle`).
 * A7 lamp, A6..0 confirmed codes; B3 0 = spark, 1 = compression; B and C supported; B4..6 and D 1 = NOT complete.
 * Source: SAE J1979 (positions read in public reprints, polarity from memory).
 */
export function decodeMonitorStatus(bytes: Uint8Array, scope: 'since-clear' | 'this-cycle'): Decoded<MonitorStatus> {
  if (bytes.length !== 4) {
    const code = bytes.length < 4 ? 'response_short' : 'response_long';
    return refused(code, `Monitor status has ${bytes.length} bytes, its layout 4`, 'Send the four bytes A to D.');
  }
  const [a, b, c, d] = bytes as unknown as [number, number, number, number];
  const ignition: Ignition = b & 0x08 ? 'compression' : 'spark';
  const state = (id: MonitorName, supported: boolean, incomplete: boolean, continuous: boolean): MonitorState => ({
    id,
    supported,
    complete: supported && !incomplete,
    continuous,
  });
  const monitors = CONTINUOUS_MONITORS.map((id, bit) => state(id, bitSet(b, bit), bitSet(b, bit + 4), true));
  NON_CONTINUOUS_MONITORS[ignition].forEach((id, bit) => {
    if (id !== null) monitors.push(state(id, bitSet(c, bit), bitSet(d, bit), false));
  });
  const sinceClear = scope === 'since-clear';
  return decoded({
    lampOn: sinceClear ? bitSet(a, 7) : null,
    codeCount: sinceClear ? a & 0x7f : null,
    ignition,
    monitors,
  });
}

function bitSet(byte: number, bit: number): boolean {
  return ((byte >> bit) & 1) === 1;
}
