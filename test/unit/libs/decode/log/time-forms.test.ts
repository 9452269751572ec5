import { CalendarReader, inspectReport, type PlanHints, planLog, type SignalId, timeNeed } from '@tallybay/decode';
import { describe, expect, it } from 'vitest';
import { bytesOf, column, planOf, readLog, readRows } from './read-log.js';

const log = (header: string, ...rows: string[]) => bytesOf(`${[header, ...rows].join('\n')}\n`);

/** Times of the rows as the log gives them, and what the plan made of them. */
function timesOf(bytes: Uint8Array, hints: PlanHints = {}) {
  const plan = planOf(bytes, hints);
  const { timeMs, counts } = readRows(plan, [bytes]);
  return { plan, counts, times: timeMs.map((ms) => new Date(ms).toISOString()) };
}

/** A log of one row a second, with the time cells that `cells` writes. */
function seconds(header: string, startIso: string, count: number, cells: (at: Date) => string) {
  const rows = Array.from(
    { length: count },
    (_, i) => `${cells(new Date(Date.parse(startIso) + i * 1000))},${800 + i}`,
  );
  return log(`${header},RPM`, ...rows);
}

const two = (value: number) => String(value).padStart(2, '0');
const hhmmss = (at: Date) => two(at.getUTCHours()) + two(at.getUTCMinutes()) + two(at.getUTCSeconds());

describe('a date whose year stands last', () => {
  // ISO C 7.27.3.1 (asctime) and the POSIX `date` utility print these; zone names by RFC 5322 section 4.3.
  it.each([
    ['Wed Jun 10 14:03:22 2026', '2026-06-10T14:03:22.000Z', 'dmy'],
    ['Fri Jun  5 04:03:22 2026', '2026-06-05T04:03:22.000Z', 'dmy'],
    ['Wed Jun 10 14:03:22 GMT-06:00 2026', '2026-06-10T20:03:22.000Z', 'dmy-offset'],
    ['Wed Jun 10 14:03:22 MDT 2026', '2026-06-10T20:03:22.000Z', 'dmy-offset'],
    ['Wed Jun 10 02:03:22 PM CEST 2026', '2026-06-10T12:03:22.000Z', 'dmy-offset'],
    ['Mi 10. Jun 14:03:22 CEST 2026', '2026-06-10T12:03:22.000Z', 'dmy-offset'],
    ['10-Jun-2026 14:03:22.123', '2026-06-10T14:03:22.123Z', 'dmy'],
  ])('%s', (cell, instant, format) => {
    const { plan, times } = timesOf(log('Time,RPM', `${cell},800`, `${cell},810`), { timeZone: 'UTC' });
    expect(plan.time.format).toBe(format);
    expect(times[0]).toBe(instant);
  });

  it('agrees with the runtime, which reads the same text', () => {
    const text = 'Wed Jun 10 14:03:22 GMT-0600 2026';
    const reader = new CalendarReader();
    expect(reader.read(bytesOf(text), 0, text.length, 'dmy')).toBe(true);
    expect(reader.dayMs + reader.clockMs - reader.offsetMs).toBe(Date.parse(text));
  });

  it.each(['Wed Jun 10 14:03:22', 'Wed Jun 10 14:03:22 26', 'Wed Jun 31 14:03:22 2026', 'Jun 10 14:03:22 2026 x'])(
    'refuses %s',
    (text) => {
      expect(new CalendarReader().read(bytesOf(text), 0, text.length, 'dmy')).toBe(false);
    },
  );
});

describe('a clock without a zone beside one that states its offset', () => {
  const rows = (gps: string, device: string) =>
    log(
      'Satellite time,Recorder time,RPM',
      ...[22, 23, 24].map((s) => `${gps.replace('SS', `${s}`)},${device.replace('SS', `${s}`)},800`),
    );

  it.each([
    ['Wed Jun 10 14:03:SS GMT-06:00 2026', '10-Jun-2026 14:03:SS.123'],
    ['Wed Jun 10 20:03:SS GMT+00:00 2026', '10-Jun-2026 14:03:SS.123'],
  ])('%s beside %s', (gps, device) => {
    const { plan, times } = timesOf(rows(gps, device));
    expect(plan.time).toMatchObject({ columns: [1], timeZone: '-06:00' });
    expect(plan.decisions).toContainEqual(
      expect.objectContaining({
        what: 'time zone',
        why: expect.stringContaining('"Satellite time" states its own offset'),
      }),
    );
    expect(times[0]).toBe('2026-06-10T20:03:22.123Z');
    expect(timeNeed(plan)).toBeNull();
  });

  it('waits where the two clocks do not agree', () => {
    const { plan } = timesOf(rows('Wed Jun 10 20:03:SS GMT+00:00 2026', '10-Jun-2026 14:10:SS.123'));
    expect([plan.time.timeZone, timeNeed(plan)]).toEqual([null, 'zone_missing']);
  });
});

