import type { VehicleClassRow } from '../fleet/classes.js';
import type { DriveState } from '../physics/state.js';
import type { UnitKind } from './units.js';

export type Language = 'en' | 'short' | 'de' | 'es';

/** What a row shows beside the physical state: the coolant sensor as wired, and what the control module counts. */
export interface RowContext {
  vehicle: VehicleClassRow;
  coolantReadingC: number;
  lampKm: number;
  sinceClearKm: number;
  sinceClearMinutes: number;
  warmUpsSinceClear: number;
}

/** One channel that a recorder can write. `key` is the catalogue's signal id where there is one. */
export interface ChannelRow {
  key: string;
  kind: UnitKind | 'plain';
  /** Unit label of a `plain` channel; '' for none. */
  unit: string;
  decimals: number;
  /** Resolution of the sensor in the model's own unit. */
  quantum: number;
  /** Half width of uniform sensor noise in the model's own unit. */
  noise: number;
  value: (state: DriveState, context: RowContext) => number;
  names: Record<Language, string>;
  onlyIf: (vehicle: VehicleClassRow) => boolean;
}

const gas = (vehicle: VehicleClassRow) => vehicle.fuel === 'gas';
const diesel = (vehicle: VehicleClassRow) => vehicle.fuel === 'diesel';
const turbo = (vehicle: VehicleClassRow) => vehicle.turbo;
const pump = (vehicle: VehicleClassRow) => vehicle.pumpKw > 0;

