import { inspectReport } from '@tallybay/decode';
import { describe, expect, it } from 'vitest';
import { bytesOf, column, planOf, readRows, sumUp } from './read-log.js';

const FIRST = Date.parse('2026-03-02T08:15:00Z');

/** How spreadsheets, web exports and mail-like headers write instants. Shapes: common practice, no source but where named. */
const TIMES: { name: string; cells: string[]; header?: string; zone?: string; delimiter?: string; format: string }[] = [
  { name: 'nanoseconds since 1970', cells: [`${FIRST}000000`, `${FIRST + 1000}000000`], format: 'epoch-ns' },
  { name: 'seconds since 1970 with an exponent', cells: ['1.7724393E+09', '1.772439301E+09'], format: 'epoch-s' },
  {
    // ECMA-376 part 1, 18.17.4: day 1 is 1900-01-01. From memory, the text was not at hand.
    name: 'days of a spreadsheet',
    cells: ['46083.34375', '46083.3437615741', '46083.3437731481'],
    header: 'Date',
    zone: 'UTC',
    format: 'serial-day',
  },
  {
    name: 'days of a spreadsheet, decimal comma, local time',
    cells: ['46083,3854166667', '46083,3854282407'],
    header: 'Zeit',
    zone: 'Europe/Berlin',
    delimiter: ';',
    format: 'serial-day',
  },
  {
    name: 'the weekday before the date',
    cells: ['Mon, 02 Mar 2026 08:15:00', 'Mon, 02 Mar 2026 08:15:01'],
    delimiter: '\t',
    zone: 'UTC',
    format: 'dmy',
  },
  {
    name: 'the German weekday before a date with dots',
    cells: ['Mo 02.03.2026 09:15:00', 'Mo 02.03.2026 09:15:01'],
    zone: 'Europe/Berlin',
    format: 'dmy',
  },
  {
    // RFC 5322 section 4.3, obs-zone.
    name: 'a North American zone by name',
    cells: ['2026-03-02 03:15:00 EST', '2026-03-02 03:15:01 EST'],
    format: 'iso',
  },
  {
    name: 'a European zone by name',
    cells: ['02.03.2026 09:15:00 MEZ', '02.03.2026 09:15:01 MEZ'],
    format: 'dmy-offset',
  },
];

describe('instants', () => {
  it.each(TIMES)('$name', ({ cells, header = 'Time', zone, delimiter = ',', format }) => {
    const rows = cells.map((cell) => `${cell}${delimiter}90\n`).join('');
    const bytes = bytesOf(`${header}${delimiter}Coolant temp (degC)\n${rows}`);
    const plan = planOf(bytes, zone ? { timeZone: zone } : {});
    expect(plan.time.format).toBe(format);
    expect(readRows(plan, [bytes]).timeMs).toEqual(cells.map((_, at) => FIRST + at * 1000));
  });

  it('are elapsed seconds with an exponent as well', () => {
    const bytes = bytesOf('Time [s],ECT [°C]\n0.000000E+00,90\n1.000000E-01,91\n2.0E-1,92\n');
    const plan = planOf(bytes);
    expect(plan.time.format).toBe('elapsed-s');
    expect(readRows(plan, [bytes]).timeMs).toEqual([0, 100, 200]);
  });

  it('are no days of a spreadsheet where seconds of that size go on in steps of recorders', () => {
    const bytes = bytesOf('Time,ECT [°C]\n45000.0,90\n45000.1,91\n45000.2,92\n');
    expect(planOf(bytes).time.format).toBe('elapsed-s');
  });
});

