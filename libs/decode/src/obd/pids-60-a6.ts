// SAE J1979 / ISO 15031-5 service 01, parameters 61 to A6. Most start with a byte A that says which values are real.

import type { SignalId } from '../signals/catalogue.js';
import {
  bits,
  number,
  PERCENT,
  RAIL_PRESSURE,
  row,
  SECONDS_LONG,
  scalar,
  scale,
  TEMPERATURE,
  TORQUE,
  TRIM,
  WIDE_TEMPERATURE,
} from './pid-rows.js';
import type { PidRow, SourceMark } from './pid-types.js';

type Source = readonly [SourceMark, string];
const READ: Source = ['read', 'SAE J1979, read in wireshark packet-obd-ii.c and scapy automotive/obd'];
const READ_SC: Source = ['read', 'SAE J1979, read in scapy automotive/obd'];
const PART_BITS: Source = ['part', 'SAE J1979; values read in scapy automotive/obd, support bit order from memory'];
const MEMORY: Source = ['memory', 'SAE J1979'];
const LENGTH_ONLY: Source = [
  'read',
  'SAE J1979; only the length was read (scapy automotive/obd), so the bytes stay raw',
];

/** Two actuators, each commanded and actual, one byte each. */
const commandedActual = (pid: number, id: string, label: string, maxBytes = 5): PidRow =>
  row(
    [pid, 5, label],
    [
      number(1, `commanded_${id}_a`, `${label} A, commanded`, PERCENT, { support: 0 }),
      number(2, `actual_${id}_a`, `${label} A, actual`, PERCENT, { support: 1 }),
      number(3, `commanded_${id}_b`, `${label} B, commanded`, PERCENT, { support: 2 }),
      number(4, `actual_${id}_b`, `${label} B, actual`, PERCENT, { support: 3 }),
    ],
    PART_BITS,
    { maxBytes },
  );

const turboTemperature = (pid: number, turbo: string): PidRow =>
  row(
    [pid, 7, `Turbocharger ${turbo} temperatures`],
    [
      number(1, 'compressor_inlet_temp', 'Compressor inlet temperature', TEMPERATURE, { support: 0 }),
      number(2, 'compressor_outlet_temp', 'Compressor outlet temperature', TEMPERATURE, { support: 1 }),
      number(3, 'turbine_inlet_temp', 'Turbine inlet temperature', WIDE_TEMPERATURE, { support: 2 }),
      number(5, 'turbine_outlet_temp', 'Turbine outlet temperature', WIDE_TEMPERATURE, { support: 3 }),
    ],
    READ_SC,
  );

const EGT_SIGNALS: Readonly<Record<string, SignalId>> = { b1s1: 'exhaust_gas_temp_c', b1s2: 'exhaust_gas_temp_2_c' };

const exhaustTemperature = (pid: number, bank: number): PidRow =>
  row(
    [pid, 9, `Exhaust gas temperatures, bank ${bank}`],
    [1, 2, 3, 4].map((sensor) =>
      number(2 * sensor - 1, `egt_b${bank}s${sensor}`, `Exhaust gas temperature B${bank}S${sensor}`, WIDE_TEMPERATURE, {
        support: sensor - 1,
        signal: EGT_SIGNALS[`b${bank}s${sensor}`],
      }),
    ),
    ['read', 'SAE J1979, read in scapy automotive/obd and at qeeebo.com; checked against a published vehicle trace'],
  );

const dpfPressure = (pid: number, bank: number): PidRow =>
  row(
    [pid, 7, `Particulate filter pressures, bank ${bank}`],
    [
      number(1, 'dpf_delta_pressure', 'Pressure drop', scale(2, 1, 100, -327.68, 'kPa'), {
        support: 0,
        ...(bank === 1 ? { signal: 'dpf_delta_pressure_kpa' as const } : {}),
      }),
      number(3, 'dpf_inlet_pressure', 'Inlet pressure', scale(2, 1, 100, 0, 'kPa'), { support: 1 }),
      number(5, 'dpf_outlet_pressure', 'Outlet pressure', scale(2, 1, 100, 0, 'kPa'), { support: 2 }),
    ],
    READ_SC,
  );

const fourTemperatures = (pid: number, id: string, label: string): PidRow =>
  row(
    [pid, 5, label],
    ['b1s1', 'b1s2', 'b2s1', 'b2s2'].map((place, index) =>
      number(1 + index, `${id}_${place}`, `${label} ${place.toUpperCase()}`, TEMPERATURE, {
        support: index,
        ...(id === 'cact' && index === 0 ? { signal: 'charge_air_temp_c' as const } : {}),
      }),
    ),
    READ_SC,
  );

