import { fleetAssignments, fleetHead, fleetProfiles, fleetVehicle } from './fleet/document.js';
import { planVehicle, type VehiclePlan } from './fleet/plan.js';
import { type FleetOptions, type ResolvedOptions, resolveOptions, weeksOf } from './options.js';
import { VehicleLife } from './run/vehicle.js';
import { EXPOSURE_RULE } from './truth/document.js';

/**
 * A piece of the fleet's output. `append` pieces continue a file begun earlier, so that no document has to be held whole.
 * `chunks` can be gone through once; what is left of them is gone through when the next piece is asked for.
 */
export interface GeneratedFile {
  path: string;
  kind: 'log' | 'snapshot' | 'document';
  append: boolean;
  chunks: Iterable<Uint8Array>;
}

/**
 * All files of a fleet, piece by piece: `fleet.json`, then vehicle by vehicle its logs and snapshots, while `truth.json`
 * and `manifest.json` grow. Deterministic: the same options give the same bytes. Throws RangeError on impossible options.
 */
export function* generateFleet(options: FleetOptions): Generator<GeneratedFile> {
  const resolved = resolveOptions(options);
  yield* fleetDocument(resolved);
  yield piece('truth.json', false, truthHead(resolved));
  yield piece('manifest.json', false, '{\n "version": 1,\n "files": [');
  let files = 0;
  for (const plan of plans(resolved)) {
    const life = new VehicleLife(resolved, plan);
    for (const file of life.files()) {
      yield { path: file.path, kind: file.kind, append: false, chunks: file.chunks };
      yield piece('manifest.json', true, row(files++, file.entry()));
    }
    yield piece('truth.json', true, row(plan.index, life.truth()));
  }
  for (const path of ['truth.json', 'manifest.json']) yield piece(path, true, '\n ]\n}\n');
}

/** Plans of all vehicles, in order. */
export function* plans(options: ResolvedOptions): Generator<VehiclePlan> {
  for (let index = 0; index < options.vehicles; index += 1) yield planVehicle(options, index);
}

function* fleetDocument(options: ResolvedOptions): Generator<GeneratedFile> {
  const head = JSON.stringify(fleetHead(), null, 1).replace(/\n}$/, '');
  yield piece('fleet.json', false, `${head},\n "vehicles": [`);
  for (const plan of plans(options)) yield piece('fleet.json', true, row(plan.index, fleetVehicle(plan)));
  for (const [name, list] of [
    ['assignments', fleetAssignments],
    ['profiles', fleetProfiles],
  ] as const) {
    yield piece('fleet.json', true, `\n ],\n "${name}": [`);
    let written = 0;
    for (const plan of plans(options))
      for (const item of list(plan)) yield piece('fleet.json', true, row(written++, item));
  }
  yield piece('fleet.json', true, '\n ]\n}\n');
}

function truthHead(options: ResolvedOptions): string {
  const head = { version: 1, options, weeks: weeksOf(options), rule: EXPOSURE_RULE };
  return `${JSON.stringify(head, null, 1).replace(/\n}$/, '')},\n "vehicles": [`;
}

function row(index: number, value: unknown): string {
  return `${index > 0 ? ',' : ''}\n  ${JSON.stringify(value)}`;
}

function piece(path: string, append: boolean, text: string): GeneratedFile {
  return { path, kind: 'document', append, chunks: [Buffer.from(text)] };
}
