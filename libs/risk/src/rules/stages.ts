import type { SignalId } from '@tallybay/decode';

/** Signals that tell of heat. Order is the order of reasons with equal weight. */
export const HEAT_SIGNALS = [
  'coolant_temp_c',
  'engine_oil_temp_c',
  'trans_fluid_temp_c',
  'exhaust_gas_temp_c',
  'charge_air_temp_c',
] as const satisfies readonly SignalId[];
export type HeatSignal = (typeof HEAT_SIGNALS)[number];

export const STAGE_NAMES = ['watch', 'caution', 'alarm', 'severe'] as const;
export type StageName = (typeof STAGE_NAMES)[number];

/** One limit: time at or above it counts. A row of a class replaces the `*` rows of its signal altogether for that class. */
export interface StageRow {
  signal: HeatSignal;
  /** `*` = every class without rows of its own. */
  vehicleClass: string;
  /** Only vehicles of this fuel; absent = all. */
  fuel?: 'gas' | 'diesel' | 'other';
  stage: StageName;
  valueC: number;
  /** As people write it; also what the value was converted from. */
  written: string;
  source: string;
}

export const celsiusFromFahrenheit = (degF: number): number => ((degF - 32) * 5) / 9;

const BAND =
  'common practice, no standard; bands for coolant, engine oil, transmission fluid and exhaust of road vehicles';
const MEMORY = 'common practice from memory, no source';

/**
 * Defaults, all to be replaced by the maker's data where the shop has it.
 * `watch` is the top of the normal band: many healthy vehicles touch it, so it weighs little.
 */
export const STAGE_ROWS: readonly StageRow[] = [
  f('coolant_temp_c', 'watch', 220, BAND),
  f('coolant_temp_c', 'caution', 230, BAND),
  f('coolant_temp_c', 'alarm', 240, BAND),
  f('coolant_temp_c', 'severe', 250, BAND),
  f('engine_oil_temp_c', 'watch', 240, BAND),
  f('engine_oil_temp_c', 'caution', 260, BAND),
  f('engine_oil_temp_c', 'alarm', 280, BAND),
  f('engine_oil_temp_c', 'severe', 300, MEMORY),
  f(
    'trans_fluid_temp_c',
    'watch',
    212,
    'a step of the printed fluid-life table (25,000 miles); common practice, no standard',
  ),
  f('trans_fluid_temp_c', 'caution', 225, BAND),
  f('trans_fluid_temp_c', 'alarm', 240, BAND),
  f('trans_fluid_temp_c', 'severe', 295, BAND),
  // Before the turbine of a diesel; spark-ignition exhaust is hotter in health, so it has no default.
  { ...f('exhaust_gas_temp_c', 'caution', 1250, BAND), fuel: 'diesel' },
  { ...f('exhaust_gas_temp_c', 'alarm', 1300, BAND), fuel: 'diesel' },
  f('charge_air_temp_c', 'watch', 150, MEMORY),
  f('charge_air_temp_c', 'caution', 170, MEMORY),
  f('charge_air_temp_c', 'alarm', 190, MEMORY),
];

function f(signal: HeatSignal, stage: StageName, degF: number, source: string): StageRow {
  return { signal, vehicleClass: '*', stage, valueC: celsiusFromFahrenheit(degF), written: `${degF} °F`, source };
}

/** The stages that hold for one signal of one vehicle, lowest first. */
export function stagesFor(
  rows: readonly StageRow[],
  signal: HeatSignal,
  vehicle: { vehicleClass: string; fuel?: string | undefined },
): StageRow[] {
  const fitting = rows.filter((row) => row.signal === signal && (!row.fuel || row.fuel === vehicle.fuel));
  const own = fitting.filter((row) => row.vehicleClass === vehicle.vehicleClass);
  const chosen = own.length > 0 ? own : fitting.filter((row) => row.vehicleClass === '*');
  return chosen.sort((a, b) => a.valueC - b.valueC);
}

/** Lowest stage of a signal over all rows, Infinity without any: dwell below it never matters to a stage. */
export const lowestStageC = (rows: readonly StageRow[], signal: HeatSignal): number =>
  Math.min(...rows.filter((row) => row.signal === signal).map((row) => row.valueC));
