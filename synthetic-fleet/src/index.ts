// A synthetic fleet with known truth: physics of vehicles, growing faults, what real recorders write, and `truth.json` for
// tests and evaluations to compare with. Seeded: the same options give the same bytes. Imports contracts (shapes) and the
// names of the signal catalogue only; never apps, lake, stream or registry, and no clock.
export * from './bench-log.js';
export { addWeeks, parseWeek, weekOf } from './calendar.js';
export type { DriveFeatures } from './codes/features.js';
export { type CodeEvent, CodeMachine } from './codes/machine.js';
export { FAULT_KINDS, type FaultKind, HEALTHY, severityAt } from './faults/kinds.js';
export { coolantReading } from './faults/sensor.js';
export { VEHICLE_CLASSES, type VehicleClassRow } from './fleet/classes.js';
export { DEPOTS } from './fleet/depots.js';
export { fleetProfiles } from './fleet/document.js';
export { planVehicle, type VehiclePlan } from './fleet/plan.js';
export { type DrivePlan, scheduleDrives } from './fleet/schedule.js';
export { makeVin, vinCheckDigit } from './fleet/vin.js';
export { type GeneratedFile, generateFleet, plans } from './generate.js';
export { demoFleet, type FleetOptions, fullFleet, PRESETS, type ResolvedOptions, resolveOptions } from './options.js';
export { DriveSimulation } from './physics/drive.js';
export { planLegs, Route } from './physics/route.js';
export type { DriveState } from './physics/state.js';
export { RandomStream } from './random.js';
export type { RowContext } from './recorder/channel-row.js';
export { CHANNELS, channelsOf } from './recorder/channels.js';
export { makeClock } from './recorder/clock.js';
export { DIALECTS, dialect } from './recorder/dialects.js';
export { RowBuffer } from './recorder/row-buffer.js';
export { recorderChannels } from './recorder/selection.js';
export { DriveRun, type DriveSetup, driveSimulation, type StateWatcher } from './run/drive.js';
export { VehicleLife } from './run/vehicle.js';
export type * from './truth/document.js';
export { type Exposure, ExposureMeter, TRUTH_SIGNALS, TRUTH_STAGES, type TruthSignal } from './truth/exposure.js';
export type * from './truth/manifest.js';
export { type WriteProgress, writeFleet } from './write.js';
