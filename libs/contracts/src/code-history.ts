import { z } from 'zod';

/** Returns of a code in the last 30, 90 and 365 days before the answer. */
export const returnsInSchema = z.object({
  d30: z.number().int(),
  d90: z.number().int(),
  d365: z.number().int(),
});
export type ReturnsIn = z.infer<typeof returnsInSchema>;

/** Where a code stands: its strongest status in the newest snapshot that could show it, or how it went away. */
export const codeStandingSchema = z.enum(['confirmed', 'permanent', 'pending', 'gone', 'cleared']);
export type CodeStanding = z.infer<typeof codeStandingSchema>;

/** A stretch of time in one state. A code may be pending, confirmed (`active`) and permanent at once: spans may overlap. */
export const codeSpanSchema = z.object({
  start: z.string(),
  /** First snapshot that could show it and did not, or the first one after a clear; null = still there. */
  end: z.string().nullable(),
  /** Last snapshot that showed it: between `last` and `end` nobody looked. */
  last: z.string(),
  state: z.enum(['active', 'pending', 'permanent']),
  endedBy: z.enum(['gone', 'cleared']).nullable(),
});
export type CodeSpanReport = z.infer<typeof codeSpanSchema>;

/** It was there, was gone or cleared, and is there again. Null = not recorded at both ends. */
export const codeReturnSchema = z.object({
  at: z.string(),
  after: z.enum(['gone', 'cleared']),
  /** Days and kilometres since it was last seen. */
  days: z.number(),
  km: z.number().nullable(),
  /** Warm-ups counted since the clear when it was seen again; null unless it was cleared. */
  warmUps: z.number().nullable(),
  /** The newest repair between its first sight and this return: the code came back after it. Null = none was noted. */
  repair: z.object({ at: z.string(), label: z.string() }).nullable(),
});
export type CodeReturnReport = z.infer<typeof codeReturnSchema>;

/** A sign that a code was cleared and its cause was not repaired. */
export const clearPatternSchema = z.object({
  kind: z.enum(['cleared_and_back', 'cleared_before_inspection']),
  code: z.string(),
  module: z.string().nullable(),
  /** How often it was cleared, and after how many of those clears it is back. */
  cleared: z.number().int(),
  cameBack: z.number().int(),
  /** When the clears were seen, oldest first. */
  at: z.array(z.string()),
  text: z.string(),
});
export type ClearPatternReport = z.infer<typeof clearPatternSchema>;

/** One code of one control module with everything that happened to it. */
export const codeTimelineSchema = z.object({
  code: z.string(),
  module: z.string().nullable(),
  text: z.string(),
  /** 0..1, by the severity table in force. */
  severity: z.number(),
  status: codeStandingSchema,
  firstSeen: z.string(),
  lastSeen: z.string(),
  /** Newest snapshot that could have shown it; older than `newestSnapshot` when its module or service was not read since. */
  lastRead: z.string(),
  spans: z.array(codeSpanSchema),
  returns: z.array(codeReturnSchema),
  returnsIn: returnsInSchema,
});
export type CodeTimelineReport = z.infer<typeof codeTimelineSchema>;

/** GET /v1/vehicles/{id}/codes. Without snapshots nothing is known: that is not "no codes". */
export const vehicleCodesSchema = z.object({
  vehicle: z.string(),
  asOf: z.string(),
  snapshots: z.number().int(),
  firstSnapshot: z.string().nullable(),
  newestSnapshot: z.string().nullable(),
  /** Newest snapshot that read each service; null = never read. */
  lastRead: z.object({
    confirmed: z.string().nullable(),
    pending: z.string().nullable(),
    permanent: z.string().nullable(),
  }),
  codes: z.array(codeTimelineSchema),
  /** Clears that the counters since clear tell of: they happened after `since` and up to `at`, where they were seen. */
  clears: z.array(
    z.object({
      at: z.string(),
      since: z.string(),
      by: z.literal('counter'),
      why: z.string(),
      /** Confirmed and pending codes that it took away, and those of them that came back. */
      codes: z.array(z.string()),
      cameBack: z.array(z.string()),
    }),
  ),
  patterns: z.array(clearPatternSchema),
});
export type VehicleCodes = z.infer<typeof vehicleCodesSchema>;

const whereSchema = z.object({
  vehicle: z.string(),
  vehicleClass: z.string(),
  depot: z.string(),
  module: z.string().nullable(),
  status: codeStandingSchema,
  firstSeen: z.string(),
  lastSeen: z.string(),
  returnsIn: returnsInSchema,
  lastReturn: codeReturnSchema.nullable(),
  /** Clears that took it away, and after how many of them it came back. */
  cleared: z.number().int(),
  cameBack: z.number().int(),
});

/** Two codes in the same vehicles more often than chance would have it. */
const togetherSchema = z.object({
  codes: z.tuple([z.string(), z.string()]),
  texts: z.tuple([z.string(), z.string()]),
  /** Vehicles that had each, that had both, and that had both at the same time. */
  vehicles: z.tuple([z.number().int(), z.number().int()]),
  both: z.number().int(),
  atOnce: z.number().int(),
  /** Share of all read vehicles that had both. */
  support: z.number(),
  /** How many times more often than if they had nothing to do with each other. */
  lift: z.number(),
  /** Chance of so many or more, by Fisher's exact test; `adjusted` for all pairs that were looked at. */
  p: z.number(),
  adjusted: z.number(),
});

/** A code that new vehicles of a class get faster than before. */
const spreadingSchema = z.object({
  code: z.string(),
  text: z.string(),
  vehicleClass: z.string(),
  /** Vehicles that got it first in each period, and the vehicle-days in which they could have. */
  now: z.object({ newVehicles: z.number().int(), vehicleDays: z.number() }),
  before: z.object({ newVehicles: z.number().int(), vehicleDays: z.number() }),
  /** Vehicles of the class that have it in their newest reading, of those that were read. */
  active: z.number().int(),
  of: z.number().int(),
  /** Rate now over rate before; null when there was none before. */
  ratio: z.number().nullable(),
  p: z.number(),
  adjusted: z.number(),
  vehicles: z.array(z.string()),
});

/** GET /v1/codes?class=&depot=: which codes return where, which come together, which spread. */
export const fleetCodesSchema = z.object({
  asOf: z.string(),
  filters: z.object({
    vehicleClass: z.string().nullable(),
    depot: z.string().nullable(),
    route: z.string().nullable(),
  }),
  /** What the filters can be set to. */
  classes: z.array(z.string()),
  depots: z.array(z.string()),
  routes: z.array(z.string()),
  vehicles: z.number().int(),
  /** Vehicles whose codes were read at least once in the last 400 days; of the others nothing is known. */
  vehiclesRead: z.number().int(),
  /** Codes seen, those that return most first. */
  codes: z.array(
    z.object({
      code: z.string(),
      text: z.string(),
      severity: z.number(),
      /** Vehicles that had it, and that have it now. */
      vehicles: z.number().int(),
      active: z.number().int(),
      returnsIn: returnsInSchema,
      where: z.array(whereSchema),
    }),
  ),
  patterns: z.array(clearPatternSchema.extend({ vehicle: z.string(), depot: z.string() })),
  together: z.object({ method: z.string(), leastVehicles: z.number().int(), pairs: z.array(togetherSchema) }),
  spreading: z.object({
    method: z.string(),
    nowDays: z.number().int(),
    beforeDays: z.number().int(),
    leastVehicles: z.number().int(),
    codes: z.array(spreadingSchema),
  }),
  caution: z.string(),
});
export type FleetCodes = z.infer<typeof fleetCodesSchema>;
