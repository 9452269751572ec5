import type { Fleet, Profile, Vehicle } from '@tallybay/contracts';
import { SIGNALS } from '@tallybay/decode';
import { isoInstant } from '../calendar.js';
import { headerLines, unitLabel } from '../recorder/header.js';
import { recorderChannels } from '../recorder/selection.js';
import { DEPOTS, DISTRICT } from './depots.js';
import type { VehiclePlan } from './plan.js';
import type { RecorderPlan } from './recorders.js';

const SIGNAL_IDS = new Set<string>(SIGNALS.map((signal) => signal.id));

/** Opening of `fleet.json` (contracts: fleetSchema): everything but vehicles, assignments and profiles. */
export function fleetHead(): Pick<Fleet, 'name' | 'depots'> {
  return { name: DISTRICT, depots: DEPOTS.map(({ id, name, timeZone }) => ({ id, name, timeZone })) };
}

export function fleetVehicle(plan: VehiclePlan): Vehicle {
  return {
    id: plan.id,
    name: `${plan.vehicleClass.label} ${101 + plan.index}`,
    vin: plan.vin,
    vehicleClass: plan.vehicleClass.id,
    depot: plan.depot.id,
    route: plan.route,
    modelYear: plan.modelYear,
    fuel: plan.vehicleClass.fuel,
    inspectionDue: plan.inspectionDue,
  };
}

export function fleetAssignments(plan: VehiclePlan): Fleet['assignments'] {
  return plan.recorders.map((row) => ({ recorder: row.serial, vehicle: plan.id, from: isoInstant(row.fromMs) }));
}

/** A saved reading for recorders whose logs do not say enough by themselves. */
export function fleetProfiles(plan: VehiclePlan): Profile[] {
  return plan.recorders.flatMap((row) => {
    if (row.dialect.profile === 'dmy')
      return [{ id: `${row.serial}-dates`, recorder: row.serial, dateOrder: 'dmy' as const }];
    if (row.dialect.profile === 'units') return [unitProfile(plan, row)];
    return [];
  });
}

function unitProfile(plan: VehiclePlan, row: RecorderPlan): Profile {
  const channels = recorderChannels(plan, row);
  const named = headerLines(row.dialect, [], channels).channels;
  const entries = channels.flatMap((channel, index) => {
    const unit = unitLabel(row.dialect, channel);
    if (unit === '' || !SIGNAL_IDS.has(channel.key)) return [];
    return [[(named[index] as { header: string }).header, { signal: channel.key, unit }] as const];
  });
  return { id: `${row.serial}-units`, recorder: row.serial, channels: Object.fromEntries(entries) };
}
