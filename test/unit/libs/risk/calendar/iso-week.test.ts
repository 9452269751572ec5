// ISO 8601 weeks; 2026 has 53 weeks. Clock changes: IANA zone database.
import { assertIsoWeek, isoWeekOf, shiftWeek, weekWindow } from '@tallybay/risk';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const HOUR = 3_600_000;

describe('ISO weeks', () => {
  it('start on Monday at local midnight; a week with a clock change has 167 or 169 hours', () => {
    const hours = (week: string, zone: string) => {
      const { fromMs, toMs } = weekWindow(week, zone);
      return (toMs - fromMs) / HOUR;
    };
    expect(new Date(weekWindow('2026-W41', 'America/Denver').fromMs).toISOString()).toBe('2026-10-05T06:00:00.000Z');
    expect(hours('2026-W41', 'America/Denver')).toBe(168);
    expect(hours('2026-W10', 'America/Denver')).toBe(167);
    expect(hours('2026-W44', 'America/Denver')).toBe(169);
  });

  it('follow each other without gap or overlap, and every instant lies in its own week', () => {
    const zones = fc.constantFrom('America/Denver', 'Europe/Berlin', 'Asia/Kathmandu', 'UTC');
    fc.assert(
      fc.property(fc.integer({ min: Date.UTC(2000, 0), max: Date.UTC(2040, 0) }), zones, (atMs, zone) => {
        const week = isoWeekOf(atMs, zone);
        const { fromMs, toMs } = weekWindow(week, zone);
        expect(atMs >= fromMs && atMs < toMs).toBe(true);
        expect(weekWindow(shiftWeek(week, 1), zone).fromMs).toBe(toMs);
        expect(shiftWeek(shiftWeek(week, 7), -7)).toBe(week);
      }),
    );
  });

  it('are refused when they do not exist', () => {
    for (const week of ['2027-W53', '2026-W00', '2026-W54', '2026-41', '2026-W4', 'last week', ''])
      expect(() => assertIsoWeek(week), week).toThrow(expect.objectContaining({ code: 'week_invalid' }));
    expect(() => assertIsoWeek('2026-W53')).not.toThrow();
    expect(() => weekWindow('2026-W41', 'Mars/Base')).toThrow(expect.objectContaining({ code: 'parameter_invalid' }));
  });
});
