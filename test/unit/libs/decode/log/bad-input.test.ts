import { CSV_LIMITS, type PlanProblemCode, planLog } from '@tallybay/decode';
import { describe, expect, it } from 'vitest';
import { bytesOf, planOf, readRows } from './read-log.js';

const wide = (columns: number) =>
  ['Time (s)', ...Array.from({ length: columns - 1 }, (_, index) => `Channel ${index}`)].join(',');

const HEADS: [string, Uint8Array, PlanProblemCode, RegExp][] = [
  ['empty file', new Uint8Array(), 'body_empty', /0 bytes/],
  ['white space only', bytesOf('\r\n  \r\n'), 'body_empty', /white space/],
  ['gzip', Uint8Array.of(0x1f, 0x8b, 8, 0, 0, 0, 0, 0), 'body_not_text', /gzip/],
  [
    'binary',
    Uint8Array.from({ length: 4096 }, (_, index) => (index * 37) % 256),
    'body_not_text',
    /control characters/,
  ],
  ['header only', bytesOf('Time,Coolant Temp (C),RPM\n'), 'log_no_rows', /line 1/],
  ['prose', bytesOf('This is a letter.\nIt has no table.\n'), 'log_unreadable', /header/],
  ['no header', bytesOf('1,2,3\n4,5,6\n'), 'log_unreadable', /header/],
  ['no time column', bytesOf('RPM,Coolant (C)\n800,90\n790,91\n812,90\n'), 'log_no_time', /"RPM", "Coolant \(C\)"/],
  ['5,000 columns', bytesOf(`${wide(5000)}\n${'1,'.repeat(4999)}1\n`), 'log_too_many_columns', /limit is 4096/],
  ['a header cell of 1 MB', bytesOf(`Time,${'x'.repeat(1_000_000)}\n0,1\n`), 'log_cell_too_long', /65536/],
  ['raw CAN frames', bytesOf('(1648577125.370750) can1 0CF00400#207D87481400F087\n'), 'log_unreadable', /CAN/],
];

describe('heads that are no log', () => {
  it.each(HEADS)('%s', (_, bytes, code, detail) => {
    const result = planLog(bytes.subarray(0, 65_536), {}, { complete: bytes.length <= 65_536 });
    expect(result).toMatchObject({ ok: false, problem: { code } });
    if (result.ok) return;
    expect(result.problem.detail).toMatch(detail);
    expect(result.problem.advice.length).toBeGreaterThan(20);
  });

  it('knows no missing rows while the head may go on', () => {
    expect(planLog(bytesOf('Time,RPM\n'))).toMatchObject({ ok: false, problem: { code: 'log_unreadable' } });
    expect(planLog(bytesOf('Time,RPM\n'), {}, { complete: true })).toMatchObject({ problem: { code: 'log_no_rows' } });
  });
});

const HEADER = 'Time (UTC),RPM,Coolant (C),Note\n';
const good = (second: number) => `2026-03-01T08:00:${String(second).padStart(2, '0')},800,90,ok\n`;
const nowMs = Date.parse('2026-03-02T00:00:00Z');

function rejects(line: string) {
  const bytes = bytesOf(`${HEADER}${good(0)}${line}\n${good(1)}`);
  const rows = readRows(planOf(bytes.subarray(0, 4096)), [bytes], { nowMs });
  expect(rows.row).toEqual([1, 3]);
  return rows.counts;
}

