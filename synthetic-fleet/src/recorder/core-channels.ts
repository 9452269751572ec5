import type { DriveState } from '../physics/state.js';
import { type ChannelRow, diesel, k, n, t, turbo } from './channel-row.js';

/** What nearly every recorder keeps, in the order in which recorders with few channels keep them. Names: trade usage. */
export const CORE_CHANNELS: readonly ChannelRow[] = [
  t(
    'coolant_temp_c',
    1,
    (_, c) => c.coolantReadingC,
    'Engine Coolant Temperature|ECT|Kühlmitteltemperatur|Temperatura del refrigerante',
  ),
  n('engine_speed_rpm', 'rpm', [0, 0.25, 4], (s) => s.engineRpm, 'Engine Speed|RPM|Drehzahl|Régimen del motor'),
  k(
    'vehicle_speed_kmh',
    'speed',
    [0, 1, 0],
    (s) => s.speedMs * 3.6,
    'Vehicle Speed|Speed|Geschwindigkeit|Velocidad del vehículo',
  ),
  n(
    'engine_load_pct',
    '%',
    [1, 0.4, 0.4],
    (s) => s.load * 100,
    'Calculated Engine Load|Load|Motorlast|Carga del motor',
  ),
  t(
    'engine_oil_temp_c',
    0.1,
    (s) => s.oilC,
    'Engine Oil Temperature|EOT|Öltemperatur|Temperatura del aceite del motor',
  ),
  t(
    'trans_fluid_temp_c',
    0.1,
    (s) => s.transC,
    'Transmission Fluid Temperature|TFT|Getriebeöltemperatur|Temperatura de la transmisión',
  ),
  t(
    'exhaust_gas_temp_c',
    0.1,
    (s) => s.exhaustC,
    'Exhaust Gas Temperature|EGT|Abgastemperatur|Temperatura de gases de escape',
    diesel,
  ),
  t(
    'charge_air_temp_c',
    1,
    (s) => s.chargeC,
    'Charge Air Temperature|Charge Air Temp|Ladelufttemperatur|Temperatura del aire de carga',
    turbo,
  ),
  t('ambient_temp_c', 1, (s) => s.ambientC, 'Ambient Air Temperature|AAT|Außentemperatur|Temperatura ambiente'),
  t(
    'intake_air_temp_c',
    1,
    (s) => s.intakeC,
    'Intake Air Temperature|IAT|Ansauglufttemperatur|Temperatura del aire de admisión',
  ),
  n(
    'throttle_pct',
    '%',
    [1, 0.4, 0.3],
    throttle,
    'Throttle Position|TPS|Drosselklappenstellung|Posición de la mariposa',
  ),
  n(
    'battery_v',
    'V',
    [2, 0.05, 0.03],
    (s) => s.batteryV,
    'Battery Voltage|Batt|Batteriespannung|Voltaje de la batería',
  ),
  k('odometer_km', 'distance', [1, 0.1, 0], (s) => s.odometerKm, 'Odometer|ODO|Kilometerstand|Odómetro'),
  n(
    'engine_hours_h',
    'h',
    [2, 0.05, 0],
    (s) => s.engineHoursH,
    'Engine Hours|Engine Hours|Betriebsstunden|Horas de motor',
  ),
  k(
    'engine_oil_pressure_kpa',
    'pressure',
    [0, 4, 3],
    (s) => s.oilKpa,
    'Engine Oil Pressure|EOP|Öldruck|Presión de aceite',
  ),
  k(
    'fuel_rate_lph',
    'fuelRate',
    [2, 0.05, 0],
    (s) => s.fuelLph,
    'Engine Fuel Rate|Fuel Rate|Kraftstoffverbrauch|Consumo de combustible',
  ),
  k(
    'manifold_pressure_kpa',
    'pressure',
    [0, 1, 0.6],
    (s) => s.manifoldKpa,
    'Intake Manifold Absolute Pressure|MAP|Saugrohrdruck|Presión absoluta del colector',
  ),
  k('mass_air_flow_gps', 'massFlow', [2, 0.01, 0.15], (s) => s.airGps, 'Mass Air Flow|MAF|Luftmasse|Flujo de aire'),
  k(
    'boost_pressure_kpa',
    'pressure',
    [0, 1, 0.6],
    (s) => s.boostKpa,
    'Boost Pressure|Boost|Ladedruck|Presión de sobrealimentación',
    turbo,
  ),
  n(
    'coolant_level_pct',
    '%',
    [1, 0.4, 0],
    (s) => s.coolantLevelPct,
    'Coolant Level|ECL|Kühlmittelstand|Nivel de refrigerante',
    diesel,
  ),
  n(
    'pedal_pct',
    '%',
    [1, 0.4, 0.2],
    (s) => 14 + s.pedal * 76,
    'Accelerator Pedal Position D|APP D|Fahrpedal|Posición del pedal',
  ),
  k(
    'barometric_pressure_kpa',
    'pressure',
    [0, 1, 0],
    (s) => s.baroKpa,
    'Barometric Pressure|BARO|Luftdruck|Presión barométrica',
  ),
  n('gear', '', [0, 1, 0], (s) => (s.speedMs > 0.4 ? s.gear : 0), 'Transmission Gear|Gear|Gang|Marcha'),
  n(
    'fuel_level_pct',
    '%',
    [1, 0.4, 0.6],
    (s) => Math.min(100, s.fuelL),
    'Fuel Level|FLI|Kraftstoffstand|Nivel de combustible',
  ),
  n(
    'run_time_s',
    's',
    [0, 1, 0],
    (s) => s.runS,
    'Run Time Since Engine Start|RUNTM|Laufzeit seit Motorstart|Tiempo desde el arranque',
  ),
];

/** Plate angle: the driver's pedal through the module's map; a rest position with the key on. */
export function throttle(state: DriveState): number {
  return state.running ? 12 + 76 * state.pedal : 16;
}
