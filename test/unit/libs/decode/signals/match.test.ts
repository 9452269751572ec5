import { findUnit, matchHeader, SIGNALS, type SignalRow, unitFits } from '@tallybay/decode';
import { describe, expect, it } from 'vitest';

/** Headers as recorders write them; trade practice, no source. */
const HEADERS: [header: string, signal: string | null, unit: string | null][] = [
  ['Engine Coolant Temperature [°C]', 'coolant_temp_c', 'degC'],
  ['Engine Coolant Temperature [Â°C]', 'coolant_temp_c', 'degC'],
  ['coolant_temp_c', 'coolant_temp_c', 'degC'],
  ['CoolantTempF', 'coolant_temp_c', 'degF'],
  ['Coolant Temp, deg F', 'coolant_temp_c', 'degF'],
  ['ECT(°F)', 'coolant_temp_c', 'degF'],
  ['ENGINE COOLANT TEMP (DEG C)', 'coolant_temp_c', 'degC'],
  ['SPN 110 Engine Coolant Temperature (degC)', 'coolant_temp_c', 'degC'],
  ['SPN 110', 'coolant_temp_c', null],
  ['SPN110_EngineCoolantTemperature_C', 'coolant_temp_c', 'degC'],
  ['PID 05 (°C)', 'coolant_temp_c', 'degC'],
  ['T_Kuehlmittel [°C]', 'coolant_temp_c', 'degC'],
  ['n_Motor [1/min]', 'engine_speed_rpm', 'rpm'],
  ['p_Oel [bar]', 'engine_oil_pressure_kpa', 'bar'],
  ['Oil (psi)', 'engine_oil_pressure_kpa', 'psi'],
  ['Oil pressure (bar rel)', 'engine_oil_pressure_kpa', 'bar'],
  ['Oil pressure (psia)', null, null],
  ['Boost (psia)', null, null],
  ['Boost [kPa gauge]', 'boost_pressure_kpa', 'kPa'],
  ['MAP (kPa abs)', 'manifold_pressure_kpa', 'kPa'],
  ['MAP (psig)', null, null],
  ['Ladedruck [mbar ü]', 'boost_pressure_kpa', 'hPa'],
  ['Barometric pressure (hPa abs.)', 'barometric_pressure_kpa', 'hPa'],
  ['Coolant.Temp.degF', 'coolant_temp_c', 'degF'],
  ['Oil (F)', 'engine_oil_temp_c', 'degF'],
  ['Oil', null, null],
  ['MPH', 'vehicle_speed_kmh', 'mph'],
  ['Kühlwassertemperatur in °C', 'coolant_temp_c', 'degC'],
  ['Temp. Kühlmittel [°C]', 'coolant_temp_c', 'degC'],
  ['Kuehlmitteltemperatur [Grad C]', 'coolant_temp_c', 'degC'],
  ['KÃ¼hlmitteltemperatur [Â°C]', 'coolant_temp_c', 'degC'],
  ['Temperatura del refrigerante (°C)', 'coolant_temp_c', 'degC'],
  ['Motoröltemperatur °C', 'engine_oil_temp_c', 'degC'],
  ['EOT (F)', 'engine_oil_temp_c', 'degF'],
  ['EOP (psi)', 'engine_oil_pressure_kpa', 'psi'],
  ['Oil Pressure/bar', 'engine_oil_pressure_kpa', 'bar'],
  ['Trans Fluid Temp (F)', 'trans_fluid_temp_c', 'degF'],
  ['Getriebeöltemperatur (°C)', 'trans_fluid_temp_c', 'degC'],
  ['EGT 1 C', 'exhaust_gas_temp_c', 'degC'],
  ['Engine RPM', 'engine_speed_rpm', null],
  ['Engine Speed (1/min)', 'engine_speed_rpm', 'rpm'],
  ['Motordrehzahl [U/min]', 'engine_speed_rpm', 'rpm'],
  ['Speed km/h', 'vehicle_speed_kmh', 'km/h'],
  ['vehicle_speed_mph', 'vehicle_speed_kmh', 'mph'],
  ['Velocidad (km/h)', 'vehicle_speed_kmh', 'km/h'],
  ['Load %', 'engine_load_pct', '%'],
  ['Accelerator Pedal Position D [%]', 'pedal_pct', '%'],
  ['Accelerator Pedal Position D', 'pedal_pct', null],
  ['MAF (lb/min)', 'mass_air_flow_gps', 'lb/min'],
  ['Air Flow Rate from Mass Flow Sensor [g/s]', 'mass_air_flow_gps', 'g/s'],
  ['Ladedruck [mbar]', 'boost_pressure_kpa', 'hPa'],
  ['Boost (psi)', 'boost_pressure_kpa', 'psi'],
  ['Barometric Pressure (inHg)', 'barometric_pressure_kpa', 'inHg'],
  ['Fuel rate (gal/h)', 'fuel_rate_lph', 'gal/h'],
  ['Battery V', 'battery_v', 'V'],
  ['Control Module Voltage (V)', 'battery_v', 'V'],
  ['STFT B1 (%)', 'short_fuel_trim_1_pct', '%'],
  ['Long Term Fuel Trim Bank 2 [%]', 'long_fuel_trim_2_pct', '%'],
  ['Short Term Fuel Trim Bank 1', 'short_fuel_trim_1_pct', null],
  ['LONG_TERM_FUEL_TRIM_BANK_2', 'long_fuel_trim_2_pct', null],
  ['Intake_air_pressure', 'manifold_pressure_kpa', null],
  ['Spark timing (deg)', 'timing_advance_deg', 'deg'],
  ['Drehzahl 1/min', 'engine_speed_rpm', 'rpm'],
  ['Trip meter', 'trip_km', null],
  ['Trip meter (mi)', 'trip_km', 'mi'],
  ['TripMeter', 'trip_km', null],
  ['Trip distance meter', 'trip_km', 'm'],
  ['Torque (ft-lb)', 'engine_torque_nm', 'lbf.ft'],
  ['Latitude (deg)', 'latitude_deg', 'deg'],
  ['Lambda [-]', 'lambda_ratio', null],
  ['Transmission Temperature (ECU)(°F)', 'trans_fluid_temp_c', 'degF'],
  ['Transmission Temperature (°C) (TCU)', 'trans_fluid_temp_c', 'degC'],
  ['Intake Manifold Pressure (MAP)(kPa)', 'manifold_pressure_kpa', 'kPa'],
  ['Mass Air Flow Rate (MAF)', 'mass_air_flow_gps', null],
  ['Engine Coolant Temperature (CHT)(°C)', null, null],
  ['Intake Air Temperature (Bank 2)(°C)', null, null],
  ['Engine Speed (desired)(rpm)', null, null],
  ['Coolant temp (max)(°C)', null, null],
  ['Boost Pressure (absolute)(kPa)', null, null],
  ['Vehicle Speed (avg)', null, null],
  ['Ladedruck (soll)', 'commanded_boost_kpa', null],
  ['Ladedruck (Ist) [mbar]', 'boost_pressure_kpa', 'hPa'],
  ['Raildruck Ist [bar]', 'fuel_rail_pressure_kpa', 'bar'],
  ['Raildruck Soll [bar]', null, null],
  ['EngOilTemp1', 'engine_oil_temp_c', null],
  ['AccelPedalPos1', 'pedal_pct', null],
  ['EngIntakeManifold1Temp', 'charge_air_temp_c', null],
  ['EngTurbocharger1BoostPress (kPa)', 'boost_pressure_kpa', 'kPa'],
  ['EngExhaustGasTemp', 'exhaust_gas_temp_c', null],
  ['EngDesiredOperatingSpeed', null, null],
  ['CruiseControlSetSpeed', null, null],
  ['Fuel Rail Pressure (relative to manifold vacuum)(kPa)', 'fuel_rail_pressure_kpa', 'kPa'],
  ['HV Battery SOC[%]', 'hybrid_battery_pct', '%'],
  // A ratio of masses near 14.7, not of equivalence near 1.
  ['Air fuel ratio (commanded) (:1)', null, null],
  ['Air fuel ratio (measured) (:1)', null, null],
  // The number of a trip, litres an hour or by 100 km, newton metres or percent: the name tells only with a unit.
  ['Trip', null, null],
  ['Trip (km)', 'trip_km', 'km'],
  ['Fuel_consumption', null, null],
  ['Fuel consumption (L/h)', 'fuel_rate_lph', 'L/h'],
  ['Fuel consumption (L/100km)', 'fuel_economy_l100km', 'L/100km'],
  ['Verbrauch', null, null],
  ['Kraftstoffverbrauch [l/100km]', 'fuel_economy_l100km', 'L/100km'],
  ['Oil', null, null],
  ['Oil (psi)', 'engine_oil_pressure_kpa', 'psi'],
  ['Oil (°C)', 'engine_oil_temp_c', 'degC'],
  ['Fuel', null, null],
  ['Fuel (%)', 'fuel_level_pct', '%'],
  ['Engine torque', null, null],
  ['Engine torque (Nm)', 'engine_torque_nm', 'N.m'],
  ['Engine torque (%)', 'actual_torque_pct', '%'],
  ['Air Intake', null, null],
  ['Temperature (°C)', null, null],
  ['Engine Coolant Temperature (psi)', null, null],
  ['Engine Coolant Temperature (quux)', null, null],
  ['Throttle V', null, null],
  ['Sensor 7', null, null],
  ['', null, null],
];

