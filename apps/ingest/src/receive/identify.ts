import { type Decision, type ProblemDocument, TallybayError } from '@tallybay/contracts';
import type { Registry } from '@tallybay/registry';

/** What an upload says about where it is from. */
export interface Origin {
  named: string | null;
  vin: string | null;
  recorder: string | null;
  /** Instant of the first row, needed to know where a recorder sat; null while the time is not known. */
  atMs: number | null;
}

export interface Identified {
  vehicle: string | null;
  decisions: Decision[];
  /** Set when the upload must wait: why, and what a person can do. */
  problem: ProblemDocument | null;
}

interface Clue {
  vehicle: string;
  why: string;
}

/**
 * Which vehicle an upload is from: named by the upload, the VIN inside it, or the recorder by its assignment in force at
 * that time. One vehicle from all clues, or the upload waits; nothing is guessed.
 */
export async function identifyVehicle(registry: Registry, origin: Origin): Promise<Identified> {
  if (origin.named !== null && !(await registry.vehicles.get(origin.named))) return unknownVehicle(origin.named);
  const clues = await gatherClues(registry, origin);
  const decisions = clues.map((clue) => ({ what: 'vehicle', value: clue.vehicle, why: clue.why }));
  const vehicles = [...new Set(clues.map((clue) => clue.vehicle))];
  if (vehicles.length === 1) return { vehicle: vehicles[0]!, decisions, problem: null };
  return { vehicle: null, decisions, problem: vehicles.length === 0 ? missing(origin) : contradiction(clues) };
}

async function gatherClues(registry: Registry, origin: Origin): Promise<Clue[]> {
  const clues: Clue[] = [];
  if (origin.named !== null) clues.push({ vehicle: origin.named, why: 'named by the upload' });
  if (origin.vin !== null) {
    const vehicle = await registry.vehicles.findByVin(origin.vin);
    if (vehicle) clues.push({ vehicle: vehicle.id, why: `VIN ${origin.vin} in the log` });
  }
  if (origin.recorder !== null && origin.atMs !== null) {
    const vehicle = await registry.recorders.vehicleAt(origin.recorder, origin.atMs);
    const at = new Date(origin.atMs).toISOString();
    if (vehicle) clues.push({ vehicle, why: `recorder ${origin.recorder} sat there at ${at}` });
  }
  return clues;
}

function unknownVehicle(named: string): Identified {
  const error = new TallybayError('vehicle_unknown', `The vehicle "${named}" is not registered`, {
    advice: `Register "${named}" and release the upload, or release it with the right vehicle.`,
    place: { field: 'vehicle' },
  });
  return { vehicle: null, decisions: [], problem: error.toDocument() };
}

function missing(origin: Origin): ProblemDocument {
  const said = [
    origin.vin ? `the VIN ${origin.vin} belongs to no registered vehicle` : 'the log carries no VIN',
    origin.recorder
      ? origin.atMs === null
        ? `where recorder ${origin.recorder} sat is known only once the log's time is`
        : `recorder ${origin.recorder} had no vehicle at ${new Date(origin.atMs).toISOString()}`
      : 'no recorder is known',
  ].join('; ');
  return new TallybayError('vehicle_missing', `No vehicle: none was named, ${said}`, {
    advice: 'Release the upload with its vehicle, or assign the recorder and release it again.',
  }).toDocument();
}

/** Each vehicle once, with all that speaks for it. */
function contradiction(clues: Clue[]): ProblemDocument {
  const reasons = Map.groupBy(clues, (clue) => clue.vehicle);
  const said = [...reasons].map(([vehicle, its]) => `${vehicle} (${its.map((clue) => clue.why).join(', ')})`);
  return new TallybayError('vehicle_contradiction', `The upload points to different vehicles: ${said.join(', but ')}`, {
    advice: 'Release the upload with the vehicle that it really is from; correct the registry if that is wrong.',
  }).toDocument();
}
