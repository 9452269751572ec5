import { z } from 'zod';

export const depotSchema = z.object({
  id: z.string().min(1).max(40),
  name: z.string().max(120),
  timeZone: z.string().max(60),
});
export type Depot = z.infer<typeof depotSchema>;

/**
 * From an instant on, the vehicle's speed is sensed with other tyres or another final drive than its speedometer was set
 * for. Tyres by their size marking (`245/75R16`).
 */
export const speedCorrectionSchema = z.object({
  from: z.iso.datetime({ offset: true }),
  tyreSetFor: z.string().min(3).max(40),
  tyreFitted: z.string().min(3).max(40),
  finalDriveSetFor: z.number().positive().max(20).optional(),
  finalDriveFitted: z.number().positive().max(20).optional(),
});
export type SpeedCorrection = z.infer<typeof speedCorrectionSchema>;

export const vehicleSchema = z.object({
  id: z.string().min(1).max(80),
  name: z.string().max(120).optional(),
  vin: z.string().max(17).optional(),
  vehicleClass: z.string().min(1).max(40),
  depot: z.string().min(1).max(40),
  /** Round or district that it usually works, as the depot calls it. */
  route: z.string().trim().min(1).max(80).optional(),
  modelYear: z.number().int().min(1950).max(2100).optional(),
  fuel: z.enum(['gas', 'diesel', 'other']).optional(),
  inspectionDue: z.iso.date().optional(),
  /** In force from each `from` until the next one; recorded speed is corrected while decoding, the log stays as it is. */
  speedCorrections: z.array(speedCorrectionSchema).max(50).optional(),
});
export type Vehicle = z.infer<typeof vehicleSchema>;

/** A recorder sits in a vehicle from an instant until the next assignment of the same recorder. */
export const recorderAssignmentSchema = z.object({
  recorder: z.string().min(1).max(80),
  vehicle: z.string().min(1).max(80),
  from: z.iso.datetime({ offset: true }),
});
export type RecorderAssignment = z.infer<typeof recorderAssignmentSchema>;

/** A saved reading of one recorder's logs: overrides what detection would decide. */
export const profileSchema = z.object({
  id: z.string().min(1).max(80),
  /** Applies to logs of this recorder. */
  recorder: z.string().max(80),
  timeZone: z.string().max(60).optional(),
  delimiter: z.enum([',', ';', '\t', '|']).optional(),
  decimal: z.enum(['.', ',']).optional(),
  dateOrder: z.enum(['ymd', 'dmy', 'mdy']).optional(),
  /** Header text -> signal and the unit it is written in; `signal: null` keeps the channel unmapped. */
  channels: z.record(z.string(), z.object({ signal: z.string().nullable(), unit: z.string().optional() })).optional(),
  /** Text of a DBC file that describes further signals of this recorder's raw CAN captures; `channels` maps them. */
  dbc: z.string().max(4_000_000).optional(),
});
export type Profile = z.infer<typeof profileSchema>;

/** POST /v1/fleet: the registry's content for one fleet in one document (as synthetic-fleet writes to `fleet.json`). */
export const fleetSchema = z.object({
  name: z.string(),
  depots: z.array(depotSchema),
  vehicles: z.array(vehicleSchema),
  assignments: z.array(recorderAssignmentSchema).default([]),
  profiles: z.array(profileSchema).default([]),
});
export type Fleet = z.infer<typeof fleetSchema>;
