// P07xx, P08xx, P27xx: transmission. Meaning: SAE J2012, from memory.
import { type CodeRow, one, run, sensor, solenoid, traits } from './code-row.js';

const CONTROL = traits('transmission', 'high', 'components');
const RANGE = traits('transmission', 'moderate', 'components', 'catalyst');
const HEAT = traits('transmission', 'moderate');
const SPEED = traits('transmission', 'high', 'misfire', 'catalyst');
const SLIP = traits('transmission', 'high');
const SOLENOID = traits('transmission', 'high', 'components');
const SWITCH = traits('transmission', 'moderate', 'components');
const MINOR = traits('transmission', 'low');

const speedSensor = (first: string, name: string): CodeRow[] =>
  run(
    first,
    ['circuit fault', 'signal implausible', 'no signal', 'signal intermittent'].map((fault) => `${name}: ${fault}`),
    SPEED,
  );

export const TRANSMISSION_ROWS: readonly CodeRow[] = [
  ...run(
    'P0700',
    [
      'Transmission control: asks for the malfunction lamp',
      'Transmission control: does not perform',
      'Transmission control: electrical fault',
    ],
    CONTROL,
  ),
  one('P0703', 'Brake switch B: circuit fault', SWITCH),
  one('P0704', 'Clutch switch: circuit fault', SWITCH),
  ...sensor('P0705', 'Transmission range sensor', RANGE),
  ...sensor('P0710', 'Transmission fluid temperature sensor A', HEAT),
  ...speedSensor('P0715', 'Input shaft speed sensor A'),
  one('P0719', 'Brake switch B: circuit low', SWITCH),
  ...speedSensor('P0720', 'Output shaft speed sensor'),
  one('P0724', 'Brake switch B: circuit high', SWITCH),
  ...speedSensor('P0725', 'Engine speed input to the transmission'),
  one('P0729', 'Gear 6: wrong ratio', SLIP),
  ...run(
    'P0730',
    ['Wrong gear ratio', ...[1, 2, 3, 4, 5].map((gear) => `Gear ${gear}: wrong ratio`), 'Reverse gear: wrong ratio'],
    SLIP,
  ),
  one('P0740', 'Torque converter clutch: circuit fault', SOLENOID),
  one('P0741', 'Torque converter clutch: slips or stuck off', SLIP),
  one('P0742', 'Torque converter clutch: stuck on', SLIP),
  one('P0743', 'Torque converter clutch: electrical fault', SOLENOID),
  one('P0744', 'Torque converter clutch: intermittent', SOLENOID),
  ...solenoid('P0745', 'Pressure control solenoid A', SOLENOID),
  ...solenoid('P0750', 'Shift solenoid A', SOLENOID),
  ...solenoid('P0755', 'Shift solenoid B', SOLENOID),
  ...solenoid('P0760', 'Shift solenoid C', SOLENOID),
  ...solenoid('P0765', 'Shift solenoid D', SOLENOID),
  ...solenoid('P0770', 'Shift solenoid E', SOLENOID),
  ...solenoid('P0775', 'Pressure control solenoid B', SOLENOID),
  ...run(
    'P0780',
    [
      'Shift fault',
      'Shift from 1 to 2: fault',
      'Shift from 2 to 3: fault',
      'Shift from 3 to 4: fault',
      'Shift from 4 to 5: fault',
    ],
    SLIP,
  ),
  ...sensor('P0785', 'Shift timing solenoid', SOLENOID),
  one('P0790', 'Shift mode switch: circuit fault', MINOR),
  ...speedSensor('P0791', 'Intermediate shaft speed sensor A'),
  ...solenoid('P0795', 'Pressure control solenoid C', SOLENOID),
  one('P0801', 'Reverse inhibit: control circuit fault', MINOR),
  one('P0803', 'Skip shift solenoid: control circuit fault', MINOR),
  one('P0804', 'Skip shift lamp: control circuit fault', MINOR),
  one('P0805', 'Clutch position sensor: circuit fault', SWITCH),
  one('P0811', 'Clutch slips too much', SLIP),
  one('P0812', 'Reverse input: circuit fault', SWITCH),
  one('P0840', 'Transmission fluid pressure sensor A: circuit fault', SWITCH),
  ...run(
    'P0841',
    ['signal implausible', 'signal low', 'signal high', 'signal intermittent'].map(
      (fault) => `Transmission fluid pressure sensor A: ${fault}`,
    ),
    SWITCH,
  ),
  ...run(
    'P0867',
    [
      'Transmission fluid pressure: fault',
      'Transmission fluid pressure too low',
      'Transmission fluid pressure too high',
    ],
    SLIP,
  ),
  one('P0894', 'Transmission part slips', SLIP),
  one('P0895', 'Shift takes too little time', SLIP),
  one('P0896', 'Shift takes too long', SLIP),
  one('P0897', 'Transmission fluid worn out', traits('transmission', 'high')),
  ...sensor('P2740', 'Transmission fluid temperature sensor B', HEAT),
  ...run(
    'P2761',
    ['circuit open', 'does not perform', 'circuit high', 'circuit low'].map(
      (fault) => `Torque converter clutch pressure control: ${fault}`,
    ),
    SOLENOID,
  ),
  ...speedSensor('P2765', 'Input shaft speed sensor B'),
  one('P2787', 'Clutch too hot', traits('transmission', 'critical')),
];
