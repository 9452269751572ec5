// SAE J1939-71 signals and SAE J1939-73 fault messages; sources stand at the head of the table and beside the rows.
import { decodeDm5, decodeFaultList, decodeSpn, FMI_TEXT, SPN_ROWS, spnNumber, spnRow } from '@tallybay/decode';
import { describe, expect, it } from 'vitest';
import { bytesOf, standardsTable } from '../standards-tables.js';

const signals = standardsTable('j1939-signals');

describe('signals', () => {
  it.each(signals)('SPN %s', (spn, pgn, unit, cases = '') => {
    const row = spnRow(Number(spn));
    if (!row) throw new Error(`SPN ${spn} has no row`);
    expect(row).toMatchObject({ pgn: Number(pgn), unit });
    for (const [hex = '', printed = ''] of cases.split(' ').map((text) => text.split('='))) {
      const { state, value } = decodeSpn(row, bytesOf(hex));
      const wanted = Number(printed);
      if (Number.isNaN(wanted)) {
        expect([state, value], hex).toEqual([printed, null]);
        expect(spnNumber(row, bytesOf(hex)), hex).toBeNaN();
      } else {
        expect(state, hex).toBe('valid');
        expect(value, hex).toBeCloseTo(wanted, wanted > 1e6 ? 3 : 9);
      }
    }
  });

  it('leaves no row out', () => {
    expect(new Set(SPN_ROWS.map((row) => String(row.spn)))).toEqual(new Set(signals.map(([spn]) => spn)));
  });
});

// Layout: manualshive.com isea/6501440 p. 156 and easymanua.ls isea p. 157 (read); unpacking: juergenH87/python-can-j1939 (read).
const off = ['off', 'off', 'off', 'off'];
describe('fault messages', () => {
  it.each([
    ['00FF00000000FFFF', off, []],
    ['04FF6E000003FFFF', ['off', 'off', 'on', 'off'], [[110, 0, 3, 0]]],
    ['50FF64000105FFFF', ['on', 'on', 'off', 'off'], [[100, 1, 5, 0]]],
    [
      '44FF6E001002B1000F01',
      ['on', 'off', 'on', 'off'],
      [
        [110, 16, 2, 0],
        [177, 15, 1, 0],
      ],
    ],
    ['40FF00F0FF7EFFFF', ['on', 'off', 'off', 'off'], [[520_192, 31, 126, 0]]],
    ['01FF0000FF01FFFF', ['off', 'off', 'off', 'on'], [[458_752, 31, 1, 0]]], // the three high bits alone
    ['00FFFF00E07FFFFF', off, [[459_007, 0, null, 0]]], // count 127 = not available
    ['00FF6E000080FFFF', off, [[null, 0, 0, 1]]], // old conversion method: the number is not defined
    ['00FF6E0000FFFFFF', off, [[null, 0, null, 1]]],
    ['E4FF00000000FFFF', ['not-available', 'error', 'on', 'off'], []],
    ['1BFF00000000FFFF', ['off', 'on', 'error', 'not-available'], []],
    ['FFFFFFFFFFFFFFFF', ['not-available', 'not-available', 'not-available', 'not-available'], []],
    ['00FF0000007FFFFF', off, []], // no code has no count
    ['00FF6E000003', off, [[110, 0, 3, 0]]], // six bytes: no tail
    ['00FF6E000003B1', off, [[110, 0, 3, 0]]], // a tail under four bytes is no code
    ['00FF000000006E000003', off, [[110, 0, 3, 0]]],
  ] as const)('%s', (hex, lamps, faults) => {
    const list = decodeFaultList(bytesOf(hex));
    if (!list.ok) throw new Error(list.problem.detail);
    const { mil, redStop, amberWarning, protect } = list.value.lamps;
    expect([mil, redStop, amberWarning, protect]).toEqual(lamps);
    expect(list.value.faults.map((f) => [f.spn, f.fmi, f.occurrences, f.conversionMethod])).toEqual(faults);
  });

  it.each([
    ['00', ['slow', 'slow', 'slow', 'slow']],
    ['1B', ['slow', 'fast', 'reserved', 'none']],
    ['FF', ['none', 'none', 'none', 'none']],
  ])('flash %s, order as the lamps', (flash, expected) => {
    const list = decodeFaultList(bytesOf(`00${flash}00000000`));
    const { mil, redStop, amberWarning, protect } = (list.ok && list.value.flash) || ({} as Record<string, never>);
    expect([mil, redStop, amberWarning, protect]).toEqual(expected);
  });

  it.each(['', '00', '00FF6E0000'])('"%s" is too short', (hex) => {
    expect(decodeFaultList(bytesOf(hex))).toMatchObject({ ok: false, problem: { code: 'response_short' } });
  });

  // autoprogs.ru 686200; easymanua.ls danfoss pved-cls p. 148 (read)
  it('names 32 failure modes, 22 to 30 reserved', () => {
    expect(FMI_TEXT).toHaveLength(32);
    expect(FMI_TEXT.map((text) => text === 'reserved').lastIndexOf(true)).toBe(30);
    expect(FMI_TEXT.indexOf('reserved')).toBe(22);
  });
});

// SAE J1939-73, from memory
describe('DM5', () => {
  it.each([
    ['0000140000000000', 0, 0, 20, [], []],
    ['FAFA140000000000', 250, 250, 20, [], []],
    ['FBFC140000000000', null, null, 20, [], []],
    ['FEFFFE0000000000', null, null, null, [], []],
    ['FFFFFFFFFFFFFFFF', null, null, null, [], []],
    ['0000147700000000', 0, 0, 20, ['misfire', 'fuel_system', 'components'], ['misfire', 'fuel_system', 'components']],
    ['0000142700000000', 0, 0, 20, ['misfire', 'fuel_system', 'components'], ['fuel_system']],
    ['0000147000000000', 0, 0, 20, [], []], // status without support
    ['000014000500FFFF', 0, 0, 20, ['catalyst', 'evap'], ['catalyst', 'evap']],
    ['0000140020000000', 0, 0, 20, ['o2_sensor'], []],
    ['0000140020020002', 0, 0, 20, ['exhaust_gas_sensor', 'boost_pressure'], ['boost_pressure']],
    [
      '00001400001F0015',
      0,
      0,
      20,
      ['boost_pressure', 'pm_filter', 'nox_scr', 'nmhc_catalyst'],
      ['pm_filter', 'nmhc_catalyst'],
    ],
    ['0000140000E000E0', 0, 0, 20, [], []], // reserved bits
  ] as const)('%s', (hex, active, previous, compliance, supported, incomplete) => {
    const dm5 = decodeDm5(bytesOf(hex));
    if (!dm5.ok) throw new Error(dm5.problem.detail);
    expect(dm5.value).toMatchObject({
      activeCount: active,
      previouslyActiveCount: previous,
      obdCompliance: compliance,
    });
    const fitted = dm5.value.monitors.filter((monitor) => monitor.supported);
    const open = fitted.filter(({ complete }) => !complete);
    expect(fitted.map(({ id }) => id)).toEqual(supported);
    expect(open.map(({ id }) => id)).toEqual(incomplete);
  });

  it('needs eight bytes', () => {
    expect(decodeDm5(bytesOf('00001400000000'))).toMatchObject({ ok: false, problem: { code: 'response_short' } });
  });
});
