import type { DriveState } from '../physics/state.js';
import { type ChannelRow, diesel, gas, k, n, type RowContext, t } from './channel-row.js';
import { throttle } from './core-channels.js';

/** Fuel, ignition, torque and aftertreatment. Names: trade usage, no source. */
export const ENGINE_CHANNELS: readonly ChannelRow[] = [
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
];

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