describe('matchHeader', () => {
  it.each(HEADERS)('%s', (header, signal, unit) => {
    const match = matchHeader(header);
    expect(match.row?.id ?? null).toBe(signal);
    expect(match.unit?.id ?? null).toBe(unit);
    expect(match.why).not.toBe('');
    if (signal) expect(match.confidence).toBeGreaterThanOrEqual(0.8);
  });

  it('takes the unit of a unit row', () => {
    expect(matchHeader('Coolant', '°F').unit?.id).toBe('degF');
    expect(matchHeader('Coolant', 'psi')).toMatchObject({
      row: null,
      why: expect.stringMatching(/no unit of temperature/),
    });
  });

  it('says that a name tells only with a unit', () => {
    expect(matchHeader('Trip').why).toBe('may be trip_km or something else: the name tells only with a unit');
  });

  it('says why a unit forbids a match', () => {
    expect(matchHeader('Engine Coolant Temperature (psi)').why).toBe(
      'named like coolant_temp_c, but "psi" is no unit of temperature',
    );
    expect(matchHeader('Engine Coolant Temperature (quux)').why).toMatch(/unit "quux" is not known/);
  });
});

const rows: readonly SignalRow[] = SIGNALS;

describe('the catalogue', () => {
  it('has the core and at least eighty signals, each once', () => {
    const ids = rows.map(({ id }) => id);
    expect(ids.length).toBeGreaterThanOrEqual(80);
    expect(new Set(ids).size).toBe(ids.length);
    const core =
      'coolant_temp_c engine_oil_temp_c trans_fluid_temp_c exhaust_gas_temp_c charge_air_temp_c intake_air_temp_c ambient_temp_c engine_speed_rpm vehicle_speed_kmh engine_load_pct throttle_pct manifold_pressure_kpa boost_pressure_kpa mass_air_flow_gps engine_oil_pressure_kpa coolant_level_pct battery_v fuel_rate_lph odometer_km engine_hours_h';
    for (const id of core.split(' ')) expect(ids).toContain(id);
  });

  it.each(rows.map((row) => [row.id, row] as const))(
    '%s: a known unit, a range, names in three languages',
    (_, row) => {
      const unit = findUnit(row.unit, row.quantity);
      expect(unit && unitFits(unit, row.quantity)).toBe(true);
      expect(row.min).toBeLessThan(row.max);
      for (const names of Object.values(row.names)) expect(names.length).toBeGreaterThan(0);
      // An open temperature sensor circuit reads -40: it must never pass for a value.
      if (row.quantity === 'temperature') expect(row.min).toBeGreaterThan(-40);
      for (const ref of row.refs) expect(ref.source).not.toBe('');
    },
  );

  it('gives every name back to its own signal, or says that it is shared', () => {
    const lost = rows.flatMap((row) =>
      [row.label, ...row.names.en, ...row.names.de, ...row.names.es, ...row.abbreviations].flatMap((name) => {
        const match = matchHeader(`${name} [${row.unit}]`);
        return match.row?.id === row.id ? [] : [`${name} -> ${match.row?.id ?? match.why}, not ${row.id}`];
      }),
    );
    expect(lost).toEqual([]);
  });
});
