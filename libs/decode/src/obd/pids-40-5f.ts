// SAE J1979 / ISO 15031-5 service 01, parameters 41 to 5F.
import { choice, number, PERCENT, RAIL_PRESSURE, RATIO, row, scalar, scale, TEMPERATURE, TRIM } from './pid-rows.js';
import type { PidRow, SourceMark } from './pid-types.js';

type Source = readonly [SourceMark, string];
const READ: Source = ['read', 'SAE J1979, read in wireshark packet-obd-ii.c and scapy automotive/obd'];
const READ_SC: Source = ['read', 'SAE J1979, read in scapy automotive/obd'];
const CEILING: Source = ['part', 'SAE J1979; formula read, ceiling of the adopted J1939 parameter from memory'];
const MINUTES: Source = ['part', 'SAE J1979; formula read, saturation at full scale from memory'];

const secondaryTrim = (pid: number, id: string, label: string, first: number): PidRow =>
  row(
    [pid, 2, `${label}, banks ${first} and ${first + 2}`],
    [
      number(0, `${id}_b${first}`, `${label}, bank ${first}`, TRIM),
      number(1, `${id}_b${first + 2}`, `${label}, bank ${first + 2}`, TRIM),
    ],
    READ,
    { minBytes: 1 },
  );

const FUEL_TYPES = [
  'not available',
  'gasoline',
  'methanol',
  'ethanol',
  'diesel',
  'LPG',
  'CNG',
  'propane',
  'electric',
  'bi-fuel running gasoline',
  'bi-fuel running methanol',
  'bi-fuel running ethanol',
  'bi-fuel running LPG',
  'bi-fuel running CNG',
  'bi-fuel running propane',
  'bi-fuel running electric',
  'bi-fuel electric and engine',
  'hybrid gasoline',
  'hybrid ethanol',
  'hybrid diesel',
  'hybrid electric',
  'hybrid electric and engine',
  'hybrid regenerative',
  'bi-fuel diesel',
];

