import {
  CalendarReader,
  daysFromEpoch,
  inspectReport,
  startFromFileName,
  timeNeed,
  withTime,
  ZoneClock,
} from '@tallybay/decode';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bytesOf, planOf, readLog, readRows } from './read-log.js';

describe('ZoneClock', () => {
  const local = (text: string) => Date.parse(`${text}Z`);
  const utc = (zone: string, text: string, previous?: string) =>
    new Date(new ZoneClock(zone).toUtcMs(local(text), previous ? Date.parse(previous) : undefined)).toISOString();

  // IANA time zone database: Europe/Berlin changes at 01:00 UTC on the last Sundays of March and October.
  it('knows summer time', () => {
    expect(utc('Europe/Berlin', '2026-03-29T01:59:59')).toBe('2026-03-29T00:59:59.000Z');
    expect(utc('Europe/Berlin', '2026-03-29T03:00:00')).toBe('2026-03-29T01:00:00.000Z');
    expect(utc('America/Denver', '2026-07-01T12:00:00')).toBe('2026-07-01T18:00:00.000Z');
    expect(utc('Asia/Kathmandu', '2026-07-01T12:00:00')).toBe('2026-07-01T06:15:00.000Z');
  });

  it('reads a skipped wall time with the offset before, a double one as the first', () => {
    expect(utc('Europe/Berlin', '2026-03-29T02:30:00')).toBe('2026-03-29T01:30:00.000Z');
    expect(utc('Europe/Berlin', '2026-10-25T02:30:00')).toBe('2026-10-25T00:30:00.000Z');
  });

  it('takes the second pass of a double hour once the clock has stepped back', () => {
    expect(utc('Europe/Berlin', '2026-10-25T02:00:00', '2026-10-25T00:59:59Z')).toBe('2026-10-25T01:00:00.000Z');
    expect(utc('Europe/Berlin', '2026-10-25T02:30:00', '2026-10-25T00:30:01Z')).toBe('2026-10-25T00:30:00.000Z');
  });

  it('agrees with the calendar of the runtime all year', () => {
    const clocks = ['Europe/Madrid', 'America/New_York', 'Australia/Lord_Howe', 'UTC'].map((zone) => ({
      zone,
      clock: new ZoneClock(zone),
    }));
    fc.assert(
      fc.property(
        fc.integer({ min: Date.UTC(2000, 0, 1), max: Date.UTC(2035, 0, 1) }),
        fc.constantFrom(...clocks),
        (ms, { clock }) => {
          const wall = ms + clock.offsetAt(ms);
          const back = clock.toUtcMs(wall);
          // In a doubled hour the first of two instants is meant.
          return back === ms || (back < ms && ms - back <= 3_600_000 && back + clock.offsetAt(back) === wall);
        },
      ),
      { numRuns: 200 },
    );
  });
});

describe('calendar cells', () => {
  it('count days like the runtime', () => {
    fc.assert(
      fc.property(fc.integer({ min: -20_000, max: 60_000 }), (day) => {
        const date = new Date(day * 86_400_000);
        return daysFromEpoch(date.getUTCFullYear(), date.getUTCMonth() + 1, date.getUTCDate()) === day;
      }),
    );
  });

  it('read ISO 8601 to the millisecond', () => {
    const reader = new CalendarReader();
    fc.assert(
      fc.property(fc.integer({ min: Date.UTC(1990, 0, 1), max: Date.UTC(2099, 0, 1) }), (ms) => {
        const bytes = bytesOf(new Date(ms).toISOString());
        return reader.read(bytes, 0, bytes.length, 'ymd') && reader.dayMs + reader.clockMs - reader.offsetMs === ms;
      }),
    );
  });

  it.each(['12:60:00', '24:00:00', '13:00:00 PM', '0:15:00 AM', '1:2', 'noon', '12:00:00 XM'])('refuse %s', (text) => {
    const bytes = bytesOf(text);
    expect(new CalendarReader().read(bytes, 0, bytes.length, null)).toBe(false);
  });

  it.each([
    ['12:00:00 AM', 0],
    ['12:30:00 PM', 45_000_000],
    ['06:05:25 p. m.', 65_125_000],
    ['8:15', 29_700_000],
    ['08:15:00,5', 29_700_500],
    ['08:15:00.123456', 29_700_123.456],
  ])('read %s', (text, ms) => {
    const reader = new CalendarReader();
    const bytes = bytesOf(text);
    expect(reader.read(bytes, 0, bytes.length, null) && reader.clockMs).toBe(ms);
  });
});

