// SAE J1979 / ISO 15031-5 service 01, parameters 00 to 3F. One row a parameter; bytes A, B, C, D most significant first.

import type { SignalId } from '../signals/catalogue.js';
import {
  bits,
  choice,
  number,
  PERCENT,
  RAIL_PRESSURE,
  RATIO,
  row,
  scalar,
  scale,
  TEMPERATURE,
  TRIM,
  WIDE_TEMPERATURE,
} from './pid-rows.js';
import type { PidRow, SourceMark } from './pid-types.js';

type Source = readonly [SourceMark, string];
const READ: Source = [
  'read',
  'SAE J1979, read in the public reprints: encyclopaedia OBD-II PIDs table; wireshark packet-obd-ii.c; scapy automotive/obd',
];
const READ_TWO: Source = ['read', 'SAE J1979, read in wireshark packet-obd-ii.c and scapy automotive/obd'];
const READ_ONE: Source = ['read', 'SAE J1979, read in wireshark packet-obd-ii.c (the other reprint deviates)'];
const READ_SIGNED: Source = ['read', 'SAE J1979, read in scapy automotive/obd; unit Pa (the other reprint prints kPa)'];
const TRIM_PAIR: Source = ['part', 'SAE J1979; byte A read, byte B (banks 3, 4) from memory'];
const SATURATES: Source = ['part', 'SAE J1979; formula read, saturation at full scale from memory'];
const MONITORS: Source = ['part', 'SAE J1979; spark fields read, polarity and compression names from memory'];

const FUEL_SYSTEM = {
  0: 'off',
  1: 'open loop, cold',
  2: 'closed loop',
  4: 'open loop, load or deceleration',
  8: 'open loop, fault',
  16: 'closed loop, sensor fault',
};

const trimPair = (pid: number, id: string, label: string, first: number, signal: SignalId): PidRow =>
  row(
    [pid, 1, `${label}, bank ${first}`],
    [
      number(0, `${id}_b${first}`, `${label}, bank ${first}`, TRIM, { signal }),
      number(1, `${id}_b${first + 2}`, `${label}, bank ${first + 2}`, TRIM),
    ],
    TRIM_PAIR,
    { maxBytes: 2 },
  );

const narrowO2 = (pid: number, place: string): PidRow =>
  row(
    [pid, 2, `Oxygen sensor ${place}`],
    [
      number(0, 'o2_voltage', 'Oxygen sensor voltage', scale(1, 1, 200, 0, 'V')),
      number(1, 'stft', 'Short term fuel trim of this sensor', TRIM, { nullRaw: 0xff }),
    ],
    READ,
  );

const wideO2Voltage = (pid: number, place: string): PidRow =>
  row(
    [pid, 4, `Wide-range oxygen sensor ${place}, voltage`],
    [
      number(0, 'equivalence_ratio', 'Equivalence ratio', RATIO, { scaledBy: 'equivalenceRatio' }),
      number(2, 'o2_voltage', 'Oxygen sensor voltage', scale(2, 8, 65_536, 0, 'V'), { scaledBy: 'o2VoltageV' }),
    ],
    READ_ONE,
  );

const wideO2Current = (pid: number, place: string): PidRow =>
  row(
    [pid, 4, `Wide-range oxygen sensor ${place}, current`],
    [
      number(0, 'equivalence_ratio', 'Equivalence ratio', RATIO, { scaledBy: 'equivalenceRatio' }),
      number(2, 'o2_current', 'Oxygen sensor current', scale(2, 1, 256, -128, 'mA'), { scaledBy: 'o2CurrentMa' }),
    ],
    READ_ONE,
  );

/** Positions of sensors 1 to 8 where PID 13 is supported; with PID 1D the same rows mean two sensors on four banks. */
const PLACES = ['B1S1', 'B1S2', 'B1S3', 'B1S4', 'B2S1', 'B2S2', 'B2S3', 'B2S4'];

const support = (pid: number): PidRow =>
  row(
    [pid, 4, `Parameters supported, ${hex(pid + 1)} to ${hex(pid + 0x20)}`],
    [{ kind: 'supported-pids', id: 'supported', label: 'Supported parameters', at: 0 }],
    READ,
  );
const hex = (pid: number): string => pid.toString(16).toUpperCase().padStart(2, '0');

/** Bitmaps of every block; they follow one layout. */
export const SUPPORT_ROWS: readonly PidRow[] = [0x00, 0x20, 0x40, 0x60, 0x80, 0xa0, 0xc0].map(support);