export const PIDS_60_A6: readonly PidRow[] = [
  scalar([0x61, 'driver_demand_torque', "Driver's demand engine torque"], TORQUE, READ, {
    signal: 'demand_torque_pct',
  }),
  scalar([0x62, 'actual_torque', 'Actual engine torque'], TORQUE, READ, { signal: 'actual_torque_pct' }),
  scalar([0x63, 'reference_torque', 'Engine reference torque'], scale(2, 1, 1, 0, 'N.m'), READ, {
    signal: 'reference_torque_nm',
  }),
  row(
    [0x64, 5, 'Engine percent torque data'],
    ['idle', 'point1', 'point2', 'point3', 'point4'].map((id, at) => number(at, id, `Torque at ${id}`, TORQUE)),
    READ_SC,
  ),
  row(
    [0x65, 2, 'Auxiliary inputs and outputs'],
    [
      bits(
        1,
        'auxiliary_status',
        'Auxiliary inputs and outputs active',
        [
          'power take-off',
          'automatic transmission in drive',
          'manual transmission in neutral or gear',
          'glow plug lamp',
        ],
        0,
      ),
    ],
    READ_SC,
  ),
  row(
    [0x66, 5, 'Mass air flow sensors'],
    [
      number(1, 'maf_a', 'Mass air flow A', scale(2, 1, 32, 0, 'g/s'), { support: 0, signal: 'mass_air_flow_gps' }),
      number(3, 'maf_b', 'Mass air flow B', scale(2, 1, 32, 0, 'g/s'), { support: 1 }),
    ],
    READ_SC,
  ),
  row(
    [0x67, 3, 'Engine coolant temperatures'],
    [
      number(1, 'ect1', 'Engine coolant temperature 1', TEMPERATURE, { support: 0, signal: 'coolant_temp_c' }),
      number(2, 'ect2', 'Engine coolant temperature 2', TEMPERATURE, { support: 1, signal: 'coolant_temp_2_c' }),
    ],
    READ_SC,
  ),
  row(
    [0x68, 7, 'Intake air temperatures'],
    ['b1s1', 'b1s2', 'b1s3', 'b2s1', 'b2s2', 'b2s3'].map((place, index) =>
      number(1 + index, `iat_${place}`, `Intake air temperature ${place.toUpperCase()}`, TEMPERATURE, {
        support: index,
        ...(index === 0 ? { signal: 'intake_air_temp_c' as const } : {}),
      }),
    ),
    ['part', 'SAE J1979, read in scapy automotive/obd; that older tables show three bytes is from memory'],
    { minBytes: 3 },
  ),
  row(
    [0x69, 7, 'Exhaust gas recirculation, commanded, actual, error'],
    ['a', 'b'].flatMap((side, index) => [
      number(1 + 3 * index, `commanded_egr_${side}`, `EGR ${side.toUpperCase()}, commanded`, PERCENT, {
        support: 3 * index,
      }),
      number(2 + 3 * index, `actual_egr_${side}`, `EGR ${side.toUpperCase()}, actual`, PERCENT, {
        support: 3 * index + 1,
      }),
      number(3 + 3 * index, `egr_error_${side}`, `EGR ${side.toUpperCase()}, error`, TRIM, { support: 3 * index + 2 }),
    ]),
    PART_BITS,
  ),
  commandedActual(0x6a, 'intake_air_flow', 'Diesel intake air flow'),
  fourTemperatures(0x6b, 'egr_temp', 'EGR gas temperature'),
  commandedActual(0x6c, 'throttle_actuator', 'Throttle actuator'),
  row(
    [0x6d, 6, 'Fuel rail pressure control'],
    [
      number(1, 'commanded_rail_pressure', 'Rail A pressure, commanded', RAIL_PRESSURE, { support: 0 }),
      number(3, 'rail_pressure', 'Rail A pressure', RAIL_PRESSURE, { support: 1 }),
      number(5, 'rail_temp', 'Rail A fuel temperature', TEMPERATURE, { support: 2 }),
      number(6, 'commanded_rail_pressure_b', 'Rail B pressure, commanded', RAIL_PRESSURE, { support: 3 }),
      number(8, 'rail_pressure_b', 'Rail B pressure', RAIL_PRESSURE, { support: 4 }),
      number(10, 'rail_temp_b', 'Rail B fuel temperature', TEMPERATURE, { support: 5 }),
    ],
    ['part', 'SAE J1979; rail A read in scapy automotive/obd, rail B from memory'],
    { maxBytes: 11 },
  ),
  row(
    [0x6e, 5, 'Injection pressure control'],
    [
      'commanded_injection_pressure_a',
      'injection_pressure_a',
      'commanded_injection_pressure_b',
      'injection_pressure_b',
    ].map((id, index) => number(1 + 2 * index, id, id.replaceAll('_', ' '), RAIL_PRESSURE, { support: index })),
    ['part', 'SAE J1979; scale read in scapy automotive/obd, positions from memory'],
    { maxBytes: 9 },
  ),
  row(
    [0x6f, 3, 'Turbocharger compressor inlet pressure'],
    [
      number(1, 'compressor_inlet_pressure_a', 'Compressor inlet pressure A', scale(1, 1, 1, 0, 'kPa'), { support: 0 }),
      number(2, 'compressor_inlet_pressure_b', 'Compressor inlet pressure B', scale(1, 1, 1, 0, 'kPa'), { support: 1 }),
    ],
    ['part', 'SAE J1979; scale read in scapy automotive/obd, positions from memory'],
  ),
  row(
    [0x70, 9, 'Boost pressure control'],
    ['commanded_boost_a', 'boost_a', 'commanded_boost_b', 'boost_b'].map((id, index) =>
      number(1 + 2 * index, id, id.replaceAll('_', ' '), scale(2, 1, 32, 0, 'kPa'), { support: index }),
    ),
    ['part', 'SAE J1979; values read in scapy automotive/obd, trailing status byte from memory'],
    { maxBytes: 10 },
  ),
  commandedActual(0x71, 'vgt', 'Variable geometry turbocharger position', 6),
  commandedActual(0x72, 'wastegate', 'Wastegate position'),
  row(
    [0x73, 5, 'Exhaust pressure'],
    [
      number(1, 'exhaust_pressure_b1', 'Exhaust pressure, bank 1', scale(2, 1, 100, 0, 'kPa'), { support: 0 }),
      number(3, 'exhaust_pressure_b2', 'Exhaust pressure, bank 2', scale(2, 1, 100, 0, 'kPa'), { support: 1 }),
    ],
    PART_BITS,
  ),
  row(
    [0x74, 5, 'Turbocharger speed'],
    [
      number(1, 'turbo_rpm_a', 'Turbocharger A speed', scale(2, 1, 1, 0, 'rpm'), {
        support: 0,
        signal: 'turbo_speed_rpm',
      }),
      number(3, 'turbo_rpm_b', 'Turbocharger B speed', scale(2, 1, 1, 0, 'rpm'), { support: 1 }),
    ],
    [
      'part',
      'SAE J1979, 1 rpm/bit read in scapy automotive/obd; newer editions may use 10 rpm/bit (from memory, unsure)',
    ],
  ),
  turboTemperature(0x75, 'A'),
  turboTemperature(0x76, 'B'),
  fourTemperatures(0x77, 'cact', 'Charge air temperature'),
  exhaustTemperature(0x78, 1),
  exhaustTemperature(0x79, 2),
  dpfPressure(0x7a, 1),
  dpfPressure(0x7b, 2),
  row(
    [0x7c, 9, 'Particulate filter temperatures'],
    ['dpf_b1_inlet_temp', 'dpf_b1_outlet_temp', 'dpf_b2_inlet_temp', 'dpf_b2_outlet_temp'].map((id, index) =>
      number(1 + 2 * index, id, id.replaceAll('_', ' '), WIDE_TEMPERATURE, {
        support: index,
        signal: (['dpf_inlet_temp_c', 'dpf_outlet_temp_c'] as const)[index],
      }),
    ),
    READ_SC,
  ),
  row(
    [0x7f, 13, 'Engine run time'],
    [
      number(1, 'total_run_time', 'Total engine run time', SECONDS_LONG, { support: 0 }),
      number(5, 'total_idle_time', 'Total idle run time', SECONDS_LONG, { support: 1 }),
      number(9, 'total_pto_time', 'Total run time with power take-off', SECONDS_LONG, { support: 2 }),
    ],
    ['memory', 'SAE J1979 (a public reprint uses 8-byte fields, which does not fit the length)'],
  ),
  row(
    [0x83, 5, 'NOx sensors'],
    [
      number(1, 'nox_b1s1', 'NOx concentration B1S1', scale(2, 1, 1, 0, 'ppm'), { support: 0 }),
      number(3, 'nox_b2s1', 'NOx concentration B2S1', scale(2, 1, 1, 0, 'ppm'), { support: 1 }),
    ],
    PART_BITS,
    { maxBytes: 9 },
  ),
  scalar([0x8d, 'throttle_g', 'Absolute throttle position G'], PERCENT, MEMORY),
  scalar([0x8e, 'engine_friction_torque', 'Engine friction torque'], TORQUE, MEMORY),
  row([0xa1, 9, 'Corrected NOx sensors'], [], LENGTH_ONLY),
  row([0xa3, 9, 'Evaporative system vapour pressures'], [], LENGTH_ONLY),
  row(
    [0xa4, 4, 'Transmission gear'],
    [number(2, 'gear_ratio', 'Gear ratio', scale(2, 1, 1000, 0, 'ratio'), { support: 1, signal: 'gear_ratio' })],
    MEMORY,
  ),
  row([0xa5, 4, 'Diesel exhaust fluid dosing'], [], LENGTH_ONLY),
  scalar(
    [0xa6, 'odometer', 'Odometer'],
    scale(4, 1, 10, 0, 'km'),
    ['part', 'SAE J1979; length read, scale from memory'],
    {
      signal: 'odometer_km',
    },
  ),
];
