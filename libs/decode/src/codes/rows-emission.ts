// P04xx and the after-treatment codes of P14xx to P24xx that are generic. Meaning: SAE J2012, from memory.
import { type CodeRow, one, run, sensor, sensorFour, traits } from './code-row.js';

const EGR = traits('emission', 'moderate', 'egr_vvt');
const AIR = traits('emission', 'moderate', 'secondary_air');
const CATALYST = traits('exhaust', 'moderate', 'catalyst');
const HEATED = traits('exhaust', 'moderate', 'heated_catalyst', 'catalyst');
const EVAP = traits('evaporative', 'low', 'evap');
const LEVEL = traits('fuel', 'low', 'evap');
const PRESSURE = traits('exhaust', 'moderate', 'pm_filter', 'egr_vvt');
const FAN = traits('cooling', 'high', 'evap');
const FILTER = traits('exhaust', 'high', 'pm_filter');
const SCR = traits('exhaust', 'high', 'nox_scr');
const EGT = traits('exhaust', 'moderate', 'pm_filter', 'nmhc_catalyst', 'exhaust_gas_sensor');
const FLUID = traits('exhaust', 'high', 'nox_scr');

const catalystFaults = (bank: number): string[] => [
  `Catalyst, bank ${bank}: cleans too little`,
  `Warm-up catalyst, bank ${bank}: cleans too little`,
  `Main catalyst, bank ${bank}: cleans too little`,
];
const heatedFaults = (bank: number): string[] => [
  `Heated catalyst, bank ${bank}: cleans too little`,
  `Heated catalyst, bank ${bank}: stays too cold`,
];

