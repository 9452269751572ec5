import { z } from 'zod';

const clock = z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$/, 'expected a time of day such as 21:00');

/** Kinds of notices; each can be left out. */
export const NOTICE_KINDS = [
  'limit_crossed',
  'entered_top',
  'verdict_changed',
  'upload_overdue',
  'plan_changed',
] as const;
export const noticeKindSchema = z.enum(NOTICE_KINDS);
export type NoticeKind = z.infer<typeof noticeKindSchema>;

/** Ways that may disturb people; the page shows everything at once and disturbs nobody. */
export const DISTURBING_WAYS = ['mail', 'webhook'] as const;
export type DisturbingWay = (typeof DISTURBING_WAYS)[number];

/** Who is told of what, how, and when not. */
export const noticeSettingsSchema = z
  .object({
    kinds: z.array(noticeKindSchema).default([...NOTICE_KINDS]),
    mailTo: z.array(z.email()).max(50).default([]),
    /** Receives one POST for each group of notices. */
    webhook: z
      .url({ protocol: /^https?$/ })
      .nullable()
      .default(null),
    /** What is held waits from `from` to `to`, in the zone of the first depot; what came meanwhile goes out together after. */
    quiet: z.object({ from: clock, to: clock }).strict().nullable().default({ from: '20:00', to: '06:00' }),
    /** What is held goes out as one message for so many minutes. */
    groupMinutes: z.number().int().min(0).max(1440).default(15),
    /** Ways that quiet hours and groups hold back: not a webhook that feeds a system and not a person. */
    held: z.array(z.enum(DISTURBING_WAYS)).default([...DISTURBING_WAYS]),
    /** A vehicle is told of when it comes into the first so many of the ranking. */
    top: z.number().int().min(1).max(100).default(3),
    /** A verdict is told of when its due date is within so many days. */
    dueWithinDays: z.number().int().min(1).max(365).default(45),
    /** Days without an upload after which a vehicle is told of. */
    overdueDays: z.number().int().min(1).max(365).default(10),
  })
  .strict();
export type NoticeSettings = z.infer<typeof noticeSettingsSchema>;

/** GET /v1/notices */
export const noticeListSchema = z.object({
  notices: z.array(
    z.object({
      id: z.string(),
      kind: z.string(),
      vehicle: z.string().nullable(),
      words: z.string(),
      link: z.string().nullable(),
      at: z.string(),
      seen: z.boolean(),
    }),
  ),
});
export type NoticeList = z.infer<typeof noticeListSchema>;