export const PIDS_40_5F: readonly PidRow[] = [
  row(
    [0x41, 4, 'Monitor status of this drive cycle'],
    [{ kind: 'monitor-status', id: 'monitor_status', label: 'Monitors enabled and complete this cycle', at: 0 }],
    ['part', 'SAE J1979; positions as PID 01, polarity and compression names from memory'],
  ),
  scalar([0x42, 'module_voltage', 'Control module voltage'], scale(2, 1, 1000, 0, 'V'), READ, { signal: 'battery_v' }),
  scalar([0x43, 'absolute_load', 'Absolute load'], scale(2, 100, 255, 0, '%'), READ, { signal: 'absolute_load_pct' }),
  scalar([0x44, 'commanded_equivalence_ratio', 'Commanded equivalence ratio'], RATIO, READ, {
    scaledBy: 'equivalenceRatio',
    signal: 'commanded_lambda_ratio',
  }),
  scalar([0x45, 'relative_throttle', 'Relative throttle position'], PERCENT, READ, { signal: 'relative_throttle_pct' }),
  scalar([0x46, 'ambient_air_temp', 'Ambient air temperature'], TEMPERATURE, READ, { signal: 'ambient_temp_c' }),
  scalar([0x47, 'throttle_b', 'Absolute throttle position B'], PERCENT, READ),
  scalar([0x48, 'throttle_c', 'Absolute throttle position C'], PERCENT, READ),
  scalar([0x49, 'accel_pedal_d', 'Accelerator pedal position D'], PERCENT, READ, { signal: 'pedal_pct' }),
  scalar([0x4a, 'accel_pedal_e', 'Accelerator pedal position E'], PERCENT, READ, { signal: 'pedal_e_pct' }),
  scalar([0x4b, 'accel_pedal_f', 'Accelerator pedal position F'], PERCENT, READ),
  scalar([0x4c, 'commanded_throttle', 'Commanded throttle actuator'], PERCENT, READ, {
    signal: 'commanded_throttle_pct',
  }),
  scalar([0x4d, 'minutes_mil_on', 'Time run with the malfunction lamp on'], scale(2, 1, 1, 0, 'min'), READ, {
    signal: 'time_with_lamp_min',
  }),
  scalar([0x4e, 'minutes_since_clear', 'Time since codes cleared'], scale(2, 1, 1, 0, 'min'), MINUTES, {
    signal: 'time_since_clear_min',
  }),
  row(
    [0x4f, 4, 'Full scales of other parameters'],
    [
      number(0, 'max_equivalence_ratio', 'Maximum equivalence ratio', scale(1, 1, 1, 0, 'ratio')),
      number(1, 'max_o2_voltage', 'Maximum oxygen sensor voltage', scale(1, 1, 1, 0, 'V')),
      number(2, 'max_o2_current', 'Maximum oxygen sensor current', scale(1, 1, 1, 0, 'mA')),
      number(3, 'max_map', 'Maximum intake manifold pressure', scale(1, 10, 1, 0, 'kPa')),
    ],
    READ_SC,
  ),
  row(
    [0x50, 4, 'Full scale of mass air flow'],
    [number(0, 'max_maf', 'Maximum mass air flow', scale(1, 10, 1, 0, 'g/s'))],
    READ_SC,
  ),
  row(
    [0x51, 1, 'Fuel type'],
    [choice(0, 'fuel_type', 'Fuel', Object.fromEntries(FUEL_TYPES.map((name, index) => [index, name])))],
    READ,
  ),
  scalar([0x52, 'ethanol', 'Ethanol share of the fuel'], PERCENT, READ, { signal: 'ethanol_pct' }),
  scalar([0x53, 'abs_evap_vapor_pressure', 'Absolute evaporative vapour pressure'], scale(2, 1, 200, 0, 'kPa'), READ),
  scalar(
    [0x54, 'evap_vapor_pressure_wide', 'Evaporative vapour pressure, wide range'],
    scale(2, 1, 1, 0, 'Pa'),
    ['read', "SAE J1979, two's complement read in scapy automotive/obd; older copies print u16 - 32767 (from memory)"],
    { signed: true },
  ),
  secondaryTrim(0x55, 'stsecondary_o2trim', 'Short term secondary oxygen trim', 1),
  secondaryTrim(0x56, 'ltsecondary_o2trim', 'Long term secondary oxygen trim', 1),
  secondaryTrim(0x57, 'stsecondary_o2trim', 'Short term secondary oxygen trim', 2),
  secondaryTrim(0x58, 'ltsecondary_o2trim', 'Long term secondary oxygen trim', 2),
  scalar([0x59, 'fuel_rail_abs_pressure', 'Fuel rail absolute pressure'], RAIL_PRESSURE, READ),
  scalar([0x5a, 'relative_accel_pedal', 'Relative accelerator pedal position'], PERCENT, READ, {
    signal: 'relative_pedal_pct',
  }),
  scalar([0x5b, 'hybrid_battery_remaining', 'Hybrid battery remaining'], PERCENT, READ, {
    signal: 'hybrid_battery_pct',
  }),
  scalar([0x5c, 'engine_oil_temp', 'Engine oil temperature'], TEMPERATURE, CEILING, {
    suspectAbove: 0xfa,
    signal: 'engine_oil_temp_c',
  }),
  scalar([0x5d, 'fuel_injection_timing', 'Fuel injection timing'], scale(2, 1, 128, -210, 'deg'), READ, {
    signal: 'injection_timing_deg',
  }),
  scalar([0x5e, 'engine_fuel_rate', 'Engine fuel rate'], scale(2, 1, 20, 0, 'L/h'), CEILING, {
    suspectAbove: 0xfaff,
    signal: 'fuel_rate_lph',
  }),
  row(
    [0x5f, 1, 'Emission requirements the vehicle is designed to'],
    [
      choice(0, 'emission_requirements', 'Emission requirements', {
        14: 'heavy duty Euro IV B1',
        15: 'heavy duty Euro V B2',
        16: 'heavy duty EEV C',
      }),
    ],
    READ_SC,
  ),
];
