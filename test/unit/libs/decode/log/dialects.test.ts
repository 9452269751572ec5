import { timeNeed } from '@tallybay/decode';
import { describe, expect, it } from 'vitest';
import { bytesOf, column, planOf, readRows } from './read-log.js';

/** Small logs as recorders write them. Shapes: trade practice, no source. */
const FIRST = Date.parse('2026-03-01T08:15:00Z');

interface Sample {
  name: string;
  text: string;
  hints?: Parameters<typeof planOf>[1];
  format: string;
  need?: ReturnType<typeof timeNeed>;
  /** Milliseconds of the rows, on the log's own clock where the need says so. */
  times: number[];
  coolant: number[];
}

const SAMPLES: Sample[] = [
  {
    name: 'ISO with offset, comma',
    text: 'timestamp,coolant_temp_c\n2026-03-01T09:15:00+01:00,90\n2026-03-01T09:15:00.1+01:00,90.5\n',
    format: 'iso',
    times: [FIRST, FIRST + 100],
    coolant: [90, 90.5],
  },
  {
    name: 'ISO local, zone by hint',
    text: 'Time,Coolant Temp C\n2026-03-01 09:15:00.000,90\n2026-03-01 09:15:01.000,91\n',
    hints: { timeZone: 'Europe/Berlin' },
    format: 'iso-local',
    times: [FIRST, FIRST + 1000],
    coolant: [90, 91],
  },
  {
    name: 'header names UTC',
    text: 'Time (UTC),ECT [°C]\n2026-03-01 08:15:00,90\n2026-03-01 08:15:01,91\n',
    format: 'iso-local',
    times: [FIRST, FIRST + 1000],
    coolant: [90, 91],
  },
  {
    name: 'elapsed with the start before the table, unit row, tab',
    text: 'Recorder\tKV-12\nVIN\t1M8GDM9AXKP042788\nStart\t2026-03-01T08:15:00Z\n\nTime\tCoolant\tRPM\ns\tdegF\trpm\n0\t194\t800\n0.1\t195.8\t810\n',
    format: 'elapsed-s',
    times: [FIRST, FIRST + 100],
    coolant: [90, 91],
  },
  {
    name: 'elapsed milliseconds without a unit, anchored by the sender',
    text: 'Time,Coolant (C)\n500,90\n600,91\n700,92\n',
    hints: { recordedAtMs: FIRST },
    format: 'elapsed-ms',
    times: [FIRST, FIRST + 100, FIRST + 200],
    coolant: [90, 91, 92],
  },
  {
    name: 'elapsed, start in the file name, zone by profile',
    text: 'Elapsed (s);Kühlmitteltemperatur (°C)\n0,0;90,5\n0,5;91,5\n',
    hints: { fileName: 'KV-12_2026-03-01_09-15-00.csv', profile: { timeZone: 'Europe/Berlin' } },
    format: 'elapsed-s',
    times: [FIRST, FIRST + 500],
    coolant: [90.5, 91.5],
  },
  {
    name: 'day first, decimal comma',
    text: 'Zeit;Kühlwassertemperatur in °C;Drehzahl\n01.03.2026 09:15:00,5;90,5;800\n01.03.2026 09:15:01,5;91;800\n'.replace(
      ' in °C',
      ' [°C]',
    ),
    hints: { timeZone: 'Europe/Berlin' },
    format: 'dmy',
    times: [FIRST + 500, FIRST + 1500],
    coolant: [90.5, 91],
  },
  {
    name: 'month first, 12 hours, split columns',
    text: 'Date,Time,ECT (F)\n03/01/2026,11:59:59 PM,194\n03/02/2026,12:00:00 AM,195.8\n',
    hints: { timeZone: 'UTC' },
    format: 'mdy-12h',
    times: [Date.parse('2026-03-01T23:59:59Z'), Date.parse('2026-03-02T00:00:00Z')],
    coolant: [90, 91],
  },
  {
    name: 'day and month cannot be told apart',
    text: 'Date,Time,Coolant (degC)\n03/01/2026,09:15:00,90\n03/01/2026,09:15:01,91\n',
    hints: { timeZone: 'UTC' },
    format: 'dmy-or-mdy',
    need: 'time_missing',
    times: [9.25 * 3_600_000, 9.25 * 3_600_000 + 1000],
    coolant: [90, 91],
  },
  {
    name: 'the file name settles day and month',
    text: 'Date,Time,Coolant (degC)\n03/01/2026,08:15:00,90\n03/01/2026,08:15:01,91\n',
    hints: { timeZone: 'UTC', fileName: 'log_20260301.csv' },
    format: 'mdy',
    times: [FIRST, FIRST + 1000],
    coolant: [90, 91],
  },
  {
    name: 'epoch seconds',
    text: `unix time,coolant temp (C)\n${FIRST / 1000},90\n${FIRST / 1000}.25,91\n`,
    format: 'epoch-s',
    times: [FIRST, FIRST + 250],
    coolant: [90, 91],
  },
  {
    name: 'epoch milliseconds',
    text: `Timestamp [ms]|Coolant [C]\n${FIRST}|90\n${FIRST + 40}|91\n`,
    format: 'epoch-ms',
    times: [FIRST, FIRST + 40],
    coolant: [90, 91],
  },
  {
    name: 'clock over midnight, date in the file name',
    text: 'Hora;Temperatura del refrigerante (°C)\n23:59:59;90\n00:00:00;91\n00:00:01;92\n',
    hints: { fileName: '2026-02-28 drive.csv', timeZone: 'UTC' },
    format: 'clock',
    times: [Date.parse('2026-02-28T23:59:59Z'), Date.parse('2026-03-01T00:00:00Z'), Date.parse('2026-03-01T00:00:01Z')],
    coolant: [90, 91, 92],
  },
  {
    name: 'clock anchored by the sender',
    text: 'Time,Coolant [C]\n08:00:00,90\n08:00:02,91\n',
    hints: { recordedAtMs: FIRST },
    format: 'clock',
    times: [FIRST, FIRST + 2000],
    coolant: [90, 91],
  },
  {
    name: 'hours, minutes and seconds that pass',
    text: 'Elapsed Time,Coolant [C]\n0:00:00.0,90\n0:00:00.5,91\n',
    hints: { recordedAtMs: FIRST },
    format: 'elapsed-hms',
    times: [FIRST, FIRST + 500],
    coolant: [90, 91],
  },
  {
    name: 'carriage returns only',
    text: 'Time (s),Coolant (C)\r0,90\r1,91\r',
    hints: { recordedAtMs: FIRST },
    format: 'elapsed-s',
    times: [FIRST, FIRST + 1000],
    coolant: [90, 91],
  },
  {
    name: 'trailing delimiter on every line, quoted numbers and header',
    text: '"Time (s)","Coolant (°C)",\n"0","90.5",\n"1","91",\n',
    hints: { recordedAtMs: FIRST },
    format: 'elapsed-s',
    times: [FIRST, FIRST + 1000],
    coolant: [90.5, 91],
  },
  {
    name: 'a month in letters',
    text: 'Date Time,Coolant [C]\n01-Mar-2026 08:15:00,90\n01-Mar-2026 08:15:01,91\n',
    hints: { timeZone: 'UTC' },
    format: 'dmy',
    times: [FIRST, FIRST + 1000],
    coolant: [90, 91],
  },
  {
    name: 'compact date and clock',
    text: 'Date;Time;Coolant [C]\n20260301;081500;90\n20260301;081501;91\n',
    hints: { timeZone: 'UTC' },
    format: 'iso-local',
    times: [FIRST, FIRST + 1000],
    coolant: [90, 91],
  },
  {
    name: 'quoted decimal commas between commas',
    text: 'Time (s),Coolant (C),RPM\n"0,0","90,5",800\n"0,5","91,25",810\n',
    hints: { recordedAtMs: FIRST },
    format: 'elapsed-s',
    times: [FIRST, FIRST + 500],
    coolant: [90.5, 91.25],
  },
  {
    name: 'a line of groups over the names, and a delimiter hint',
    text: 'sep=;\n;Engine;Engine;Vehicle\nTime (s);Coolant (C);RPM;Speed (km/h)\n0;90;800;0\n1;91;810;0\n2;92;820;0\n',
    hints: { recordedAtMs: FIRST },
    format: 'elapsed-s',
    times: [FIRST, FIRST + 1000, FIRST + 2000],
    coolant: [90, 91, 92],
  },
  {
    name: 'preamble with date and time on lines of their own, comments',
    text: '# Logger: KV-9\n# Date: 2026-03-01\n# Time: 08:15:00\n# Time zone: UTC\nt [ms],coolant temp [degC]\n0,90\n100,91\n',
    format: 'elapsed-ms',
    times: [FIRST, FIRST + 100],
    coolant: [90, 91],
  },
];

