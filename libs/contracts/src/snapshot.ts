import { z } from 'zod';

/** Lifecycle of a trouble code as the control module reports it (SAE J1979 services 07, 03, 0A). */
export const codeStatusSchema = z.enum(['pending', 'confirmed', 'permanent']);
export type CodeStatus = z.infer<typeof codeStatusSchema>;

export const monitorIdSchema = z.enum([
  'misfire',
  'fuel_system',
  'components',
  'catalyst',
  'heated_catalyst',
  'evap',
  'secondary_air',
  'ac_refrigerant',
  'o2_sensor',
  'o2_heater',
  'egr_vvt',
  'nmhc_catalyst',
  'nox_scr',
  'boost_pressure',
  'exhaust_gas_sensor',
  'pm_filter',
]);
export type MonitorId = z.infer<typeof monitorIdSchema>;

export const snapshotCodeSchema = z.object({
  /** SAE J2012 form (`P0217`) or J1939 form (`SPN 110 FMI 0`). */
  code: z.string().min(3).max(40),
  status: codeStatusSchema,
  /** Control module that reported it, e.g. `engine`, `7E8`, `SA0`. */
  module: z.string().max(60).optional(),
  failureType: z.string().max(8).optional(),
  occurrences: z.number().int().nonnegative().optional(),
});

export const snapshotMonitorSchema = z.object({
  id: monitorIdSchema,
  supported: z.boolean(),
  /** Meaningful only where supported. */
  complete: z.boolean(),
});

/** Counters that a clear (SAE J1979 service 04) resets: PID 30, 31, 4E; and PID 21, 4D that run while the lamp is on. */
export const snapshotCountersSchema = z.object({
  warmUpsSinceClear: z.number().int().nonnegative().optional(),
  distanceSinceClearKm: z.number().nonnegative().optional(),
  minutesSinceClear: z.number().nonnegative().optional(),
  distanceWithLampKm: z.number().nonnegative().optional(),
  minutesWithLamp: z.number().nonnegative().optional(),
});

/** One diagnostic response as bytes; the decode worker reads it (SAE J1979, ISO 15765-4, SAE J1939-73). */
export const rawResponsesSchema = z.object({
  transport: z.enum(['can', 'legacy', 'j1939']),
  /** Hex, one response or frame each, with or without spaces and CAN headers. */
  responses: z.array(z.string().min(2).max(20_000)).min(1).max(2_000),
});

const answered = z.array(z.string().min(1).max(60)).max(100).optional();

/**
 * For each code service, the control modules that answered, named as in `codes`. A service with an entry says nothing about
 * the codes of modules that are not in it; one without an entry was read of the whole vehicle.
 */
export const modulesReadSchema = z.object({ pending: answered, confirmed: answered, permanent: answered }).strict();
export type ModulesRead = z.infer<typeof modulesReadSchema>;

const read = z.enum(['pending', 'confirmed', 'permanent', 'lamp', 'monitors', 'counters']);

export const snapshotSchema = z
  .object({
    vehicle: z.string().min(1).max(80).optional(),
    vin: z.string().max(17).optional(),
    recorder: z.string().min(1).max(80).optional(),
    /** RFC 3339 with offset. */
    time: z.iso.datetime({ offset: true }),
    odometerKm: z.number().nonnegative().optional(),
    engineHours: z.number().nonnegative().optional(),
    lampOn: z.boolean().optional(),
    ignition: z.enum(['spark', 'compression']).optional(),
    /** Omitted: codes were not read. Empty: read, and there were none. */
    codes: z.array(snapshotCodeSchema).max(500).optional(),
    /** Which services were read; by default what the body carries. A service not read says nothing about its codes. */
    read: z.array(read).optional(),
    modulesRead: modulesReadSchema.optional(),
    monitors: z.array(snapshotMonitorSchema).max(32).optional(),
    counters: snapshotCountersSchema.optional(),
    raw: rawResponsesSchema.optional(),
  })
  .strict();
export type SnapshotInput = z.infer<typeof snapshotSchema>;
export type SnapshotCode = z.infer<typeof snapshotCodeSchema>;
export type SnapshotMonitor = z.infer<typeof snapshotMonitorSchema>;
export type SnapshotCounters = z.infer<typeof snapshotCountersSchema>;
