import type { SourceMark } from '../obd/pid-types.js';
import type { SignalId } from '../signals/catalogue.js';

/** value = raw * mul / div + offset; raw is little-endian, `startByte` counts from 1 as the standard does. */
export interface SpnRow {
  spn: number;
  name: string;
  pgn: number;
  startByte: number;
  bytes: 1 | 2 | 4;
  mul: number;
  div: number;
  offset: number;
  unit: string;
  signal: SignalId | null;
  /** Source address that usually owns the signal: 0 engine, 3 transmission (SAE J1939 preferred addresses, from memory). */
  owner: number;
  mark: SourceMark;
  source: string;
}

type Scale = readonly [bytes: 1 | 2 | 4, mul: number, div: number, offset: number, unit: string];
const TEMPERATURE: Scale = [1, 1, 1, -40, 'degC'];
const WIDE_TEMPERATURE: Scale = [2, 1, 32, -273, 'degC'];
const SHARE: Scale = [1, 2, 5, 0, '%'];

const MEMORY = ['memory', 'SAE J1939-71 / J1939DA'] as const;
const PART = ['part', 'SAE J1939-71; position read in scribd.com 429555595, scale from memory'] as const;
const READ_140 = [
  'read',
  "SAE J1939-71 as reprinted in an engine maker's manual, manualshive.com isea/6501440 p. 140",
] as const;
const READ_142 = [
  'read',
  "SAE J1939-71 as reprinted in an engine maker's CAN tables, easymanua.ls isea p. 142",
] as const;
const READ_145 = [
  'read',
  "SAE J1939-71 as reprinted in an engine maker's CAN tables, easymanua.ls isea p. 145",
] as const;

interface Place {
  signal?: SignalId;
  owner?: number;
}

function spn(
  [number, name, pgn, startByte]: readonly [number, string, number, number],
  [bytes, mul, div, offset, unit]: Scale,
  [mark, source]: readonly [SourceMark, string],
  { signal, owner }: Place = {},
): SpnRow {
  return {
    spn: number,
    name,
    pgn,
    startByte,
    bytes,
    mul,
    div,
    offset,
    unit,
    signal: signal ?? null,
    owner: owner ?? 0,
    mark,
    source,
  };
}

/** Where two rows feed one signal, the earlier row is preferred. */
export const SPN_ROWS: readonly SpnRow[] = [
  spn([110, 'Engine coolant temperature', 65_262, 1], TEMPERATURE, PART, { signal: 'coolant_temp_c' }),
  spn([174, 'Engine fuel temperature 1', 65_262, 2], TEMPERATURE, MEMORY, { signal: 'fuel_temp_c' }),
  spn([175, 'Engine oil temperature 1', 65_262, 3], WIDE_TEMPERATURE, MEMORY, { signal: 'engine_oil_temp_c' }),
  spn([176, 'Turbocharger oil temperature', 65_262, 5], WIDE_TEMPERATURE, MEMORY, { signal: 'turbo_oil_temp_c' }),
  spn([190, 'Engine speed', 61_444, 4], [2, 1, 8, 0, 'rpm'], PART, { signal: 'engine_speed_rpm' }),
  spn([513, 'Actual engine percent torque', 61_444, 3], [1, 1, 1, -125, '%'], READ_140, {
    signal: 'actual_torque_pct',
  }),
  spn([91, 'Accelerator pedal position 1', 61_443, 2], SHARE, READ_142, { signal: 'pedal_pct' }),
  spn([92, 'Engine percent load at current speed', 61_443, 3], [1, 1, 1, 0, '%'], READ_142, {
    signal: 'engine_load_pct',
  }),
  spn([177, 'Transmission oil temperature 1', 65_272, 5], WIDE_TEMPERATURE, MEMORY, {
    signal: 'trans_fluid_temp_c',
    owner: 3,
  }),
  spn([84, 'Wheel-based vehicle speed', 65_265, 2], [2, 1, 256, 0, 'km/h'], MEMORY, { signal: 'vehicle_speed_kmh' }),
  spn([100, 'Engine oil pressure', 65_263, 4], [1, 4, 1, 0, 'kPa'], MEMORY, { signal: 'engine_oil_pressure_kpa' }),
  spn([109, 'Engine coolant pressure', 65_263, 7], [1, 2, 1, 0, 'kPa'], MEMORY, { signal: 'coolant_pressure_kpa' }),
  spn([111, 'Engine coolant level', 65_263, 8], SHARE, MEMORY, { signal: 'coolant_level_pct' }),
  spn([102, 'Engine intake manifold 1 pressure, gauge', 65_270, 2], [1, 2, 1, 0, 'kPa'], READ_145, {
    signal: 'boost_pressure_kpa',
  }),
  spn([105, 'Engine intake manifold 1 temperature', 65_270, 3], TEMPERATURE, READ_145, { signal: 'intake_air_temp_c' }),
  spn([173, 'Engine exhaust gas temperature', 65_270, 6], WIDE_TEMPERATURE, MEMORY, { signal: 'exhaust_gas_temp_c' }),
  spn([1180, 'Exhaust gas temperature before turbocharger 1', 65_176, 1], WIDE_TEMPERATURE, READ_142, {
    signal: 'exhaust_gas_temp_c',
  }),
  spn([1181, 'Exhaust gas temperature before turbocharger 2', 65_176, 3], WIDE_TEMPERATURE, READ_142, {
    signal: 'exhaust_gas_temp_2_c',
  }),
  spn([108, 'Barometric pressure', 65_269, 1], [1, 1, 2, 0, 'kPa'], MEMORY, { signal: 'barometric_pressure_kpa' }),
  spn([171, 'Ambient air temperature', 65_269, 4], WIDE_TEMPERATURE, MEMORY, { signal: 'ambient_temp_c' }),
  spn([247, 'Engine total hours of operation', 65_253, 1], [4, 1, 20, 0, 'h'], PART, { signal: 'engine_hours_h' }),
  spn([917, 'High resolution total vehicle distance', 65_217, 1], [4, 1, 200, 0, 'km'], PART, {
    signal: 'odometer_km',
  }),
  spn([245, 'Total vehicle distance', 65_248, 5], [4, 1, 8, 0, 'km'], MEMORY, { signal: 'odometer_km' }),
  spn([168, 'Battery potential', 65_271, 5], [2, 1, 20, 0, 'V'], MEMORY, { signal: 'battery_v' }),
  spn([183, 'Engine fuel rate', 65_266, 1], [2, 1, 20, 0, 'L/h'], MEMORY, { signal: 'fuel_rate_lph' }),
  spn([96, 'Fuel level 1', 65_276, 2], SHARE, MEMORY, { signal: 'fuel_level_pct' }),
];

const byPgn = new Map<number, SpnRow[]>();
for (const row of SPN_ROWS) byPgn.set(row.pgn, [...(byPgn.get(row.pgn) ?? []), row]);
const NONE: readonly SpnRow[] = [];

/** Rows whose signals a parameter group carries. */
export function spnsOfPgn(pgn: number): readonly SpnRow[] {
  return byPgn.get(pgn) ?? NONE;
}

export function spnRow(spnNumber: number): SpnRow | null {
  return SPN_ROWS.find((row) => row.spn === spnNumber) ?? null;
}
