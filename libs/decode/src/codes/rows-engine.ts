// P02xx to P03xx: injection, boost, over-temperature, misfire, ignition. Meaning: SAE J2012, from memory.
import { actuator, type CodeRow, one, run, sensor, sensorFour, traits } from './code-row.js';

const INJECTOR = traits('fuel', 'high', 'misfire', 'fuel_system', 'catalyst');
const PUMP = traits('fuel', 'high', 'fuel_system');
const BOOST = traits('air', 'moderate', 'boost_pressure', 'egr_vvt');
const PEDAL = traits('air', 'high', 'catalyst', 'evap', 'o2_sensor');
const MISFIRE = traits('misfire', 'high', 'misfire', 'catalyst', 'o2_sensor', 'evap');
const KNOCK = traits('ignition', 'moderate', 'catalyst');
const CRANK = traits('ignition', 'high', 'misfire', 'catalyst', 'evap', 'o2_sensor');
const CAM = traits('ignition', 'moderate', 'misfire', 'egr_vvt', 'catalyst');
const COIL = traits('ignition', 'high', 'misfire', 'catalyst');
const GLOW = traits('ignition', 'low', 'nmhc_catalyst');

const cylinders = (count: number, text: (cylinder: number) => string): string[] =>
  Array.from({ length: count }, (_, index) => text(index + 1));

/** From P0261: circuit low, circuit high, contribution, for each of twelve cylinders. */
const INJECTOR_TRIPLES = cylinders(12, (cylinder) => `Injector of cylinder ${cylinder}`).flatMap((name, index) => [
  `${name}: circuit low`,
  `${name}: circuit high`,
  `Cylinder ${index + 1} contributes too much or too little`,
]);

const TIMING_FAULTS = ['circuit fault', 'too many pulses', 'too few pulses', 'erratic pulses', 'no pulses'];

export const ENGINE_ROWS: readonly CodeRow[] = [
  one('P0200', 'Injector circuits: fault', INJECTOR),
  ...run(
    'P0201',
    cylinders(12, (cylinder) => `Injector of cylinder ${cylinder}: circuit fault`),
    INJECTOR,
  ),
  ...run('P0213', ['Cold start injector 1: fault', 'Cold start injector 2: fault'], INJECTOR),
  one('P0215', 'Engine shut-off solenoid: fault', PUMP),
  one('P0216', 'Injection timing control: circuit fault', INJECTOR),
  one('P0217', 'Engine too hot', traits('cooling', 'critical', 'catalyst', 'evap', 'o2_sensor', 'egr_vvt')),
  one('P0218', 'Transmission fluid too hot', traits('transmission', 'critical')),
  one('P0219', 'Engine speed too high', traits('powertrain', 'high')),
  ...sensor('P0220', 'Throttle or pedal position sensor B', PEDAL),
  ...sensor('P0225', 'Throttle or pedal position sensor C', PEDAL),
  ...run(
    'P0230',
    ['primary circuit fault', 'secondary circuit low', 'secondary circuit high', 'secondary circuit intermittent'].map(
      (fault) => `Fuel pump: ${fault}`,
    ),
    PUMP,
  ),
  one('P0234', 'Boost pressure too high', traits('air', 'high', 'boost_pressure')),
  ...sensorFour('P0235', 'Boost pressure sensor A', BOOST),
  ...sensorFour('P0239', 'Boost pressure sensor B', BOOST),
  ...actuator('P0243', 'Wastegate solenoid A', BOOST),
  ...actuator('P0247', 'Wastegate solenoid B', BOOST),
  ...sensor('P0251', 'Injection pump metering control A', PUMP),
  ...sensor('P0256', 'Injection pump metering control B', PUMP),
  ...run('P0261', INJECTOR_TRIPLES, INJECTOR),
  one('P0298', 'Engine oil too hot', traits('lubrication', 'critical', 'catalyst')),
  one('P0299', 'Boost pressure too low', traits('air', 'high', 'boost_pressure', 'egr_vvt')),
  one('P02CD', 'Injector of cylinder 1: learned quantity at its limit', INJECTOR),
  one('P0300', 'Misfire in several or changing cylinders', MISFIRE),
  ...run(
    'P0301',
    cylinders(12, (cylinder) => `Misfire in cylinder ${cylinder}`),
    MISFIRE,
  ),
  one('P0313', 'Misfire while the tank is nearly empty', traits('misfire', 'moderate', 'misfire', 'catalyst')),
  one('P0314', 'Misfire in one cylinder, not identified', MISFIRE),
  one('P0315', 'Crankshaft position variation not learned', traits('ignition', 'low', 'misfire')),
  one('P0316', 'Misfire in the first revolutions after start', MISFIRE),
  one('P0317', 'Rough road hardware not present', traits('chassis', 'low', 'misfire')),
  ...run(
    'P0318',
    ['Rough road sensor A: circuit fault', 'Rough road sensor B: circuit fault'],
    traits('chassis', 'low', 'misfire'),
  ),
  ...run(
    'P0320',
    ['circuit fault', 'signal implausible', 'no signal', 'signal intermittent'].map(
      (fault) => `Ignition speed input: ${fault}`,
    ),
    CRANK,
  ),
  one('P0324', 'Knock control: fault', KNOCK),
  ...sensor('P0325', 'Knock sensor 1', KNOCK),
  ...sensor('P0330', 'Knock sensor 2', KNOCK),
  ...sensor('P0335', 'Crankshaft position sensor A', CRANK),
  ...sensor('P0340', 'Camshaft position sensor A, bank 1', CAM),
  ...sensor('P0345', 'Camshaft position sensor A, bank 2', CAM),
  one('P0350', 'Ignition coil circuits: fault', COIL),
  ...run(
    'P0351',
    [...'ABCDEFGHIJKL'].map((coil) => `Ignition coil ${coil}: circuit fault`),
    COIL,
  ),
  ...sensor('P0365', 'Camshaft position sensor B, bank 1', CAM),
  ...run(
    'P0370',
    TIMING_FAULTS.map((fault) => `Timing reference A: ${fault}`),
    CRANK,
  ),
  ...run(
    'P0375',
    TIMING_FAULTS.map((fault) => `Timing reference B: ${fault}`),
    CRANK,
  ),
  one('P0380', 'Glow plug circuit A: fault', GLOW),
  one('P0381', 'Glow plug lamp: circuit fault', traits('ignition', 'low')),
  one('P0382', 'Glow plug circuit B: fault', GLOW),
  ...sensor('P0385', 'Crankshaft position sensor B', CRANK),
  ...sensor('P0390', 'Camshaft position sensor B, bank 2', CAM),
  ...run(
    'P0671',
    cylinders(8, (cylinder) => `Glow plug of cylinder ${cylinder}: circuit fault`),
    GLOW,
  ),
];