describe('dates and clocks as bare digits', () => {
  const short = (at: Date) => two(at.getUTCDate()) + two(at.getUTCMonth() + 1) + two(at.getUTCFullYear() % 100);

  // NMEA 0183 RMC writes ddmmyy, other recorders yymmdd: 10 June 2026 and 26 June 2010 are both days of recorders.
  it('wait when nothing tells their order', () => {
    const bytes = seconds('UTC Date,UTC Time', '2026-06-10T14:03:22Z', 30, (at) => `${short(at)},${hhmmss(at)}.00`);
    const { plan, times } = timesOf(bytes);
    expect(plan.time).toMatchObject({ columns: [0, 1], format: 'dmy-or-mdy' });
    expect(timeNeed(plan)).toBe('time_missing');
    expect(times.at(-1)).toContain('14:03:51.000');
    expect(timesOf(bytes, { profile: { dateOrder: 'dmy' } }).times[0]).toBe('2026-06-10T14:03:22.000Z');
    expect(timesOf(bytes, { fileName: 'log 2026-06-10.csv' }).times[0]).toBe('2026-06-10T14:03:22.000Z');
  });

  it('are no month first because a log has US units', () => {
    const bytes = log('date,time,ECT (F)', '100626,140322,190', '100626,140323,191');
    expect(planOf(bytes).time.format).toBe('dmy-or-mdy');
  });

  it.each([
    ['Date (ddmmyy),Time (hhmmss)', '050626,080322', '2026-06-05T08:03:22.000Z'],
    ['Date (ddmmyy),Time (hhmmss)', '50626,80322', '2026-06-05T08:03:22.000Z'],
    ['Datum (TTMMJJJJ),Zeit (hhmmss)', '5062026,322', '2026-06-05T00:03:22.000Z'],
    ['date_yymmdd,time_hhmmss', '260605,000022.5', '2026-06-05T00:00:22.500Z'],
    ['Date MMDDYY,Time HHMMSS', '060526,140322', '2026-06-05T14:03:22.000Z'],
    ['Date (MM/DD/YYYY),Time', '06/05/2026,14:03:22', '2026-06-05T14:03:22.000Z'],
    ['Fecha (dd/mm/aaaa),Hora', '05/06/2026,14:03:22', '2026-06-05T14:03:22.000Z'],
  ])('%s: the header states the order', (header, cells, instant) => {
    const { plan, times } = timesOf(log(`${header},RPM`, `${cells},800`, `${cells},810`), { timeZone: 'UTC' });
    expect(times[0]).toBe(instant);
    expect(timeNeed(plan)).toBeNull();
  });

  it('lose their leading zeros, and are clocks when their seconds never pass 59', () => {
    const bytes = seconds('date,time', '2026-06-23T00:58:30Z', 200, (at) => `20260623,${Number(hhmmss(at))}`);
    const { plan, times, counts } = timesOf(bytes, { timeZone: 'UTC' });
    expect(plan.time.format).toBe('iso-local');
    expect([times[0], times.at(-1)]).toEqual(['2026-06-23T00:58:30.000Z', '2026-06-23T01:01:49.000Z']);
    expect(counts.rowsRejectedBy).toEqual({});
  });

  it('are a clock without a date where no date stands beside them', () => {
    const bytes = seconds('GPS Time', '2026-06-23T14:58:30Z', 200, hhmmss);
    expect(planOf(bytes).time).toMatchObject({ kind: 'clock', format: 'clock' });
  });

  it('are no clock in a column that is named a date', () => {
    const dates = log('date,hour meter,RPM', ...Array.from({ length: 40 }, (_, i) => `051026,${81_500 + i},800`));
    const planned = planLog(dates);
    expect(planned.ok ? planned.plan.time : planned.problem.code).toBe('log_no_time');
  });

  it('are seconds or steps of a hundred milliseconds all the same', () => {
    const daySeconds = log('date,time,RPM', ...Array.from({ length: 200 }, (_, i) => `20260623,${43_200 + i},800`));
    expect(planOf(daySeconds).time.format).toBe('elapsed-s');
    const steps = log('Time,RPM', ...Array.from({ length: 30 }, (_, i) => `${i * 100},800`));
    expect(planOf(steps).time.format).toBe('elapsed-ms');
  });

  it('are no start of a log before its header', () => {
    const plan = planOf(bytesOf('Start: 260610\nTime (s),RPM\n0,800\n1,810\n'));
    expect(timeNeed(plan)).toBe('time_missing');
  });
});

