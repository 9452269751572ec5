import type { StoredVisit } from '@tallybay/registry';
import { DateTime } from 'luxon';
import ical, { type VEvent } from 'node-ical';
import { describe, expect, it } from 'vitest';
import { calendarFeed } from '../../../../../apps/api/src/plan/calendar-feed.js';

const visit = (change: Partial<StoredVisit> = {}): StoredVisit => ({
  ...{
    id: 'v1',
    vehicle: 'KV-1',
    vehicleClass: 'van',
    depot: 'north',
    bay: 'bay-1',
    day: '2026-10-30',
    lastDay: '2026-10-30',
  },
  ...{
    parts: [{ day: '2026-10-30', fromMinute: 570, minutes: 90 }],
    minutes: 90,
    person: 'ada',
    state: 'booked',
    pinned: false,
  },
  inspections: [
    {
      id: 'i1',
      kind: 'cooling',
      label: 'Cooling system; pressure, hoses',
      why: ['Coolant at or above 110 °C, 14 min'],
    },
  ],
  ...{ note: null, findings: null, used: [], sequence: 3, version: 4, createdAtMs: 1_790_000_000_000 },
  ...{ updatedAtMs: 1_790_000_600_000, updatedBy: 'ada', cancelledAtMs: null, doneAtMs: null },
  ...change,
});
const on = (day: string, id: string, fromMinute = 570) =>
  visit({ id, day, lastDay: day, parts: [{ day, fromMinute, minutes: 90 }] });
const feed = (visits: StoredVisit[], timeZone = 'America/Denver') =>
  calendarFeed({
    ...{ name: 'Shop plan, Northgate', timeZone, visits },
    ...{ bayNames: new Map([['bay-1', 'Bay 1']]), depotNames: new Map([['north', 'Northgate']]) },
  });
const events = (text: string) =>
  new Map(
    Object.values(ical.sync.parseICS(text)).flatMap((item) =>
      item?.type === 'VEVENT' ? [[(item as VEvent).uid, item as VEvent] as const] : [],
    ),
  );

// RFC 5545: UID (3.8.4.7), SEQUENCE (3.8.7.4), STATUS (3.8.1.11), VTIMEZONE (3.6.5); read back by a library of others.
describe('the calendar feed', () => {
  it('keeps the time of day across both changes of the clocks, in zones on either side of UTC and of the equator', () => {
    for (const [zone, days] of [
      ['America/Denver', ['2026-10-30', '2026-11-02', '2027-03-12', '2027-03-15']],
      ['Europe/Berlin', ['2026-10-23', '2026-10-26', '2027-03-26', '2027-03-29']],
      ['Australia/Sydney', ['2026-10-02', '2026-10-05', '2027-04-02', '2027-04-05']],
    ] as const) {
      const found = events(
        feed(
          days.map((day, index) => on(day, `v${index}`)),
          zone,
        ),
      );
      for (const [index, day] of days.entries()) {
        const start = found.get(`v${index}@tallybay`)!.start;
        expect(start.getTime()).toBe(DateTime.fromISO(`${day}T09:30`, { zone }).toMillis());
      }
    }
  });

  it('writes every change of the offset into its VTIMEZONE', () => {
    const text = feed([on('2026-10-30', 'v1')]).replaceAll('\r\n ', '');
    // Clocks of Denver: back on 1 November 2026 at 02:00 daylight time, forward on 14 March 2027 at 02:00 standard time.
    expect(text).toContain('BEGIN:STANDARD\r\nDTSTART:20261101T020000\r\nTZOFFSETFROM:-0600\r\nTZOFFSETTO:-0700');
    expect(text).toContain('BEGIN:DAYLIGHT\r\nDTSTART:20270314T020000\r\nTZOFFSETFROM:-0700\r\nTZOFFSETTO:-0600');
    expect(text).toContain('DTSTART;TZID=America/Denver:20261030T093000');
  });

  it('has stable ids, counts changes, and cancels', () => {
    const before = events(feed([visit()])).get('v1@tallybay')!;
    const moved = events(feed([visit({ sequence: 4, bay: 'bay-2' })])).get('v1@tallybay')!;
    const gone = events(feed([visit({ sequence: 5, cancelledAtMs: 1 })])).get('v1@tallybay')!;
    expect([before, moved, gone].map(({ sequence }) => Number(sequence))).toEqual([3, 4, 5]);
    expect([before, moved, gone].map(({ status }) => status)).toEqual(['CONFIRMED', 'CONFIRMED', 'CANCELLED']);
    expect(events(feed([visit({ state: 'proposed' })])).get('v1@tallybay')!.status).toBe('TENTATIVE');
    expect(before.summary).toBe('KV-1: Cooling system; pressure, hoses');
    expect(before.location).toBe('Bay 1, Northgate');
  });

  it('has one event a day for work that takes several, and lines of at most 75 octets', () => {
    const parts = [
      { day: '2026-10-30', fromMinute: 480, minutes: 480 },
      { day: '2026-11-02', fromMinute: 480, minutes: 60 },
    ];
    const text = feed([visit({ lastDay: '2026-11-02', parts, minutes: 540 })]);
    expect([...events(text).keys()]).toEqual(['v1@tallybay', 'v1-2@tallybay']);
    expect(text.split('\r\n').every((line) => Buffer.byteLength(line) <= 75)).toBe(true);
  });

  it('cancels the days that a visit no longer takes, and takes one back when the visit grows again', () => {
    const parts = [
      { day: '2026-10-30', fromMinute: 480, minutes: 480 },
      { day: '2026-11-02', fromMinute: 480, minutes: 60 },
    ];
    const [first, second] = parts as [(typeof parts)[0], (typeof parts)[1]];
    const told = (change: Partial<StoredVisit>) =>
      [...events(feed([visit(change)]))].map(([uid, { status, sequence }]) => [uid, status, Number(sequence)]);
    expect(told({ parts, sequence: 3 })[1]).toEqual(['v1-2@tallybay', 'CONFIRMED', 3]);
    expect(told({ parts: [first], formerParts: [second], sequence: 4 })).toEqual([
      ['v1@tallybay', 'CONFIRMED', 4],
      ['v1-2@tallybay', 'CANCELLED', 4],
    ]);
    expect(told({ parts, formerParts: [], sequence: 5 })[1]).toEqual(['v1-2@tallybay', 'CONFIRMED', 5]);
    expect(told({ parts: [first], formerParts: [second], cancelledAtMs: 1, sequence: 6 })).toEqual([
      ['v1@tallybay', 'CANCELLED', 6],
      ['v1-2@tallybay', 'CANCELLED', 6],
    ]);
  });
});
