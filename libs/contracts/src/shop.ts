import { z } from 'zod';

const id = z.string().min(1).max(60);
const words = z.array(z.string().min(1).max(40)).max(30).default([]);
const clock = z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$/, 'expected a time of day such as 07:30');
const span = z.object({ from: z.iso.date(), to: z.iso.date() });
const weekdays = z.array(z.number().int().min(1).max(7)).max(7);

/** What a finding is known by: the source that it comes from and, where given, what it must be about. */
export const inspectionSourceSchema = z.enum([
  'heat',
  'codes',
  'returning_code',
  'readiness',
  'inspection_due',
  'sensor',
  'calendar',
]);
export type InspectionSource = z.infer<typeof inspectionSourceSchema>;

/** One kind of inspection: what it takes, which findings ask for it, and what waiting costs. */
export const inspectionKindSchema = z
  .object({
    id,
    label: z.string().min(1).max(120),
    /** Estimated work in the bay [min]. */
    minutes: z.number().int().min(5).max(4800),
    /** Skills that the person in the bay must have. */
    skills: words,
    /** What the bay must have, such as `pit`. */
    features: words,
    /** Findings that ask for it; `match` is a part of the finding's text or code, in lower case; absent = all of the source. */
    askedBy: z
      .array(z.object({ source: inspectionSourceSchema, match: z.string().max(60).optional() }))
      .max(40)
      .default([]),
    /** Days from today to the first day it can be done (parts, notice to the driver). */
    leadDays: z.number().int().min(0).max(60),
    /** Days from today within which it should be done; a due date on the vehicle prevails. */
    withinDays: z.number().int().min(1).max(400),
    /** Expected cost of one day of waiting for a finding of weight 1, in the shop's cost units. */
    costPerDay: z.number().min(0).max(100_000),
    /** Cost of one day past the latest date, on top. */
    latePerDay: z.number().min(0).max(100_000),
    /** Service intervals, for kinds that the calendar asks for. */
    every: z
      .object({ days: z.number().positive(), engineHours: z.number().positive(), km: z.number().positive() })
      .partial()
      .optional(),
    source: z.string().min(1).max(300),
  })
  .strict();
export type InspectionKind = z.infer<typeof inspectionKindSchema>;

export const baySchema = z
  .object({
    id,
    name: z.string().min(1).max(80),
    depot: id,
    features: words,
    /** Closed spans, both days included. */
    closed: z.array(span).max(100).default([]),
  })
  .strict();
export type Bay = z.infer<typeof baySchema>;

/** A person works a bay of their depot for a whole day, during the shop's hours, on these weekdays (1 = Monday). */
export const shopPersonSchema = z
  .object({
    id,
    name: z.string().min(1).max(80),
    depot: id,
    skills: words,
    weekdays: weekdays.default([1, 2, 3, 4, 5]),
    absent: z.array(span).max(200).default([]),
  })
  .strict();
export type ShopPerson = z.infer<typeof shopPersonSchema>;

/** How the planner weighs; all of it judgement, no source. */
export const planRulesSchema = z
  .object({
    /** Calendar days that are planned ahead. */
    horizonDays: z.number().int().min(1).max(120).default(28),
    /** Cost of moving a visit that is booked to another day; another bay on the same day costs a quarter. */
    moveCost: z.number().min(0).max(100_000).default(60),
    /** Cost of one hour on the road between depots. */
    travelCostPerHour: z.number().min(0).max(100_000).default(40),
    /** What is not planned within the horizon is taken to wait so many days beyond it. */
    beyondDays: z.number().int().min(1).max(365).default(14),
    /** Findings that weigh less ask for nothing. */
    leastWeight: z.number().min(0).max(1).default(0.1),
  })
  .strict();
export type PlanRules = z.infer<typeof planRulesSchema>;

/** The shop: what there is to plan with. */
export const shopSchema = z
  .object({
    bays: z.array(baySchema).max(200).default([]),
    people: z.array(shopPersonSchema).max(500).default([]),
    /** Opening hours; a weekday without a row is closed. */
    hours: z
      .array(z.object({ depot: id, weekday: z.number().int().min(1).max(7), from: clock, to: clock }).strict())
      .max(700)
      .default([]),
    /** Without a depot: everywhere. */
    holidays: z
      .array(z.object({ date: z.iso.date(), name: z.string().max(80), depot: id.optional() }).strict())
      .max(1000)
      .default([]),
    /** Vehicles of a class that may be in the shop on one day; of one depot where given. A class without a row has no limit. */
    spares: z
      .array(
        z
          .object({ vehicleClass: z.string().min(1).max(40), depot: id.optional(), count: z.number().int().min(0) })
          .strict(),
      )
      .max(500)
      .default([]),
    /** Weekdays on which vehicles must be in service and cannot come; a row of the vehicle replaces those of its class. */
    inService: z
      .array(z.object({ vehicle: id.optional(), vehicleClass: z.string().max(40).optional(), weekdays }).strict())
      .max(5000)
      .default([]),
    /** One way, either direction [min]. Depots without a row do not send vehicles to each other. */
    travel: z
      .array(z.object({ from: id, to: id, minutes: z.number().int().min(0).max(1440) }).strict())
      .max(1000)
      .default([]),
    rules: planRulesSchema.default(planRulesSchema.parse({})),
  })
  .strict();
export type Shop = z.infer<typeof shopSchema>;