describe('durations as h:mm:ss', () => {
  const value = (header: string, cell: string, signal: SignalId) => {
    const bytes = log(`Time,RPM,${header}`, `2026-06-10T14:03:22Z,800,${cell}`);
    const plan = planOf(bytes);
    return column(plan, readRows(plan, [bytes]), signal)[0];
  };

  it.each([
    ['Engine run time (hh:mm:ss)', '01:10:05', 'run_time_s', 4205],
    ['Run time since engine start (s)', '0:10:05.5', 'run_time_s', 605.5],
    ['Engine hours (h)', '1234:30:00', 'engine_hours_h', 1234.5],
  ] as const)('%s %s', (header, cell, signal, expected) => {
    expect(value(header, cell, signal)).toBe(expected);
  });

  it('in two parts are no number: they may be hours or minutes', () => {
    expect(value('Run time since engine start (s)', '10:05', 'run_time_s')).toBeNaN();
  });
});

describe('elapsed time that does not only rise', () => {
  it('says that it runs downward', () => {
    const result = planLog(log('Elapsed (s),RPM', '300,800', '299,810', '298,820'), {}, { complete: true });
    expect(result).toMatchObject({
      problem: {
        code: 'log_no_time',
        detail: expect.stringContaining('"Elapsed (s)" runs downward, from 300 to 298.'),
        advice: expect.stringContaining('in the order in which they were recorded'),
      },
    });
  });

  it('says that it starts anew too often to be time', () => {
    const rows = Array.from({ length: 20 }, (_, i) => `${i % 4},800`);
    expect(planLog(log('Elapsed (s),RPM', ...rows), {}, { complete: true })).toMatchObject({
      problem: { detail: expect.stringContaining('"Elapsed (s)" falls back 4 times in the first rows') },
    });
  });

  it('says how often it starts anew', () => {
    const rows = Array.from({ length: 30 }, (_, i) => `${i % 10},800`);
    const { problems } = inspectReport('x.csv', readLog(log('Elapsed (s),RPM', ...rows)));
    expect(problems).toContainEqual(
      expect.objectContaining({
        code: 'clock_restarted',
        count: 2,
        text: expect.stringContaining('falls back 2 times'),
      }),
    );
  });
});

describe('a first row of ones', () => {
  it('is a row, no row of units', () => {
    const bytes = log(
      'Time,Coolant (C),RPM,Fuel level',
      '2026-06-10T14:03:22Z,1,1,1',
      '2026-06-10T14:03:23Z,80,800,50',
    );
    const { plan, times } = timesOf(bytes);
    expect([plan.dialect?.unitLine, times.length]).toEqual([null, 2]);
  });

  it('is a row of units where words say so', () => {
    const bytes = log('Time,Coolant,Lambda', 's,degC,1', '0,80,1', '1,81,1');
    expect(planOf(bytes).dialect?.unitLine).toBe(2);
  });
});

describe('hours without a unit in a log in US units', () => {
  it('are hours: both habits count them alike', () => {
    const bytes = log('Time,ECT (F),Engine Hours', '2026-06-10T14:03:22Z,190,1234.5');
    const plan = planOf(bytes);
    expect(column(plan, readRows(plan, [bytes]), 'engine_hours_h')).toEqual([1234.5]);
  });
});

describe('AM and PM beside cells without them', () => {
  const half = log(
    'Date,Time,RPM',
    '06/23/2026,12:59:58 PM,800',
    '06/23/2026,12:59:59,800',
    '06/23/2026,1:00:00,800',
    '06/23/2026,13:00:01,800',
    '06/23/2026,1:00:02 PM,800',
    '06/23/2026,0:00:03,800',
  );

  it('read where the hour leaves no doubt, and are left out where it may be either half of the day', () => {
    const { times, counts } = timesOf(half, { timeZone: 'UTC' });
    expect(times.map((time) => time.slice(11, 19))).toEqual(['12:59:58', '13:00:01', '13:00:02', '00:00:03']);
    expect(counts.rowsRejectedBy).toEqual({ time_unreadable: 2 });
  });

  it('say so', () => {
    const { problems } = inspectReport('x.csv', readLog(half));
    expect(problems.find(({ code }) => code === 'time_unreadable')?.text).toBe(
      '2 rows were left out: each has no readable time (where the log writes AM and PM, a clock from 1 to 12 needs its own).',
    );
  });
});