describe('startFromFileName', () => {
  it.each([
    ['2017-07-26_Seat_Leon_S_KA_Normal.csv', '2017-07-26', null],
    ['2018-02-26_x.first4000rows.csv', '2018-02-26', null],
    ['KV12_20260301_081500.csv', '2026-03-01', '08:15:00.000'],
    ['log-2026-03-01T08-15.csv', '2026-03-01', '08:15:00.000'],
    ['C:\\logs\\01.03.2026 08-15-30.csv', '2026-03-01', '08:15:30.000'],
    ['20261301.csv', null, null],
    ['unit 4711.csv', null, null],
    ['serial_9920260301999.csv', null, null],
  ])('%s', (name, date, clock) => {
    expect(startFromFileName(name)).toEqual(date === null ? null : { date, clock });
  });
});

describe('elapsed time', () => {
  const time = (text: string) => {
    const { columns, format } = planOf(bytesOf(text)).time;
    return { columns, format };
  };

  it('has a header in the plural as well', () => {
    expect(time('RPM,timestamps\n800,0.5\n810,0.6\n')).toEqual({ columns: [1], format: 'elapsed-s' });
  });

  // SAE J1979 PID 1F counts seconds since the engine started.
  it('is the run time of the engine where a log has nothing else', () => {
    expect(time('RPM,Engine run time\n800,3\n810,4\n')).toEqual({ columns: [1], format: 'elapsed-s' });
    expect(time('RPM,Engine run time (s),Time (s)\n800,3,0.5\n810,4,1.5\n')).toMatchObject({ columns: [2] });
  });
});

describe('what a plan still needs', () => {
  const clock = planOf(bytesOf('Time,RPM\n23:59:59,800\n00:00:00,810\n'));
  const dated = planOf(bytesOf('Time,RPM\n08:00:00,800\n08:00:01,810\n'), { fileName: '2026-03-01.csv' });
  const elapsed = planOf(bytesOf('Time (s),RPM\n5,800\n6,810\n'));
  const local = planOf(bytesOf('Time,RPM\n2026-03-01 08:00:00,800\n2026-03-01 08:00:01,810\n'));
  const named = planOf(bytesOf('Time (s),RPM\n0,800\n1,810\n'), { fileName: '20260301_080000.csv' });

  it('is said', () => {
    expect([clock, dated, elapsed, local, named].map(timeNeed)).toEqual([
      'time_missing',
      'zone_missing',
      'time_missing',
      'zone_missing',
      'zone_missing',
    ]);
  });

  it('is filled by an answer, and only that', () => {
    const recordedAtMs = Date.parse('2026-03-01T07:00:00Z');
    const berlin = { timeZone: 'Europe/Berlin' };
    const first = (plan: typeof clock, text: string) =>
      new Date(readRows(plan, [bytesOf(text)]).timeMs[0] ?? 0).toISOString();
    expect(timeNeed(withTime(local, { recordedAtMs }))).toBe('zone_missing');
    expect(timeNeed(withTime(clock, berlin))).toBe('time_missing');
    expect(first(withTime(clock, { recordedAtMs }), 'Time,RPM\n23:59:59,800\n')).toBe('2026-03-01T07:00:00.000Z');
    expect(first(withTime(dated, berlin), 'Time,RPM\n08:00:00,800\n')).toBe('2026-03-01T07:00:00.000Z');
    expect(first(withTime(elapsed, { recordedAtMs }), 'Time (s),RPM\n5,800\n')).toBe('2026-03-01T07:00:00.000Z');
    expect(first(withTime(local, berlin), 'Time,RPM\n2026-03-01 08:00:00,800\n')).toBe('2026-03-01T07:00:00.000Z');
    expect(first(withTime(named, berlin), 'Time (s),RPM\n0,800\n')).toBe('2026-03-01T07:00:00.000Z');
    expect(clock.time.startMs).toBeNull();
  });

  it('refuses what is no zone or no instant', () => {
    expect(() => withTime(local, { timeZone: 'Mars/Olympus' })).toThrow(/Mars\/Olympus/);
    expect(() => withTime(elapsed, { recordedAtMs: Number.NaN })).toThrow(/no instant/);
  });

  it('shows instants as far as they are known', () => {
    const firstOf = (text: string, hints = {}) => {
      const log = readLog(bytesOf(text), hints);
      return inspectReport('x.csv', log).time.first;
    };
    expect(firstOf('Time (s),RPM\n12.5,800\n13,800\n')).toBe('PT12.5S');
    expect(firstOf('Time,RPM\n08:00:00,800\n08:00:01,800\n')).toBe('08:00:00.000');
    expect(firstOf('Time,RPM\n08:00:00,800\n08:00:01,800\n', { fileName: '2026-03-01.csv' })).toBe(
      '2026-03-01T08:00:00.000',
    );
    expect(firstOf('Time (UTC),RPM\n2026-03-01 08:00:00,800\n2026-03-01 08:00:01,800\n')).toBe(
      '2026-03-01T08:00:00.000Z',
    );
  });
});
