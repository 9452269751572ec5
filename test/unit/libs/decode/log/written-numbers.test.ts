import { findDecimal, splitRows } from '@tallybay/decode';
import { describe, expect, it } from 'vitest';
import { bytesOf, column, planOf, readRows } from './read-log.js';

/** How spreadsheets and displays write numbers in the locales where recorders are read. Common practice, no source. */
const CELLS: {
  name: string;
  header: string;
  delimiter: ',' | ';';
  cells: string[];
  signal: string;
  values: number[];
}[] = [
  {
    name: 'thousands by quoted commas',
    header: 'Engine RPM',
    delimiter: ',',
    cells: ['"1,234"', '"1,234.5"', '950', '961.5'],
    signal: 'engine_speed_rpm',
    values: [1234, 1234.5, 950, 961.5],
  },
  {
    name: 'thousands by points, decimal comma in the same cell',
    header: 'Motordrehzahl',
    delimiter: ';',
    cells: ['1.234,5', '950,0', '1.100,0', '-0,0'],
    signal: 'engine_speed_rpm',
    values: [1234.5, 950, 1100, 0],
  },
  {
    name: 'thousands by points without decimals, beside a column with decimal commas',
    header: 'Batteriespannung [V];Motordrehzahl',
    delimiter: ';',
    cells: ['13,8;1.234', '13,85;950', '13,9;2.150'],
    signal: 'engine_speed_rpm',
    values: [1234, 950, 2150],
  },
  {
    name: 'thousands by spaces, plain and not breaking',
    header: 'Motordrehzahl',
    delimiter: ';',
    cells: ['1 234,5', '1\u00a0234,5', '1\u202f234', '950,5'],
    signal: 'engine_speed_rpm',
    values: [1234.5, 1234.5, 1234, 950.5],
  },
  {
    name: 'thousands by apostrophes',
    header: 'Motordrehzahl',
    delimiter: ';',
    cells: ["1'234.5", '1’234', '950.5'],
    signal: 'engine_speed_rpm',
    values: [1234.5, 1234, 950.5],
  },
  {
    name: 'minus signs behind the number, and in the typographer’s form',
    header: 'Ambient temperature (°C)',
    delimiter: ',',
    cells: ['5-', '\u22125.5', '-4', '3'],
    signal: 'ambient_temp_c',
    values: [-5, -5.5, -4, 3],
  },
  {
    name: 'the unit behind each number, none in the header',
    header: 'Engine coolant temperature',
    delimiter: ',',
    cells: ['203 °F', '212°F', '212.0 degF', '194'],
    signal: 'coolant_temp_c',
    values: [95, 100, 100, 90],
  },
  {
    name: 'the unit behind each number, decimal comma',
    header: 'Batteriespannung',
    delimiter: ';',
    cells: ['13,8 V', '14V', '14,25 V'],
    signal: 'battery_v',
    values: [13.8, 14, 14.25],
  },
  {
    name: 'percent signs',
    header: 'Engine load',
    delimiter: ',',
    cells: ['45%', '45.5 %', '100%'],
    signal: 'engine_load_pct',
    values: [45, 45.5, 100],
  },
  {
    name: 'another unit than the channel’s: no number, since it would mean something else',
    header: 'Engine coolant temperature (°C)',
    delimiter: ',',
    cells: ['95 °C', '203 °F', '96', '97 ok'],
    signal: 'coolant_temp_c',
    values: [95, Number.NaN, 96, Number.NaN],
  },
  {
    name: 'a comma that may be a decimal comma, in a table with decimal points: no number',
    header: 'Battery voltage (V)',
    delimiter: ';',
    cells: ['13.8', '13.9', '13,85'],
    signal: 'battery_v',
    values: [13.8, 13.9, Number.NaN],
  },
];

describe('numbers that are not plain digits', () => {
  it.each(CELLS)('$name', ({ header, delimiter, cells, signal, values }) => {
    const rows = cells.map((cell, at) => `${at}${delimiter}${cell}\n`).join('');
    const bytes = bytesOf(`Time (s)${delimiter}${header}\n${rows}`);
    const plan = planOf(bytes);
    expect(column(plan, readRows(plan, [bytes]), signal as 'battery_v').map((value) => value + 0)).toEqual(values);
  });

  it('are read alike in Latin-1, where a space that does not break is one byte', () => {
    const text = 'Zeit [s];K\xfchlmitteltemperatur;Motordrehzahl\n0;95,5\xa0\xb0C;1\xa0234,5\n1;96,5 \xb0C;950,5\n';
    const bytes = Uint8Array.from(text, (char) => char.charCodeAt(0));
    const plan = planOf(bytes);
    const rows = readRows(plan, [bytes]);
    expect(column(plan, rows, 'coolant_temp_c')).toEqual([95.5, 96.5]);
    expect(column(plan, rows, 'engine_speed_rpm')).toEqual([1234.5, 950.5]);
  });
});

/** A mark before exactly three digits may group thousands or begin decimals. */
const MARKS: [name: string, delimiter: ',' | ';', text: string, decimal: '.' | ','][] = [
  ['commas beside points', ',', '"1,234",13.8\n"2,345",13.9\n', '.'],
  ['quoted commas between commas', ',', '"1,234",90\n"2,345",91\n', '.'],
  ['commas between semicolons', ';', '12,345;90\n13,456;91\n', ','],
  ['commas beside whole numbers below a thousand', ';', '1,234;90\n950;91\n960;91\n970;91\n', '.'],
  ['points beside whole numbers below a thousand', ';', '1.234;90\n950;91\n960;91\n970;91\n', ','],
  ['points of a fixed count of decimals', ';', '1.234;90\n2.345;91\n', '.'],
  ['a zero before the comma', ',', '"0,123",90\n"1,234",91\n', ','],
  ['two groups', ';', '1.234.567;90\n1.234.568;91\n', ','],
  ['a comma behind a group', ';', '1.234,567;90\n', ','],
];

describe('the decimal mark', () => {
  it.each(MARKS)('%s', (_name, delimiter, text, decimal) => {
    expect(findDecimal(splitRows(text, delimiter), delimiter).decimal).toBe(decimal);
  });
});
