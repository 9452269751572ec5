// P05xx and P06xx: speed, idle, oil pressure, supply, control modules. Meaning: SAE J2012, from memory.
import { type CodeRow, one, run, sensor, sensorFour, traits } from './code-row.js';

const SPEED = traits('speed and idle', 'moderate', 'catalyst', 'evap', 'o2_sensor');
const IDLE = traits('speed and idle', 'moderate', 'catalyst', 'o2_sensor');
const OIL = traits('lubrication', 'high');
const COMFORT = traits('body', 'low', 'ac_refrigerant');
const STEERING = traits('chassis', 'moderate');
const SUPPLY = traits('electrical', 'moderate', 'evap', 'catalyst', 'o2_sensor');
const CRUISE = traits('speed and idle', 'low');
const MODULE = traits('control module', 'high', 'components');
const OUTPUT = traits('control module', 'low');
const GENERATOR = traits('electrical', 'high');
const REFERENCE = traits('electrical', 'high', 'components');

export const CONTROL_ROWS: readonly CodeRow[] = [
  ...run(
    'P0500',
    [
      'Vehicle speed sensor A: circuit fault',
      'Vehicle speed sensor A: signal implausible',
      'Vehicle speed sensor A: signal low',
      'Vehicle speed sensor A: signal erratic or high',
    ],
    SPEED,
  ),
  one('P0504', 'Brake switches A and B disagree', traits('chassis', 'moderate')),
  ...run(
    'P0505',
    [
      'Idle control: fault',
      'Idle speed too low',
      'Idle speed too high',
      'Idle control: circuit low',
      'Idle control: circuit high',
    ],
    IDLE,
  ),
  one('P0510', 'Closed throttle switch: circuit fault', IDLE),
  ...sensor('P0515', 'Battery temperature sensor', traits('electrical', 'low')),
  ...sensorFour('P0520', 'Engine oil pressure sensor or switch', OIL),
  one('P0524', 'Engine oil pressure too low', traits('lubrication', 'critical')),
  ...run(
    'P0526',
    [
      'Cooling fan speed sensor: circuit fault',
      'Cooling fan speed sensor: signal implausible',
      'Cooling fan speed sensor: no signal',
      'Cooling fan speed sensor: signal intermittent',
    ],
    traits('cooling', 'high'),
  ),
  ...sensorFour('P0530', 'Refrigerant pressure sensor A', COMFORT),
  one('P0534', 'Refrigerant is lost', COMFORT),
  ...sensor('P0550', 'Power steering pressure sensor', STEERING),
  ...sensor('P0555', 'Brake booster pressure sensor', traits('chassis', 'high')),
  ...run(
    'P0560',
    ['System voltage: fault', 'System voltage unstable', 'System voltage too low', 'System voltage too high'],
    SUPPLY,
  ),
  ...run(
    'P0565',
    ['on', 'off', 'resume', 'set', 'coast', 'accelerate'].map((signal) => `Cruise control: ${signal} signal fault`),
    CRUISE,
  ),
  ...run(
    'P0571',
    ['circuit fault', 'circuit low', 'circuit high'].map((fault) => `Brake switch A: ${fault}`),
    traits('chassis', 'moderate'),
  ),
  ...run(
    'P0574',
    [
      'Cruise control: speed too high',
      'Cruise control: input fault',
      'Cruise control: input low',
      'Cruise control: input high',
      'Cruise control: multi-function input A stuck',
      'Cruise control: multi-function input A implausible',
      'Cruise control: multi-function input A low',
      'Cruise control: multi-function input A high',
    ],
    CRUISE,
  ),
  ...run(
    'P0597',
    ['circuit open', 'circuit low', 'circuit high'].map((fault) => `Thermostat heater: ${fault}`),
    traits('cooling', 'moderate', 'evap'),
  ),
  one('P0600', 'Data link between control modules: fault', MODULE),
  ...run(
    'P0601',
    [
      'Control module: program memory checksum wrong',
      'Control module: not programmed',
      'Control module: kept memory lost',
      'Control module: working memory fault',
      'Control module: program memory fault',
      'Control module: processor fault',
      'Control module: does not perform',
    ],
    MODULE,
  ),
  ...run('P0608', ['Control module: speed output A fault', 'Control module: speed output B fault'], OUTPUT),
  one('P0610', 'Control module: vehicle options wrong', MODULE),
  one('P0611', 'Injector control module: does not perform', MODULE),
  one('P0615', 'Starter relay: circuit fault', traits('electrical', 'moderate')),
  ...run('P0616', ['Starter relay: circuit low', 'Starter relay: circuit high'], traits('electrical', 'moderate')),
  ...run(
    'P0620',
    ['Generator: control circuit fault', 'Generator lamp: circuit fault', 'Generator field: circuit fault'],
    GENERATOR,
  ),
  ...run('P0625', ['Generator field: circuit low', 'Generator field: circuit high'], GENERATOR),
  one('P0627', 'Fuel pump A: control circuit open', traits('fuel', 'high', 'fuel_system')),
  one('P0628', 'Fuel pump A: control circuit low', traits('fuel', 'high', 'fuel_system')),
  one('P0629', 'Fuel pump A: control circuit high', traits('fuel', 'high', 'fuel_system')),
  one('P0630', 'Vehicle identification number not stored or does not match', traits('control module', 'moderate')),
  one('P0634', 'Control module too hot inside', traits('control module', 'critical')),
  ...run(
    'P0641',
    ['circuit open', 'circuit low', 'circuit high'].map((fault) => `Sensor supply A: ${fault}`),
    REFERENCE,
  ),
  one('P0645', 'Refrigerant clutch relay: circuit fault', COMFORT),
  one('P0650', 'Malfunction lamp: circuit fault', traits('control module', 'moderate')),
  ...run(
    'P0651',
    ['circuit open', 'circuit low', 'circuit high'].map((fault) => `Sensor supply B: ${fault}`),
    REFERENCE,
  ),
  ...run(
    'P0654',
    ['Engine speed output: circuit fault', 'Engine hot lamp: circuit fault', 'Fuel level output: circuit fault'],
    OUTPUT,
  ),
  ...run(
    'P0685',
    ['circuit open', 'circuit low', 'circuit high'].map((fault) => `Main relay: ${fault}`),
    MODULE,
  ),
  one('P0689', 'Main relay: sensed voltage low', MODULE),
  one('P0690', 'Main relay: sensed voltage high', MODULE),
  ...run(
    'P0691',
    [
      'Cooling fan 1: control circuit low',
      'Cooling fan 1: control circuit high',
      'Cooling fan 2: control circuit low',
      'Cooling fan 2: control circuit high',
    ],
    traits('cooling', 'high'),
  ),
  ...run(
    'P0697',
    ['circuit open', 'circuit low', 'circuit high'].map((fault) => `Sensor supply C: ${fault}`),
    REFERENCE,
  ),
];