/** In the order in which recorders with few channels keep them. Names: trade usage, no source. */
export const CHANNELS: readonly ChannelRow[] = [
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
  n(
    'short_fuel_trim_1_pct',
    '%',
    [1, 0.78, 1.6],
    (s) => trim(s, 7),
    'Short Term Fuel Trim Bank 1|STFT B1|Kurzzeit Gemischkorrektur Bank 1|Ajuste de combustible a corto plazo banco 1',
    gas,
  ),
  n(
    'long_fuel_trim_1_pct',
    '%',
    [1, 0.78, 0],
    (s) => 1.6 + s.load * 2,
    'Long Term Fuel Trim Bank 1|LTFT B1|Langzeit Gemischkorrektur Bank 1|Ajuste de combustible a largo plazo banco 1',
    gas,
  ),
  n(
    'short_fuel_trim_2_pct',
    '%',
    [1, 0.78, 1.6],
    (s) => trim(s, 9),
    'Short Term Fuel Trim Bank 2|STFT B2|Kurzzeit Gemischkorrektur Bank 2|Ajuste de combustible a corto plazo banco 2',
    gas,
  ),
  n(
    'long_fuel_trim_2_pct',
    '%',
    [1, 0.78, 0],
    (s) => 0.8 + s.load * 2.4,
    'Long Term Fuel Trim Bank 2|LTFT B2|Langzeit Gemischkorrektur Bank 2|Ajuste de combustible a largo plazo banco 2',
    gas,
  ),
  n(
    'timing_advance_deg',
    'deg',
    [1, 0.5, 0.5],
    (s) => 32 - 20 * s.load + s.engineRpm / 900,
    'Timing Advance|IGN ADV|Zündzeitpunkt|Avance de encendido',
    gas,
  ),
  n(
    'o2_b1s1_v',
    'V',
    [3, 0.005, 0.03],
    (s) => 0.45 + 0.33 * Math.sin(s.runS * 7.1),
    'O2 Voltage Bank 1 Sensor 1|O2B1S1|Lambdasondenspannung|Voltaje sensor de oxígeno',
    gas,
  ),
  n(
    'o2_b1s2_v',
    'V',
    [3, 0.005, 0.01],
    (s) => 0.66 + 0.06 * Math.sin(s.runS / 5),
    'O2 Voltage Bank 1 Sensor 2|O2B1S2|Nachkatsonde Spannung|Voltaje sensor de oxígeno 2',
    gas,
  ),
  n(
    'commanded_lambda_ratio',
    '',
    [3, 0.001, 0.002],
    (s) => (s.load > 0.92 ? 0.91 : 1),
    'Commanded Equivalence Ratio|EQ RAT|Lambda Soll|Relación de equivalencia comandada',
    gas,
  ),
  t(
    'catalyst_temp_c',
    0.1,
    (s) => s.catalystC,
    'Catalyst Temperature Bank 1 Sensor 1|CAT TEMP|Katalysatortemperatur|Temperatura del catalizador',
    gas,
  ),
  n(
    'absolute_load_pct',
    '%',
    [1, 0.4, 0.4],
    (s) => s.load * (s.boostKpa > 5 ? 150 : 92),
    'Absolute Load|LOAD ABS|Absolute Last|Carga absoluta',
    gas,
  ),
  n(
    'commanded_throttle_pct',
    '%',
    [1, 0.4, 0],
    throttle,
    'Commanded Throttle Actuator|TAC PCT|Drosselklappe Soll|Mariposa comandada',
    gas,
  ),
  n(
    'evap_purge_pct',
    '%',
    [1, 0.4, 0],
    (s) => (s.coolantC > 70 ? 12 + 30 * s.load : 0),
    'Evap Purge|EVAP PCT|Tankentlüftung|Purga EVAP',
    gas,
  ),
  k(
    'fuel_rail_pressure_kpa',
    'pressure',
    [0, 10, 40],
    railPressure,
    'Fuel Rail Pressure|FRP|Raildruck|Presión de rail',
  ),
  k('engine_torque_nm', 'torque', [0, 1, 1.5], (s) => s.torqueNm, 'Engine Torque|TRQ|Motormoment|Par motor'),
  n(
    'actual_torque_pct',
    '%',
    [0, 1, 0],
    (s, c) => (100 * s.torqueNm) / c.vehicle.peakTorqueNm,
    'Actual Engine Percent Torque|TQ ACT|Motormoment Ist|Par motor real',
    diesel,
  ),
  n(
    'demand_torque_pct',
    '%',
    [0, 1, 0],
    (s) => s.pedal * 100,
    'Driver Demand Engine Percent Torque|TQ DD|Fahrerwunschmoment|Par demandado',
    diesel,
  ),
  k(
    'reference_torque_nm',
    'torque',
    [0, 1, 0],
    (_, c) => c.vehicle.peakTorqueNm,
    'Engine Reference Torque|TQ REF|Referenzmoment|Par de referencia',
    diesel,
  ),
  k(
    'coolant_pressure_kpa',
    'pressure',
    [0, 2, 1],
    (s) => s.coolantKpa,
    'Coolant Pressure|Coolant Pressure|Kühlmitteldruck|Presión del refrigerante',
    diesel,
  ),
  t(
    'fuel_temp_c',
    1,
    (s) => s.fuelC,
    'Fuel Temperature|Fuel Temp|Kraftstofftemperatur|Temperatura del combustible',
    diesel,
  ),
  n('egr_commanded_pct', '%', [1, 0.4, 0], egr, 'Commanded EGR|EGR CMD|AGR Soll|EGR comandada'),
  n('egr_position_pct', '%', [1, 0.4, 0.8], egr, 'EGR Valve Position|EGRVP|AGR Ventilstellung|Posición EGR'),
  t(
    'dpf_inlet_temp_c',
    0.1,
    (s) => s.exhaustC * 0.88 + 12,
    'DPF Inlet Temperature|DPF Tin|DPF Eingangstemperatur|Temperatura entrada DPF',
    diesel,
  ),
  k(
    'dpf_delta_pressure_kpa',
    'pressure',
    [2, 0.05, 0.05],
    (s) => (s.airGps * (0.4 + s.sootPct / 90)) / 60,
    'DPF Differential Pressure|DPF dP|DPF Differenzdruck|Presión diferencial DPF',
    diesel,
  ),
  n('dpf_soot_pct', '%', [0, 1, 0], (s) => s.sootPct, 'DPF Soot Load|DPF Soot|Rußbeladung|Carga de hollín', diesel),
  n(
    'def_level_pct',
    '%',
    [1, 0.4, 0],
    (s) => 30 + ((s.odometerKm * 7) % 650) / 10,
    'DEF Level|DEF|AdBlue Füllstand|Nivel AdBlue',
    diesel,
  ),
  n(
    'nox_inlet_ppm',
    'ppm',
    [0, 1, 6],
    (s) => (s.fuelKw > 0.1 ? 120 + 700 * s.load : 0),
    'NOx Inlet|NOX11|NOx vor SCR|NOx entrada',
    diesel,
  ),
  n(
    'nox_outlet_ppm',
    'ppm',
    [0, 1, 2],
    (s) => (s.exhaustC > 220 ? 12 : 40) + 60 * s.load,
    'NOx Outlet|NOX12|NOx nach SCR|NOx salida',
    diesel,
  ),
  n(
    'turbo_speed_rpm',
    'rpm',
    [0, 50, 60],
    (s) => 9000 + s.boostKpa * 480,
    'Turbocharger Speed|Turbo Speed|Turboladerdrehzahl|Velocidad del turbo',
    diesel,
  ),
  n(
    'turbo_vane_pct',
    '%',
    [1, 0.4, 0.3],
    (s) => 82 - 55 * s.load,
    'VGT Position|VGT|VTG Stellung|Posición de geometría variable',
    diesel,
  ),
  n(
    'fan_speed_rpm',
    'rpm',
    [0, 4, 6],
    (s) => s.fanRpm,
    'Engine Fan Speed|Fan Speed|Lüfterdrehzahl|Velocidad del ventilador',
    diesel,
  ),
  n(
    'input_shaft_rpm',
    'rpm',
    [0, 1, 2],
    (s) => s.turbineRpm,
    'Transmission Input Shaft Speed|TSS|Getriebeeingangsdrehzahl|Velocidad de turbina',
  ),
  n(
    'output_shaft_rpm',
    'rpm',
    [0, 1, 1],
    (s) => s.outputRpm / 3.9,
    'Transmission Output Shaft Speed|OSS|Getriebeausgangsdrehzahl|Velocidad del eje de salida',
  ),
  n(
    'converter_slip_rpm',
    'rpm',
    [0, 1, 2],
    (s) => (s.running ? s.engineRpm - s.turbineRpm : 0),
    'Torque Converter Slip|TCC Slip|Wandlerschlupf|Deslizamiento del convertidor',
  ),
  n('pto_engaged', '', [0, 1, 0], (s) => (s.pumpKw > 0 ? 1 : 0), 'PTO Status|PTO|Nebenantrieb|Toma de fuerza', pump),
  n(
    'vacuum',
    'inHg',
    [1, 0.1, 0.2],
    (s) => (s.pumpKw > 0 ? 14 + s.pumpKw / 12 : 0),
    'Debris Tank Vacuum|Tank Vac|Behälterunterdruck|Vacío del tanque',
    pump,
  ),
  n(
    'distance_since_clear_km',
    'km',
    [0, 1, 0],
    (_, c) => c.sinceClearKm,
    'Distance Since Codes Cleared|CLR DIST|Strecke seit Fehlerlöschung|Distancia desde borrado de códigos',
  ),
  n(
    'warm_ups_since_clear',
    '',
    [0, 1, 0],
    (_, c) => c.warmUpsSinceClear,
    'Warm-ups Since Codes Cleared|WARM UPS|Warmläufe seit Fehlerlöschung|Calentamientos desde borrado',
  ),
  n(
    'time_since_clear_min',
    'min',
    [0, 1, 0],
    (_, c) => c.sinceClearMinutes,
    'Time Since Codes Cleared|CLR TIME|Zeit seit Fehlerlöschung|Tiempo desde borrado de códigos',
  ),
  n(
    'distance_with_lamp_km',
    'km',
    [0, 1, 0],
    (_, c) => c.lampKm,
    'Distance With MIL On|MIL DIST|Strecke mit MIL|Distancia con MIL encendida',
  ),
  n(
    'ac_pressure_kpa',
    'kPa',
    [0, 5, 8],
    (s) => 650 + 900 * s.airConditioning + 14 * (s.ambientC - 20),
    'A/C Refrigerant Pressure|AC Pressure|Kältemitteldruck|Presión aire acondicionado',
  ),
  n('latitude_deg', 'deg', [6, 1e-6, 0], (s) => s.latitude, 'Latitude|Lat|Breitengrad|Latitud'),
  n('longitude_deg', 'deg', [6, 1e-6, 0], (s) => s.longitude, 'Longitude|Lon|Längengrad|Longitud'),
  n('altitude_m', 'm', [1, 0.1, 0.2], (s) => s.altitudeM, 'Altitude|Alt|Höhe|Altitud'),
  n('heading_deg', 'deg', [0, 1, 0], (s) => s.headingDeg, 'Heading|Heading|Kurs|Rumbo'),
  n('satellite_count', '', [0, 1, 1.2], () => 11, 'Satellites|Sats|Satelliten|Satélites'),
  n(
    'acceleration_ms2',
    'm/s2',
    [2, 0.01, 0.12],
    (s) => s.accelerationMs2,
    'Longitudinal Acceleration|Accel X|Längsbeschleunigung|Aceleración longitudinal',
  ),
  n(
    'lateral_acceleration_ms2',
    'm/s2',
    [2, 0.01, 0.25],
    (s) => 0.02 * s.speedMs * Math.sin(s.runS / 9),
    'Lateral Acceleration|Accel Y|Querbeschleunigung|Aceleración lateral',
  ),
  n(
    'alternator_v',
    'V',
    [2, 0.05, 0.03],
    (s) => s.batteryV + (s.running ? 0.12 : 0),
    'Alternator Voltage|Alternator Voltage|Generatorspannung|Voltaje del alternador',
  ),
  n(
    'thermostat_pct',
    '%',
    [0, 1, 0],
    (s) => s.thermostat * 100,
    'Thermostat Heater Duty|Tstat Duty|Kennfeldthermostat Ansteuerung|Mando del termostato',
    gas,
  ),
  n(
    'cabin_blower',
    '',
    [0, 1, 0],
    (s) => Math.round(2 + 4 * s.airConditioning),
    'Cabin Blower Step|Blower Step|Gebläsestufe|Etapa del soplador',
  ),
];