describe('dates whose year has two digits', () => {
  const formatOf = (cell: string, hints = {}) => planOf(bytesOf(`Time;ECT [°C]\n${cell};90\n`), hints).time.format;

  it('begin with it where hyphens set it off and no other reading is left', () => {
    expect(formatOf('26-03-31 08:15:00')).toBe('dmy-or-mdy');
    expect(formatOf('26-03-31 08:15:00', { fileName: 'log_2026-03-31.csv' })).toBe('iso-short');
    expect(formatOf('26-03-31 08:15:00', { profile: { dateOrder: 'ymd' } })).toBe('iso-short');
    expect(formatOf('31-03-26 08:15:00', { profile: { dateOrder: 'dmy' } })).toBe('dmy');
  });

  it('begin with it where the other readings lie before recorders', () => {
    expect(formatOf('26/03/02 08:15:00')).toBe('iso-short');
    expect(formatOf('26/03/02 08:15:00+01:00')).toBe('yymd-offset');
  });

  it('end with it by common use', () => {
    expect(formatOf('22.03.26 08:15:00')).toBe('dmy');
    expect(formatOf('22/03/26 08:15:00')).toBe('dmy');
    expect(formatOf('03/22/26 08:15:00')).toBe('mdy');
  });

  it('are told to a person where they stay open', () => {
    const bytes = bytesOf('Time,ECT [°C]\n03/04/2026 08:15:00,90\n03/04/2026 08:15:01,90\n');
    const { problems } = inspectReport('log.csv', sumUp(planOf(bytes, { timeZone: 'UTC' }), [bytes]));
    expect(problems).toMatchObject([{ code: 'date_ambiguous', text: expect.stringContaining('profile') }]);
  });
});

describe('times in parts', () => {
  const times = (header: string, rows: string[], hints = {}) => {
    const bytes = bytesOf(`${header},ECT [°C]\n${rows.map((row) => `${row},90\n`).join('')}`);
    const plan = planOf(bytes, hints);
    return { times: readRows(plan, [bytes]).timeMs.map((ms) => ms - FIRST), plan };
  };

  it('have what is below a second in a column of its own', () => {
    const rows = ['00,0', '00,250', '01,0', '01,250', '02,5'];
    const milli = times(
      'Time,ms',
      rows.map((row) => `2026-03-02T08:15:${row.replace(',', 'Z,')}`),
    );
    expect(milli.times).toEqual([0, 250, 1000, 1250, 2005]);
    expect(milli.plan.channels.map(({ role }) => role)).toEqual(['time', 'time', 'signal']);
    const micro = times(
      'Seconds,Microseconds',
      rows.map((row) => `${FIRST / 1000 + Number(row.slice(0, 2))},${row.slice(3)}000`),
    );
    expect(micro.times).toEqual([0, 250, 1000, 1250, 2005]);
  });

  it('do not take a rising count of milliseconds for a part', () => {
    const { times: seen } = times(
      'Time,ms',
      ['00,0', '01,250', '02,500'].map((row) => `2026-03-02T08:15:${row.replace(',', 'Z,')}`),
    );
    expect(seen).toEqual([0, 1000, 2000]);
  });

  it('as mm:ss of a spreadsheet pass the full hour', () => {
    const bytes = bytesOf('Time,ECT [°C]\n59:58.0,90\n59:59.0,90\n00:00.0,90\n00:01.5,90\n');
    expect(readRows(planOf(bytes), [bytes]).timeMs).toEqual([3_598_000, 3_599_000, 3_600_000, 3_601_500]);
  });

  it('come from the fuller of two clocks, as a satellite clock is blank until it has a fix', () => {
    const rows = ['-', '-', '2026-03-02T08:15:02Z', '2026-03-02T08:15:03Z'];
    const { times: seen } = times(
      'Satellite time,Recorder time',
      rows.map((row, at) => `${row},2026-03-02T08:15:0${at}Z`),
    );
    expect(seen).toEqual([0, 1000, 2000, 3000]);
  });
});

