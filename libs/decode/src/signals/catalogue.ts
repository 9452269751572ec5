export type Quantity =
  | 'temperature'
  | 'pressure'
  | 'speed'
  | 'rotation'
  | 'ratio'
  | 'mass_flow'
  | 'volume_flow'
  | 'voltage'
  | 'current'
  | 'distance'
  | 'time'
  | 'torque'
  | 'angle'
  | 'volume'
  | 'count'
  | 'power'
  | 'latitude'
  | 'longitude'
  | 'acceleration'
  | 'concentration';

export interface SignalRow {
  id: string;
  label: string;
  quantity: Quantity;
  /** Canonical unit. */
  unit: string;
  /** Plausible range in the canonical unit, both ends inclusive. Outside: counted as `out_of_range`, left out. */
  min: number;
  max: number;
}

/** Changes whenever a row changes what is decoded; stored with every upload. */
export const CATALOGUE_VERSION = '2026-11-25';

export const SIGNALS = [
  s('coolant_temp_c', 'Engine coolant temperature', 'temperature', 'degC', -39.9, 215),
  s('engine_oil_temp_c', 'Engine oil temperature', 'temperature', 'degC', -39.9, 215),
  s('trans_fluid_temp_c', 'Transmission fluid temperature', 'temperature', 'degC', -39.9, 215),
  s('exhaust_gas_temp_c', 'Exhaust gas temperature', 'temperature', 'degC', -39.9, 1735),
  s('charge_air_temp_c', 'Charge air temperature', 'temperature', 'degC', -39.9, 215),
  s('intake_air_temp_c', 'Intake air temperature', 'temperature', 'degC', -39.9, 215),
  s('ambient_temp_c', 'Ambient air temperature', 'temperature', 'degC', -39.9, 70),
  s('engine_speed_rpm', 'Engine speed', 'rotation', 'rpm', 0, 16384),
  s('vehicle_speed_kmh', 'Vehicle speed', 'speed', 'km/h', 0, 255),
  s('engine_load_pct', 'Engine load', 'ratio', '%', 0, 125),
  s('throttle_pct', 'Throttle position', 'ratio', '%', 0, 100),
  s('manifold_pressure_kpa', 'Intake manifold absolute pressure', 'pressure', 'kPa', 0, 600),
  s('boost_pressure_kpa', 'Boost pressure', 'pressure', 'kPa', -100, 500),
  s('mass_air_flow_gps', 'Mass air flow', 'mass_flow', 'g/s', 0, 2550),
  s('engine_oil_pressure_kpa', 'Engine oil pressure', 'pressure', 'kPa', 0, 1000),
  s('coolant_level_pct', 'Coolant level', 'ratio', '%', 0, 100),
  s('battery_v', 'Battery voltage', 'voltage', 'V', 0, 65.6),
  s('fuel_rate_lph', 'Engine fuel rate', 'volume_flow', 'L/h', 0, 3213),
  s('odometer_km', 'Odometer', 'distance', 'km', 0, 5_000_000),
  s('engine_hours_h', 'Engine hours', 'time', 'h', 0, 210_000_000),
] as const satisfies readonly SignalRow[];

export type SignalId = (typeof SIGNALS)[number]['id'];

function s<const I extends string>(id: I, label: string, quantity: Quantity, unit: string, min: number, max: number) {
  return { id, label, quantity, unit, min, max };
}
