// P00xx to P01xx, P20xx to P22xx: metering of air and fuel, oxygen sensors, temperatures. Meaning: SAE J2012, from memory.
import { actuator, type CodeRow, one, run, sensor, sensorFour, traits } from './code-row.js';

const AIR = traits('air', 'moderate', 'catalyst', 'evap', 'o2_sensor', 'egr_vvt');
const PEDAL = traits('air', 'high', 'catalyst', 'evap', 'o2_sensor');
const COOLANT = traits('cooling', 'moderate', 'catalyst', 'evap', 'o2_sensor', 'egr_vvt');
const OXYGEN = traits('exhaust', 'moderate', 'o2_sensor', 'catalyst', 'fuel_system');
const HEATER = traits('exhaust', 'moderate', 'o2_heater', 'o2_sensor', 'catalyst');
const TRIM = traits('fuel', 'moderate', 'fuel_system', 'catalyst', 'o2_sensor', 'evap');
const FUEL = traits('fuel', 'moderate', 'fuel_system', 'catalyst');
const RAIL = traits('fuel', 'high', 'fuel_system', 'catalyst', 'misfire');
const CAM = traits('ignition', 'moderate', 'egr_vvt', 'catalyst');
const LUBE = traits('lubrication', 'moderate');
const BOOST = traits('air', 'moderate', 'boost_pressure', 'egr_vvt');

/** Nine codes a bank and sensor: the first six are the sensor's, the last the heater's. */
const oxygenSensor = (first: string, place: string): CodeRow[] => [
  ...run(
    first,
    [
      `Oxygen sensor ${place}: circuit fault`,
      `Oxygen sensor ${place}: voltage too low`,
      `Oxygen sensor ${place}: voltage too high`,
      `Oxygen sensor ${place}: answers too slowly`,
      `Oxygen sensor ${place}: shows no activity`,
    ],
    OXYGEN,
  ),
  one(`${first.slice(0, 3)}${Number(first.slice(3)) + 5}`, `Oxygen sensor ${place}: heater circuit fault`, HEATER),
];

const heaterControl = (first: string, place: string): CodeRow[] =>
  run(
    first,
    [
      `Oxygen sensor heater ${place}: control circuit fault`,
      `Oxygen sensor heater ${place}: control circuit low`,
      `Oxygen sensor heater ${place}: control circuit high`,
    ],
    HEATER,
  );

const camTiming = (first: string, bank: number): CodeRow[] =>
  run(
    first,
    [
      `Intake camshaft actuator, bank ${bank}: circuit fault`,
      `Intake camshaft timing, bank ${bank}: too far advanced or not followed`,
      `Intake camshaft timing, bank ${bank}: too far retarded`,
      `Exhaust camshaft actuator, bank ${bank}: circuit fault`,
      `Exhaust camshaft timing, bank ${bank}: too far advanced or not followed`,
      `Exhaust camshaft timing, bank ${bank}: too far retarded`,
    ],
    CAM,
  );