describe('lines between the rows', () => {
  it('that are notes, padding or an end-of-file mark are no rows', () => {
    const rows = ['0,90', '# marker 1, by hand', '1,91', '// paused', '; resumed', '2,92', '   ', '3,93', '\x1a'];
    const bytes = bytesOf(`Time (s),ECT (°C)\n${rows.join('\n')}`);
    const { counts } = readRows(planOf(bytes), [bytes]);
    expect(counts).toMatchObject({ rows: 4, rowsRejectedBy: {} });
  });

  it('that are zeros, as after a loss of power, hide neither the text nor the rows behind them', () => {
    const rows = (from: number) => Array.from({ length: 20 }, (_, at) => `${from + at},90\n`).join('');
    const bytes = bytesOf(`Time (s),ECT (°C)\n${rows(0)}${'\0'.repeat(600)}${rows(20)}`);
    const plan = planOf(bytes);
    const read = readRows(plan, [bytes]);
    expect(column(plan, read, 'coolant_temp_c')).toHaveLength(40);
    expect(read.counts.rowsRejectedBy).toEqual({});
  });
});

/** Which of several lines above the rows names the columns. Shapes: common practice, no source. */
const NAMES = 'Time,Engine coolant temperature,Engine speed';
const UNITS = 's,degF,rpm';
const HEADINGS: [name: string, lines: string[]][] = [
  ['names and units', [NAMES, UNITS]],
  ['names, sources, units', [NAMES, 'clock,ECU1,ECU2', UNITS]],
  ['names, short names, units', [NAMES, 't,ECT,N', UNITS]],
  ['names, units, types', [NAMES, UNITS, 'string,float,float']],
  ['groups, names, units', ['Recorder,Engine,Engine', NAMES, UNITS]],
];

describe('lines above the rows', () => {
  const rows = Array.from({ length: 12 }, (_, at) => `${at},203,${800 + at}`);

  it.each(HEADINGS)('%s', (_name, lines) => {
    const bytes = bytesOf(`${[...lines, ...rows.slice(0, 8), ...lines, ...rows.slice(8)].join('\n')}\n`);
    const plan = planOf(bytes);
    const read = readRows(plan, [bytes]);
    expect(column(plan, read, 'coolant_temp_c')).toEqual(rows.map(() => 95));
    expect(column(plan, read, 'engine_speed_rpm')).toEqual(rows.map((_, at) => 800 + at));
    expect(read.counts).toMatchObject({ rows: 12, rowsRejectedBy: {} });
  });
});

describe('cells of a switch', () => {
  it('say on and off in words', () => {
    const bytes = bytesOf('Time (s),PTO,ECT (°C)\n0,On,90\n1,off,90\n2,1,90\n3,Aus,90\n4,maybe,90\n');
    const plan = planOf(bytes);
    expect(column(plan, readRows(plan, [bytes]), 'pto_engaged')).toEqual([1, 0, 1, 0, Number.NaN]);
  });
});

describe('a log of which no column is known', () => {
  it('says so, and what to do', () => {
    const bytes = bytesOf('Time,Name,Value\n2026-03-02T08:15:00Z,ECT,90\n2026-03-02T08:15:00Z,RPM,800\n');
    const plan = planOf(bytes);
    const { problems } = inspectReport('long.csv', sumUp(plan, [bytes]));
    expect(problems).toMatchObject([{ code: 'no_signals', text: expect.stringContaining('profile') }]);
  });
});

describe('boost that may be absolute', () => {
  const problemsOf = (rows: string) => {
    const bytes = bytesOf(`Zeit [s];Ladedruck [mbar]\n${rows}`);
    return inspectReport('log.csv', sumUp(planOf(bytes), [bytes])).problems.map(({ code }) => code);
  };

  it('is doubted where it never falls to what a gauge shows without boost', () => {
    // Air at rest has about 1013 mbar absolute: standard atmosphere, NIST SP 811 appendix B.8.
    expect(problemsOf('0;1008\n1;1950\n2;1013\n')).toContain('reference_doubtful');
    expect(problemsOf('0;8\n1;950\n2;13\n')).not.toContain('reference_doubtful');
  });
});