export const EMISSION_ROWS: readonly CodeRow[] = [
  ...run(
    'P0400',
    [
      'Exhaust gas recirculation: flow fault',
      'Exhaust gas recirculation: too little flow',
      'Exhaust gas recirculation: too much flow',
      'Exhaust gas recirculation: control circuit fault',
      'Exhaust gas recirculation: valve does not follow its command',
    ],
    EGR,
  ),
  ...run(
    'P0405',
    ['A: signal low', 'A: signal high', 'B: signal low', 'B: signal high', 'A: circuit fault'].map(
      (fault) => `Exhaust gas recirculation sensor ${fault}`,
    ),
    EGR,
  ),
  ...run(
    'P0410',
    [
      'Secondary air: fault',
      'Secondary air: wrong flow',
      'Secondary air valve A: circuit fault',
      'Secondary air valve A: circuit open',
      'Secondary air valve A: circuit shorted',
      'Secondary air valve B: circuit fault',
      'Secondary air valve B: circuit open',
      'Secondary air valve B: circuit shorted',
      'Secondary air pump relay A: circuit fault',
      'Secondary air pump relay B: circuit fault',
    ],
    AIR,
  ),
  ...run('P0420', catalystFaults(1), CATALYST),
  ...run('P0423', heatedFaults(1), HEATED),
  ...sensorFour('P0425', 'Catalyst temperature sensor, bank 1', CATALYST),
  one('P0429', 'Catalyst heater, bank 1: control circuit fault', HEATED),
  ...run('P0430', catalystFaults(2), CATALYST),
  ...run('P0433', heatedFaults(2), HEATED),
  ...run(
    'P0440',
    [
      'Evaporative system: fault',
      'Evaporative system: wrong purge flow',
      'Evaporative system: small leak',
      'Purge valve: circuit fault',
      'Purge valve: circuit open',
      'Purge valve: circuit shorted',
      'Evaporative vent: control circuit fault',
      'Evaporative vent: circuit open',
      'Evaporative vent: circuit shorted',
      'Evaporative vent valve: circuit fault',
    ],
    EVAP,
  ),
  ...sensor('P0450', 'Evaporative pressure sensor', EVAP),
  ...run(
    'P0455',
    [
      'Evaporative system: large leak',
      'Evaporative system: very small leak',
      'Evaporative system: leak, cap loose or missing',
      'Purge valve: circuit low',
      'Purge valve: circuit high',
    ],
    EVAP,
  ),
  ...sensor('P0460', 'Fuel level sensor A', LEVEL),
  ...sensor('P0465', 'Purge flow sensor', EVAP),
  ...sensor('P0470', 'Exhaust pressure sensor A', PRESSURE),
  ...sensor('P0475', 'Exhaust pressure control valve', PRESSURE),
  ...run(
    'P0480',
    [
      'Cooling fan 1: control circuit fault',
      'Cooling fan 2: control circuit fault',
      'Cooling fan 3: control circuit fault',
      'Cooling fan: does not do what it is told',
      'Cooling fan: current too high',
      'Cooling fan: supply or ground fault',
    ],
    FAN,
  ),
  ...run(
    'P0486',
    [
      'Exhaust gas recirculation sensor B: circuit fault',
      'Exhaust gas recirculation throttle A: circuit open',
      'Exhaust gas recirculation throttle A: does not follow its command',
      'Exhaust gas recirculation control: circuit low',
      'Exhaust gas recirculation control: circuit high',
    ],
    EGR,
  ),
  one('P0491', 'Secondary air, bank 1: too little flow', AIR),
  one('P0492', 'Secondary air, bank 2: too little flow', AIR),
  ...run('P0493', ['Cooling fan: runs too fast', 'Cooling fan: runs too slowly', 'Cooling fan: speed too high'], FAN),
  one('P0496', 'Evaporative system: flows when it should not', EVAP),
  one('P0497', 'Evaporative system: purge flow too low', EVAP),
  one('P0498', 'Evaporative vent valve: circuit low', EVAP),
  one('P0499', 'Evaporative vent valve: circuit high', EVAP),
  ...run(
    'P0544',
    ['circuit fault', 'signal low', 'signal high'].map((fault) => `Exhaust gas temperature sensor B1S1: ${fault}`),
    EGT,
  ),
  one('P2428', 'Exhaust gas too hot, bank 1', traits('exhaust', 'critical', 'pm_filter', 'catalyst')),
  one('P2429', 'Exhaust gas too hot, bank 2', traits('exhaust', 'critical', 'pm_filter', 'catalyst')),
  ...sensor('P2452', 'Particulate filter differential pressure sensor', FILTER),
  one('P2457', 'Exhaust gas recirculation cooler: cools too little', traits('cooling', 'high', 'egr_vvt')),
  one('P2458', 'Particulate filter regeneration takes too long', FILTER),
  one('P2459', 'Particulate filter regenerates too often', FILTER),
  one('P2463', 'Particulate filter full of soot', FILTER),
  one('P242F', 'Particulate filter full of ash', FILTER),
  one('P244A', 'Particulate filter: pressure drop too low', FILTER),
  one('P244B', 'Particulate filter: pressure drop too high', FILTER),
  one('P20EE', 'NOx catalyst, bank 1: cleans too little', SCR),
  one('P20E8', 'Exhaust fluid pressure too low', FLUID),
  one('P20E9', 'Exhaust fluid pressure too high', FLUID),
  one('P202A', 'Exhaust fluid tank heater: circuit open', FLUID),
  one('P203B', 'Exhaust fluid level sensor: signal implausible', FLUID),
  one('P203F', 'Exhaust fluid level too low', FLUID),
  one('P204F', 'Exhaust fluid system, bank 1: does not perform', FLUID),
  one('P205B', 'Exhaust fluid temperature sensor: signal implausible', FLUID),
  one('P207F', 'Exhaust fluid quality wrong', FLUID),
  one('P20BA', 'Exhaust fluid heater A: does not perform', FLUID),
  one('P220A', 'NOx sensor supply, bank 1: circuit fault', SCR),
  one('P229F', 'NOx sensor, bank 1, downstream: signal implausible', SCR),
  one('P2BAD', 'NOx above its limit, cause not known', SCR),
  one('P24A4', 'Particulate filter restricted: soot too high', FILTER),
];