describe('dialects', () => {
  it.each(SAMPLES)('$name', ({ text, hints, format, need, times, coolant }) => {
    const bytes = bytesOf(text);
    const plan = planOf(bytes, hints);
    const rows = readRows(plan, [bytes]);
    expect(plan.time.format).toBe(format);
    expect(timeNeed(plan)).toBe(need ?? null);
    expect(rows.timeMs).toEqual(times);
    expect(column(plan, rows, 'coolant_temp_c')).toEqual(coolant);
    expect(rows.counts.rowsRejectedBy).toEqual({});
    expect(plan.decisions.every(({ why }) => why !== '')).toBe(true);
    expect(JSON.parse(JSON.stringify(plan))).toEqual(plan);
  });

  it('takes vehicle and recorder from the preamble or a column', () => {
    const preamble = planOf(bytesOf(SAMPLES[3]?.text ?? ''));
    expect([preamble.vin, preamble.recorder]).toEqual(['1M8GDM9AXKP042788', 'KV-12']);
    const inColumns = planOf(
      bytesOf('VIN,Logger ID,Time (s),RPM\n1M8GDM9AXKP042788,A7,0,800\n1M8GDM9AXKP042788,A7,1,800\n'),
    );
    expect([inColumns.vin, inColumns.recorder]).toEqual(['1M8GDM9AXKP042788', 'A7']);
  });

  it('obeys a saved profile', () => {
    const bytes = bytesOf('Time (s),T1,T2\n0,194,7\n1,195.8,8\n');
    const channels = { T1: { signal: 'coolant_temp_c', unit: 'degF' }, T2: { signal: null } };
    const plan = planOf(bytes, { profile: { channels }, recordedAtMs: FIRST });
    expect(column(plan, readRows(plan, [bytes]), 'coolant_temp_c')).toEqual([90, 91]);
    expect(plan.channels[1]).toMatchObject({ confidence: 1, why: 'saved profile' });
    expect(plan.channels[2]).toMatchObject({ role: 'unmapped', why: 'left out by the profile' });
  });

  it('scales speed for other tyres', () => {
    const bytes = bytesOf('Time (s),Speed (km/h)\n0,100\n1,50\n');
    const plan = planOf(bytes, { speedFactor: 1.03 });
    expect(column(plan, readRows(plan, [bytes]), 'vehicle_speed_kmh')).toEqual([103, 51.5]);
  });

  it('does not map a unitless temperature that only makes sense in Fahrenheit', () => {
    const alone = planOf(bytesOf('Time (s),Coolant Temp\n0,178\n1,212\n'));
    expect(alone.signals).toEqual([]);
    expect(alone.channels[1]?.why).toMatch(/212 is above 130 degC/);
    const beside = planOf(bytesOf('Time (s),Coolant Temp,Oil Temp (F)\n0,60,70\n1,61,70\n'));
    expect(beside.signals).toEqual(['engine_oil_temp_c']);
    expect(beside.channels[1]?.why).toMatch(/US units/);
  });
});
