import type { FaultKind } from '../faults/kinds.js';
import type { SensorFaultKind } from '../faults/sensor.js';
import type { RandomStream } from '../random.js';
import type { VehicleClassId } from './classes.js';

/** What a vehicle is in the fleet for. One row makes one vehicle of a block of 24. */
export interface RoleRow {
  id: string;
  /** Vehicle classes it can be; all when absent. */
  classes?: readonly VehicleClassId[];
  /** Grows to a breakdown shortly after the last week, so that the last full week is hot. */
  fault?: readonly FaultKind[];
  sensorFault?: SensorFaultKind;
  /** A code that the shop clears without repair, again and again. */
  returningCode?: true;
  /** Clears without repair a day or two before the inspection date. */
  hiddenClear?: true;
  tenMinutes?: true;
  withoutCoolant?: true;
  recorderMove?: 'from' | 'to';
  /** How one of its uploads misleads. */
  upload?: 'no_vehicle' | 'contradiction';
}

/** The first 24 vehicles always hold each of these once (in an order that the seed decides). */
export const FIRST_BLOCK: readonly RoleRow[] = [
  { id: 'clogged_radiator', fault: ['clogged_radiator'], classes: ['service_pickup', 'van'] },
  { id: 'weak_fan_clutch', fault: ['weak_fan_clutch'] },
  { id: 'coolant_fault', fault: ['low_coolant', 'thermostat_stuck_closed'] },
  {
    id: 'slipping_transmission',
    fault: ['slipping_transmission'],
    classes: ['van', 'crew_bus', 'diesel_flatbed', 'vacuum_truck'],
  },
  { id: 'charge_air_cooler', fault: ['blocked_charge_air_cooler'] },
  { id: 'thermostat_open', fault: ['thermostat_stuck_open'] },
  { id: 'stuck_sensor', sensorFault: 'stuck_high' },
  { id: 'open_circuit', sensorFault: 'open_circuit' },
  { id: 'sensor_drift', sensorFault: 'drift' },
  { id: 'wrong_unit', sensorFault: 'wrong_unit' },
  { id: 'ten_minutes', tenMinutes: true, classes: ['service_pickup'] },
  { id: 'no_coolant_channel', withoutCoolant: true, classes: ['van', 'service_pickup'] },
  { id: 'returning_code', returningCode: true },
  { id: 'hidden_clear', hiddenClear: true, classes: ['van', 'service_pickup'] },
  { id: 'recorder_moved_from', recorderMove: 'from' },
  { id: 'recorder_moved_to', recorderMove: 'to' },
  { id: 'upload_without_vehicle', upload: 'no_vehicle' },
  { id: 'upload_contradiction', upload: 'contradiction' },
  ...Array.from({ length: 6 }, () => ({ id: 'healthy' })),
];

const HEAT_KINDS: readonly FaultKind[] = [
  'clogged_radiator',
  'weak_fan_clutch',
  'low_coolant',
  'thermostat_stuck_closed',
  'slipping_transmission',
  'blocked_charge_air_cooler',
];

/** Every later block: one vehicle in six with a growing fault somewhere in the window, some sensor and code faults. */
export const LATER_BLOCK: readonly RoleRow[] = [
  ...Array.from({ length: 4 }, () => ({ id: 'growing_fault', fault: HEAT_KINDS })),
  { id: 'sensor_drift', sensorFault: 'drift' },
  { id: 'stuck_sensor', sensorFault: 'stuck_high' },
  { id: 'returning_code', returningCode: true },
  { id: 'returning_code', returningCode: true },
  ...Array.from({ length: 16 }, () => ({ id: 'healthy' })),
];

export const BLOCK_SIZE = 24;

/** Role of the vehicle with this index. Depends on the seed and the index alone, never on the size of the fleet. */
export function roleOf(fleet: RandomStream, index: number): RoleRow {
  return blockRoles(fleet, Math.floor(index / BLOCK_SIZE))[index % BLOCK_SIZE] as RoleRow;
}

/** Index of the vehicle that gives its recorder away (first block only). */
export function recorderDonor(fleet: RandomStream): number {
  return blockRoles(fleet, 0).findIndex((role) => role.recorderMove === 'from');
}

/** Roles of a block of 24 vehicles, in vehicle order. */
export function blockRoles(fleet: RandomStream, block: number): RoleRow[] {
  return fleet.split('roles', block).shuffled(block === 0 ? FIRST_BLOCK : LATER_BLOCK);
}
