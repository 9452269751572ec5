import {
  exclusionSchema,
  inspectionKindSchema,
  lakeKeepingSchema,
  noticeSettingsSchema,
  shopSchema,
  signalLimitSchema,
  TallybayError,
} from '@tallybay/contracts';
import { STANDARD_KINDS } from '@tallybay/plan';
import { DEFAULT_RULES, HEAT_SIGNALS, limitConflict, SIGNAL_LIMIT_ROWS, STAGE_NAMES } from '@tallybay/risk';
import { z } from 'zod';
import { kindProblems, type ShopProblem, shopProblems } from './shop-checks.js';

const share = z.number().min(0).max(1);

/** A schema with what its rows say together. */
const checked = <T extends z.ZodType>(schema: T, problemsOf: (value: z.infer<T>) => ShopProblem[]) =>
  schema.superRefine((value, context) => {
    for (const { path, text } of problemsOf(value as z.infer<T>))
      context.addIssue({ code: 'custom', path, message: text });
  });

export interface SettingRow {
  summary: string;
  schema: z.ZodType;
  /** In force until somebody edits it. */
  standard: unknown;
}

/** Every setting there is. Rankings use all but `signal-limits`. */
export const SETTINGS = {
  'ranking-weights': {
    summary: 'How much each component counts: score = 1 - product of (1 - weight x component)',
    schema: z.object({ heat: share, codes: share, readiness: share }).strict(),
    standard: DEFAULT_RULES.weights,
  },
  'heat-stages': {
    summary: 'Temperature limits by signal and vehicle class; rows of a class replace the `*` rows of that signal',
    schema: z
      .array(
        z
          .object({
            signal: z.enum(HEAT_SIGNALS),
            vehicleClass: z.string().min(1).max(40),
            fuel: z.enum(['gas', 'diesel', 'other']).optional(),
            stage: z.enum(STAGE_NAMES),
            valueC: z.number().min(-40).max(1200),
            written: z.string().min(1).max(40),
            source: z.string().min(1).max(400),
          })
          .strict(),
      )
      .max(2000),
    standard: DEFAULT_RULES.stages,
  },
  'signal-limits': {
    summary:
      'Low and high limits on any signal, by class or vehicle; what an upload has beyond them is a crossing. Used from the next upload on',
    schema: z
      .array(signalLimitSchema)
      .max(2000)
      .superRefine((rows, context) => {
        const conflict = limitConflict(rows);
        if (conflict) context.addIssue({ code: 'custom', path: [conflict.index, 'signal'], message: conflict.text });
      }),
    standard: SIGNAL_LIMIT_ROWS,
  },
  'ranking-exclusions': {
    summary:
      'Vehicles, or one component of them, that are left out of the ranking for a while, with reason and last day',
    schema: z.array(exclusionSchema).max(2000),
    standard: DEFAULT_RULES.exclusions,
  },
  'shop-kinds': {
    summary: 'Kinds of inspections: hours, skills, what asks for them, what waiting costs',
    schema: checked(z.array(inspectionKindSchema).max(500), kindProblems),
    standard: STANDARD_KINDS,
  },
  shop: {
    summary: 'The shop: bays, people, opening hours, holidays, spares by class, days in service, travel, how to weigh',
    schema: checked(shopSchema, shopProblems),
    standard: shopSchema.parse({}),
  },
  'lake-keeping': {
    summary: 'Days that rows stay in each table of the lake, and superseded revisions of rankings; null = for ever',
    schema: lakeKeepingSchema,
    standard: lakeKeepingSchema.parse({}),
  },
  notices: {
    summary: 'Who is told of what, how, and when not',
    schema: noticeSettingsSchema,
    standard: noticeSettingsSchema.parse({}),
  },
} as const satisfies Record<string, SettingRow>;

export type SettingName = keyof typeof SETTINGS;

/** @throws TallybayError `record_unknown` */
export function settingRow(name: string): SettingRow {
  if (Object.hasOwn(SETTINGS, name)) return SETTINGS[name as SettingName];
  throw new TallybayError('record_unknown', `There is no setting ${name}`, {
    advice: `The settings are ${Object.keys(SETTINGS).join(', ')}`,
    place: { field: 'name' },
  });
}