describe('rows that are left out', () => {
  it.each([
    ['too short', '2026-03-01T08:00:00,800', 'row_short'],
    ['too long', '2026-03-01T08:00:00,800,90,ok,5,6', 'row_long'],
    ['no time', ',800,90,ok', 'time_unreadable'],
    ['a torn time', '2026-03-0108:00,800,90,ok', 'time_unreadable'],
    ['the 30th of February', '2026-02-30T08:00:00,800,90,ok', 'time_unreadable'],
    ['1970', '1970-01-01T00:00:10,800,90,ok', 'time_implausible'],
    ['the future', '2026-03-04T00:00:01,800,90,ok', 'time_implausible'],
    ['a cell of 1 MB', `2026-03-01T08:00:00,800,90,${'x'.repeat(1_000_000)}`, 'cell_too_long'],
    ['a row over the limit', `2026-03-01T08:00:00,800,90,${'x'.repeat(CSV_LIMITS.maxRowBytes)}`, 'row_too_long'],
    ['a quote that never ends', `2026-03-01T08:00:00,800,90,"${'x'.repeat(CSV_LIMITS.maxCellBytes)}`, 'quote_open'],
  ])('%s', (_, line, reason) => {
    const counts = rejects(line);
    expect(counts.rowsRejectedBy).toEqual({ [reason]: 1 });
    expect(counts.firstRows).toEqual({ [reason]: [2] });
    expect(counts.rows).toBe(3);
  });

  it('the same however a long line is cut', () => {
    const line = `2026-03-01T08:00:00,800,90,${'x'.repeat(1_500_000)}`;
    const bytes = bytesOf(`${HEADER}${good(0)}${line}\n${good(1)}`);
    const plan = planOf(bytes.subarray(0, 4096));
    const whole = readRows(plan, [bytes]);
    const parts = Array.from({ length: 40 }, (_, at) => bytes.subarray(at * 50_000, (at + 1) * 50_000));
    expect(readRows(plan, parts)).toEqual(whole);
    expect(whole.counts.rowsRejectedBy).toEqual({ row_too_long: 1 });
  });

  it('a last row that the end of the file cuts', () => {
    const bytes = bytesOf(`${HEADER}${good(0)}${good(1)}2026-03-01T08:00:02,80`);
    const rows = readRows(planOf(bytes), [bytes]);
    expect(rows.counts).toMatchObject({ rows: 3, rowsRejectedBy: { row_cut: 1 } });
  });

  it('zeros behind the last row are no row', () => {
    const bytes = Uint8Array.of(...bytesOf(`${HEADER}${good(0)}${good(1)}`), ...new Uint8Array(3000));
    expect(readRows(planOf(bytes), [bytes]).counts).toMatchObject({ rows: 2, rowsRejectedBy: {} });
  });

  it('rows under another header in mid-file, until the first returns', () => {
    const other = 'Time (UTC),Coolant (C),RPM,Note\n';
    const bytes = bytesOf(`${HEADER}${good(0)}${other}${good(1)}${HEADER}${good(2)}`);
    const rows = readRows(planOf(bytes), [bytes]);
    expect(rows.row).toEqual([1, 3]);
    expect(rows.counts).toMatchObject({ rowsRejectedBy: { table_changed: 1 }, repeatedHeaders: 1 });
  });
});

describe('cells that are no value', () => {
  const read = (cell: string) => {
    const bytes = bytesOf(`${HEADER}${good(0)}2026-03-01T08:00:01,${cell},90,\n`);
    const rows = readRows(planOf(bytes), [bytes]);
    return { value: rows.values[0]?.[1], rejects: rows.rejects.map(([, , reason]) => reason) };
  };

  it.each(['', ' ', '-', '--', '---', 'NaN', 'nan', 'N/A', 'n/a', 'null', 'NULL', 'No Data', 'k. A.', 's/d', '?'])(
    '"%s" is blank',
    (cell) => {
      expect(read(cell)).toEqual({ value: Number.NaN, rejects: [] });
    },
  );

  it.each(['inf', '-Infinity', '1e400', '0x10', 'abc', '1.2.3', '12 34', '--5', '1,5e'.replace(',', '_'), 'ERR'])(
    '"%s" is unreadable',
    (cell) => {
      expect(read(cell)).toEqual({ value: Number.NaN, rejects: [0] });
    },
  );

  it.each(['-1', '16385', '1e9', '999999999999999999999'])('"%s" is out of range', (cell) => {
    expect(read(cell)).toEqual({ value: Number.NaN, rejects: [1] });
  });

  it.each(['+800', ' 800 ', '8e2', '800.', '0800.000', '800.00000000000000000001', '.8e3'])('"%s" is 800', (cell) => {
    expect(read(cell)).toEqual({ value: 800, rejects: [] });
  });
});