export const PIDS_00_3F: readonly PidRow[] = [
  row(
    [0x01, 4, 'Monitor status since codes cleared'],
    [{ kind: 'monitor-status', id: 'monitor_status', label: 'Lamp, codes and monitors', at: 0 }],
    MONITORS,
  ),
  row(
    [0x02, 2, 'Trouble code that stored the freeze frame'],
    [{ kind: 'trouble-code', id: 'freeze_frame_code', label: 'Trouble code', at: 0 }],
    READ_TWO,
  ),
  row(
    [0x03, 2, 'Fuel system status'],
    [
      choice(0, 'fuel_system_1', 'Fuel system 1', FUEL_SYSTEM),
      choice(1, 'fuel_system_2', 'Fuel system 2', FUEL_SYSTEM),
    ],
    ['part', 'SAE J1979; values read in wireshark packet-obd-ii.c, 0 = off from memory'],
  ),
  scalar([0x04, 'calculated_load', 'Calculated engine load'], PERCENT, READ, { signal: 'engine_load_pct' }),
  scalar([0x05, 'coolant_temp', 'Engine coolant temperature'], TEMPERATURE, READ, { signal: 'coolant_temp_c' }),
  trimPair(0x06, 'stft', 'Short term fuel trim', 1, 'short_fuel_trim_1_pct'),
  trimPair(0x07, 'ltft', 'Long term fuel trim', 1, 'long_fuel_trim_1_pct'),
  trimPair(0x08, 'stft', 'Short term fuel trim', 2, 'short_fuel_trim_2_pct'),
  trimPair(0x09, 'ltft', 'Long term fuel trim', 2, 'long_fuel_trim_2_pct'),
  scalar([0x0a, 'fuel_pressure_gauge', 'Fuel pressure, gauge'], scale(1, 3, 1, 0, 'kPa'), READ),
  scalar([0x0b, 'map_abs', 'Intake manifold absolute pressure'], scale(1, 1, 1, 0, 'kPa'), READ, {
    scaledBy: 'manifoldPressureKpa',
    signal: 'manifold_pressure_kpa',
  }),
  scalar([0x0c, 'rpm', 'Engine speed'], scale(2, 1, 4, 0, 'rpm'), READ, { signal: 'engine_speed_rpm' }),
  scalar([0x0d, 'speed', 'Vehicle speed'], scale(1, 1, 1, 0, 'km/h'), READ, { signal: 'vehicle_speed_kmh' }),
  scalar([0x0e, 'timing_advance', 'Timing advance, cylinder 1'], scale(1, 1, 2, -64, 'deg before TDC'), READ, {
    signal: 'timing_advance_deg',
  }),
  scalar([0x0f, 'intake_air_temp', 'Intake air temperature'], TEMPERATURE, READ, { signal: 'intake_air_temp_c' }),
  scalar([0x10, 'maf', 'Mass air flow'], scale(2, 1, 100, 0, 'g/s'), READ_ONE, {
    scaledBy: 'massAirFlowGps',
    signal: 'mass_air_flow_gps',
  }),
  scalar([0x11, 'throttle', 'Absolute throttle position'], PERCENT, READ, { signal: 'throttle_pct' }),
  row(
    [0x12, 1, 'Commanded secondary air status'],
    [
      choice(0, 'secondary_air', 'Secondary air', {
        1: 'upstream',
        2: 'downstream',
        4: 'atmosphere or off',
        8: 'pump on for diagnostics',
      }),
    ],
    ['read', 'SAE J1979, read in wireshark packet-obd-ii.c'],
  ),
  row(
    [0x13, 1, 'Oxygen sensors present, two banks'],
    [bits(0, 'o2_sensors', 'Oxygen sensors present', PLACES)],
    READ_TWO,
  ),
  ...PLACES.map((place, index) => narrowO2(0x14 + index, place)),
  row(
    [0x1c, 1, 'OBD standard the vehicle is designed to'],
    [
      choice(0, 'obd_standard', 'OBD standard', {
        1: 'OBD-II (CARB)',
        2: 'OBD (EPA)',
        3: 'OBD and OBD-II',
        4: 'OBD-I',
        5: 'not OBD compliant',
        6: 'EOBD',
        7: 'EOBD and OBD-II',
        8: 'EOBD and OBD',
        9: 'EOBD, OBD and OBD-II',
        10: 'JOBD',
        11: 'JOBD and OBD-II',
        12: 'JOBD and EOBD',
        13: 'JOBD, EOBD and OBD-II',
        17: 'EMD',
        18: 'EMD+',
        19: 'HD OBD-C',
        20: 'HD OBD',
        21: 'WWH OBD',
        23: 'HD EOBD-I',
        24: 'HD EOBD-I N',
        25: 'HD EOBD-II',
        26: 'HD EOBD-II N',
        28: 'OBDBr-1',
        29: 'OBDBr-2',
        30: 'KOBD',
        31: 'IOBD I',
        32: 'IOBD II',
        33: 'HD EOBD-IV',
      }),
    ],
    ['part', 'SAE J1979; values read in wireshark packet-obd-ii.c, members of 11 to 13 from memory'],
  ),
  row(
    [0x1d, 1, 'Oxygen sensors present, four banks'],
    [bits(0, 'o2_sensors', 'Oxygen sensors present', ['B1S1', 'B1S2', 'B2S1', 'B2S2', 'B3S1', 'B3S2', 'B4S1', 'B4S2'])],
    READ_TWO,
  ),
  row(
    [0x1e, 1, 'Auxiliary input status'],
    [bits(0, 'auxiliary_input', 'Auxiliary inputs active', ['power take-off'])],
    ['read', 'SAE J1979, read in scapy automotive/obd'],
  ),
  scalar([0x1f, 'runtime_since_start', 'Run time since engine start'], scale(2, 1, 1, 0, 's'), READ_TWO, {
    signal: 'run_time_s',
  }),
  scalar([0x21, 'distance_mil_on', 'Distance with the malfunction lamp on'], scale(2, 1, 1, 0, 'km'), READ_TWO, {
    signal: 'distance_with_lamp_km',
  }),
  scalar(
    [0x22, 'fuel_rail_pressure_rel_manifold', 'Fuel rail pressure relative to manifold'],
    scale(2, 79, 1000, 0, 'kPa'),
    READ_TWO,
  ),
  scalar([0x23, 'fuel_rail_gauge_pressure', 'Fuel rail gauge pressure'], RAIL_PRESSURE, READ_TWO, {
    signal: 'fuel_rail_pressure_kpa',
  }),
  ...PLACES.map((place, index) => wideO2Voltage(0x24 + index, place)),
  scalar([0x2c, 'commanded_egr', 'Commanded exhaust gas recirculation'], PERCENT, READ_TWO, {
    signal: 'egr_commanded_pct',
  }),
  scalar([0x2d, 'egr_error', 'Exhaust gas recirculation error'], TRIM, READ_TWO, { signal: 'egr_error_pct' }),
  scalar([0x2e, 'commanded_evap_purge', 'Commanded evaporative purge'], PERCENT, READ_TWO, {
    signal: 'evap_purge_pct',
  }),
  scalar([0x2f, 'fuel_level', 'Fuel tank level'], PERCENT, READ_TWO, { signal: 'fuel_level_pct' }),
  scalar([0x30, 'warmups_since_clear', 'Warm-ups since codes cleared'], scale(1, 1, 1, 0, 'count'), SATURATES, {
    signal: 'warm_ups_since_clear',
  }),
  scalar([0x31, 'distance_since_clear', 'Distance since codes cleared'], scale(2, 1, 1, 0, 'km'), SATURATES, {
    signal: 'distance_since_clear_km',
  }),
  scalar([0x32, 'evap_vapor_pressure', 'Evaporative system vapour pressure'], scale(2, 1, 4, 0, 'Pa'), READ_SIGNED, {
    signed: true,
  }),
  scalar([0x33, 'barometric_pressure', 'Barometric pressure'], scale(1, 1, 1, 0, 'kPa'), READ_TWO, {
    signal: 'barometric_pressure_kpa',
  }),
  ...PLACES.map((place, index) => wideO2Current(0x34 + index, place)),
  scalar([0x3c, 'catalyst_temp_b1s1', 'Catalyst temperature B1S1'], WIDE_TEMPERATURE, READ_TWO, {
    signal: 'catalyst_temp_c',
  }),
  scalar([0x3d, 'catalyst_temp_b2s1', 'Catalyst temperature B2S1'], WIDE_TEMPERATURE, READ_TWO),
  scalar([0x3e, 'catalyst_temp_b1s2', 'Catalyst temperature B1S2'], WIDE_TEMPERATURE, READ_TWO),
  scalar([0x3f, 'catalyst_temp_b2s2', 'Catalyst temperature B2S2'], WIDE_TEMPERATURE, READ_TWO),
];