/** Channels that this vehicle has, in table order. */
export function channelsOf(vehicle: VehicleClassRow): ChannelRow[] {
  return CHANNELS.filter((channel) => channel.onlyIf(vehicle));
}

function throttle(state: DriveState): number {
  return state.running ? 12 + 76 * state.pedal : 16;
}

function trim(state: DriveState, period: number): number {
  return 2.5 * Math.sin(state.runS / period) * (state.coolantC > 40 ? 1 : 0);
}

function egr(state: DriveState): number {
  return state.coolantC > 60 && state.load > 0.08 && state.load < 0.7 ? 28 * Math.sin(Math.PI * state.load) : 0;
}

function railPressure(state: DriveState, context: RowContext): number {
  if (!state.running) return 0;
  return context.vehicle.fuel === 'diesel' ? 28_000 + 120_000 * state.load : 4000 + 11_000 * state.load;
}

type Digits = [decimals: number, quantum: number, noise: number];
type Rest = [value: ChannelRow['value'], names: string, onlyIf?: ChannelRow['onlyIf']];

/** A temperature: one decimal in degF by itself, sensor noise none (thermistors are filtered). */
function t(key: string, quantum: number, ...rest: Rest): ChannelRow {
  return make(key, 'temperature', [quantum < 1 ? 1 : 0, quantum, 0], ...rest);
}

/** A quantity that recorders write in different units. */
function k(key: string, kind: UnitKind, digits: Digits, ...rest: Rest): ChannelRow {
  return make(key, kind, digits, ...rest);
}

/** A quantity with one usual unit, or none. */
function n(key: string, unit: string, digits: Digits, ...rest: Rest): ChannelRow {
  return { ...make(key, 'plain', digits, ...rest), unit };
}

function make(key: string, kind: ChannelRow['kind'], digits: Digits, ...rest: Rest): ChannelRow {
  const [value, names, onlyIf] = rest;
  const [decimals, quantum, noise] = digits;
  const [en, short, de, es] = names.split('|') as [string, string, string, string];
  return {
    key,
    kind,
    unit: '',
    decimals,
    quantum,
    noise,
    value,
    names: { en, short, de, es },
    onlyIf: onlyIf ?? (() => true),
  };
}