export const AIR_FUEL_ROWS: readonly CodeRow[] = [
  ...run(
    'P0001',
    [
      'regulator control circuit open',
      'regulator does not follow its command',
      'regulator control circuit low',
      'regulator control circuit high',
    ].map((fault) => `Fuel volume ${fault}`),
    RAIL,
  ),
  ...camTiming('P0010', 1),
  ...run(
    'P0016',
    ['intake camshaft, bank 1', 'exhaust camshaft, bank 1', 'intake camshaft, bank 2', 'exhaust camshaft, bank 2'].map(
      (shaft) => `Crankshaft and ${shaft} do not line up`,
    ),
    traits('ignition', 'high', 'egr_vvt', 'catalyst', 'misfire'),
  ),
  ...camTiming('P0020', 2),
  ...heaterControl('P0030', 'B1S1'),
  ...run(
    'P0033',
    ['circuit fault', 'control circuit low', 'control circuit high'].map(
      (fault) => `Turbocharger bypass valve: ${fault}`,
    ),
    BOOST,
  ),
  ...heaterControl('P0036', 'B1S2'),
  one('P0039', 'Turbocharger bypass valve: does not follow its command', BOOST),
  ...run(
    'P0040',
    ['Upstream oxygen sensors of the two banks are swapped', 'Downstream oxygen sensors of the two banks are swapped'],
    OXYGEN,
  ),
  ...heaterControl('P0042', 'B1S3'),
  ...actuator('P0045', 'Turbocharger boost control solenoid A', BOOST),
  one('P0049', 'Turbocharger turbine: speed too high', traits('air', 'high', 'boost_pressure')),
  ...heaterControl('P0050', 'B2S1'),
  ...run(
    'P0053',
    ['B1S1', 'B1S2', 'B1S3'].map((place) => `Oxygen sensor heater ${place}: resistance out of range`),
    HEATER,
  ),
  ...heaterControl('P0056', 'B2S2'),
  ...run(
    'P0059',
    ['B2S1', 'B2S2', 'B2S3'].map((place) => `Oxygen sensor heater ${place}: resistance out of range`),
    HEATER,
  ),
  ...heaterControl('P0062', 'B2S3'),
  one('P0068', 'Throttle position does not agree with manifold pressure or air flow', AIR),
  one('P0069', 'Manifold pressure does not agree with barometric pressure', AIR),
  ...sensor('P0070', 'Ambient air temperature sensor', traits('air', 'low', 'evap')),
  ...run(
    'P0087',
    [
      'Fuel rail pressure too low',
      'Fuel rail pressure too high',
      'Fuel pressure regulator does not hold its pressure',
      'Fuel pressure regulator control circuit fault',
      'Fuel pressure regulator control circuit low',
      'Fuel pressure regulator control circuit high',
    ],
    RAIL,
  ),
  one('P0093', 'Large leak in the fuel system', traits('fuel', 'critical', 'fuel_system', 'misfire', 'catalyst')),
  one('P0094', 'Small leak in the fuel system', traits('fuel', 'critical', 'fuel_system', 'misfire', 'catalyst')),
  ...sensor('P0095', 'Intake air temperature sensor 2', AIR),
  ...sensor('P0100', 'Mass air flow sensor', AIR),
  ...sensor('P0105', 'Manifold or barometric pressure sensor', AIR),
  ...sensor('P0110', 'Intake air temperature sensor 1', AIR),
  ...sensor('P0115', 'Engine coolant temperature sensor 1', COOLANT),
  ...sensor('P0120', 'Throttle or pedal position sensor A', PEDAL),
  one('P0125', 'Coolant too cold for closed-loop fuel control', COOLANT),
  one('P0126', 'Coolant too cold for stable running', COOLANT),
  one('P0127', 'Intake air too hot', traits('cooling', 'high', 'catalyst', 'egr_vvt', 'boost_pressure')),
  one('P0128', 'Coolant stays below the thermostat temperature', COOLANT),
  one('P0129', 'Barometric pressure reading too low', AIR),
  ...oxygenSensor('P0130', 'B1S1'),
  ...oxygenSensor('P0136', 'B1S2'),
  ...oxygenSensor('P0142', 'B1S3'),
  one('P0148', 'Fuel delivery does not follow its command', RAIL),
  one('P0149', 'Fuel injection timing off', RAIL),
  ...oxygenSensor('P0150', 'B2S1'),
  ...oxygenSensor('P0156', 'B2S2'),
  ...oxygenSensor('P0162', 'B2S3'),
  one('P0168', 'Fuel too hot', traits('fuel', 'high', 'fuel_system')),
  one('P0169', 'Fuel composition is wrong for this engine', traits('fuel', 'high', 'fuel_system', 'catalyst')),
  ...run(
    'P0170',
    [
      'Fuel trim out of control, bank 1',
      'Mixture too lean, bank 1',
      'Mixture too rich, bank 1',
      'Fuel trim out of control, bank 2',
      'Mixture too lean, bank 2',
      'Mixture too rich, bank 2',
    ],
    TRIM,
  ),
  ...sensorFour('P0176', 'Fuel composition sensor', FUEL),
  ...sensor('P0180', 'Fuel temperature sensor A', FUEL),
  ...sensor('P0185', 'Fuel temperature sensor B', FUEL),
  ...sensor('P0190', 'Fuel rail pressure sensor A', RAIL),
  ...sensor('P0195', 'Engine oil temperature sensor', LUBE),
  ...run(
    'P2002',
    ['Particulate filter, bank 1: cleans too little', 'Particulate filter, bank 2: cleans too little'],
    traits('exhaust', 'high', 'pm_filter'),
  ),
  ...run(
    'P2004',
    ['open, bank 1', 'open, bank 2', 'closed, bank 1', 'closed, bank 2'].map(
      (place) => `Intake runner control stuck ${place}`,
    ),
    AIR,
  ),
  ...run(
    'P2008',
    ['circuit open', 'circuit low', 'circuit high'].map((fault) => `Intake runner control, bank 1: ${fault}`),
    AIR,
  ),
  ...sensor('P2014', 'Intake runner position sensor, bank 1', AIR),
  ...run(
    'P2031',
    ['circuit fault', 'signal low', 'signal high'].map((fault) => `Exhaust gas temperature sensor B1S2: ${fault}`),
    traits('exhaust', 'moderate', 'pm_filter', 'nmhc_catalyst'),
  ),
  ...run(
    'P2080',
    [
      'B1S1 implausible',
      'B1S1 intermittent',
      'B2S1 implausible',
      'B2S1 intermittent',
      'B1S2 implausible',
      'B1S2 intermittent',
    ].map((fault) => `Exhaust gas temperature sensor ${fault}`),
    traits('exhaust', 'moderate', 'pm_filter', 'nmhc_catalyst'),
  ),
  ...run(
    'P2088',
    [
      'intake, bank 1: control circuit low',
      'intake, bank 1: control circuit high',
      'exhaust, bank 1: control circuit low',
      'exhaust, bank 1: control circuit high',
    ].map((fault) => `Camshaft actuator ${fault}`),
    CAM,
  ),
  ...run(
    'P2096',
    ['too lean, bank 1', 'too rich, bank 1', 'too lean, bank 2', 'too rich, bank 2'].map(
      (state) => `Trim behind the catalyst ${state}`,
    ),
    TRIM,
  ),
  ...run(
    'P2100',
    [
      'circuit open',
      'does not follow its command',
      'circuit low',
      'circuit high',
      'forced to idle',
      'forced engine shutdown',
      'forced limited power',
      'control module fault',
    ].map((fault) => `Throttle actuator: ${fault}`),
    traits('air', 'high', 'catalyst', 'o2_sensor'),
  ),
  one('P2111', 'Throttle actuator stuck open', traits('air', 'critical', 'catalyst')),
  one('P2112', 'Throttle actuator stuck closed', traits('air', 'high', 'catalyst')),
  ...run(
    'P2122',
    ['D: signal low', 'D: signal high'].map((fault) => `Accelerator pedal sensor ${fault}`),
    PEDAL,
  ),
  ...run(
    'P2127',
    ['E: signal low', 'E: signal high'].map((fault) => `Accelerator pedal sensor ${fault}`),
    PEDAL,
  ),
  one('P2135', 'Throttle position sensors A and B disagree', PEDAL),
  one('P2138', 'Accelerator pedal sensors D and E disagree', PEDAL),
  one('P2181', 'Cooling system does not do its work', traits('cooling', 'high', 'catalyst', 'evap', 'o2_sensor')),
  ...sensor('P2182', 'Engine coolant temperature sensor 2', COOLANT),
  ...run(
    'P2187',
    [
      'too lean at idle, bank 1',
      'too rich at idle, bank 1',
      'too lean at idle, bank 2',
      'too rich at idle, bank 2',
    ].map((state) => `Mixture ${state}`),
    TRIM,
  ),
  ...run(
    'P2195',
    ['lean, B1S1', 'rich, B1S1', 'lean, B2S1', 'rich, B2S1'].map((state) => `Oxygen sensor stuck ${state}`),
    OXYGEN,
  ),
  ...sensorFour('P2200', 'NOx sensor, bank 1', traits('exhaust', 'high', 'nox_scr', 'exhaust_gas_sensor')),
  ...sensor('P2226', 'Barometric pressure sensor A', AIR),
  ...run(
    'P2270',
    ['lean, B1S2', 'rich, B1S2', 'lean, B2S2', 'rich, B2S2'].map((state) => `Oxygen sensor stuck ${state}`),
    OXYGEN,
  ),
  one('P2261', 'Turbocharger bypass valve sticks', BOOST),
  one('P2262', 'No turbocharger boost found', BOOST),
  one('P2263', 'Turbocharger boost system does not perform', traits('air', 'high', 'boost_pressure')),
  one('P2279', 'Air leak in the intake', AIR),
  ...run(
    'P2293',
    ['does not perform', 'control circuit fault', 'control circuit low', 'control circuit high'].map(
      (fault) => `Fuel pressure regulator 2 ${fault}`,
    ),
    RAIL,
  ),
];
