import { type Depot, type Fleet, type Profile, TallybayError, type Vehicle } from '@tallybay/contracts';
import { profileTaken } from './profiles.js';
import { rowFromVehicle, unknownDepot, vinTaken } from './vehicles.js';

interface KnownRecords {
  depots: Depot[];
  vehicles: Vehicle[];
  profiles: Profile[];
}

/**
 * Every reference in the document leads somewhere, and nothing is claimed twice.
 * @throws TallybayError `body_invalid` with the field of the first contradiction
 */
export function checkFleet(fleet: Fleet, known: KnownRecords): void {
  for (const list of ['depots', 'vehicles', 'profiles'] as const) refuseTwice(fleet[list], list);
  const depots = new Set([...known.depots, ...fleet.depots].map((depot) => depot.id));
  for (const [index, vehicle] of fleet.vehicles.entries())
    if (!depots.has(vehicle.depot)) throw unknownDepot(vehicle.depot, `vehicles.${index}.depot`);
  checkVins(fleet.vehicles, known.vehicles);
  checkAssignments(fleet, known);
  checkProfiles(fleet.profiles, known.profiles);
}

function refuseTwice(records: readonly { id: string }[], list: string): void {
  const seen = new Set<string>();
  for (const [index, { id }] of records.entries()) {
    if (seen.has(id))
      throw contradiction(`${list}.${index}.id`, `${id} is in the document twice`, 'Keep one of the two');
    seen.add(id);
  }
}

function checkVins(vehicles: readonly Vehicle[], known: readonly Vehicle[]): void {
  const inDocument = new Set(vehicles.map((vehicle) => vehicle.id));
  const holders = new Map<string, string>();
  for (const { id, vin } of known) if (vin !== undefined && !inDocument.has(id)) holders.set(vin, id);
  for (const [index, vehicle] of vehicles.entries()) {
    const { vin } = rowFromVehicle(vehicle);
    if (vin === null) continue;
    const holder = holders.get(vin);
    if (holder !== undefined) throw vinTaken(vin, holder, `vehicles.${index}.vin`);
    holders.set(vin, vehicle.id);
  }
}

function checkAssignments(fleet: Fleet, known: KnownRecords): void {
  const vehicles = new Set([...known.vehicles, ...fleet.vehicles].map((vehicle) => vehicle.id));
  const seen = new Map<string, string>();
  for (const [index, { recorder, vehicle, from }] of fleet.assignments.entries()) {
    if (!vehicles.has(vehicle))
      throw contradiction(`assignments.${index}.vehicle`, `there is no vehicle ${vehicle}`, 'Add it to the document');
    const key = `${Date.parse(from)} ${recorder}`;
    const other = seen.get(key);
    if (other !== undefined && other !== vehicle)
      throw contradiction(
        `assignments.${index}.from`,
        `the recorder ${recorder} cannot be in ${other} and ${vehicle} at ${from}`,
        'Correct one of the two',
      );
    seen.set(key, vehicle);
  }
}

function checkProfiles(profiles: readonly Profile[], known: readonly Profile[]): void {
  const inDocument = new Set(profiles.map((profile) => profile.id));
  const holders = new Map<string, string>();
  for (const { id, recorder } of known) if (!inDocument.has(id)) holders.set(recorder, id);
  for (const [index, { id, recorder }] of profiles.entries()) {
    const holder = holders.get(recorder);
    if (holder !== undefined) throw profileTaken(recorder, holder, `profiles.${index}.recorder`);
    holders.set(recorder, id);
  }
}

function contradiction(field: string, what: string, advice: string): TallybayError {
  return new TallybayError('body_invalid', `${field}: ${what}`, { advice, place: { field } });
}
