import { describe, expect, it } from 'vitest';
import { runTallybay } from './recorded-terminal.js';

const decode = (...args: string[]) => runTallybay(['decode', ...args]);

describe('tallybay decode', () => {
  it('takes bytes one by one, as one word, with the CAN id, and without the service byte', async () => {
    // Bytes of the widely printed example 43 01 33 00 00 00 00; on CAN (ISO 15765-4) a count byte comes first.
    for (const hex of [['43', '01', '01', '33'], ['43010133'], ['7E8 04 43 01 01 33 00 00 00'], ['010133']]) {
      const ran = await decode(...hex, '--service', '03', '--transport', 'can');
      expect(ran, hex.join(' ')).toMatchObject({ exitCode: 0, notes: [] });
      expect(ran.out.map((line) => line.trim())).toContain('P0133');
    }
  });

  it('says that bytes read differently by transport', async () => {
    const ran = await decode('43 01 33 00 00 00 00', '--service', '03');
    expect(ran.exitCode).toBe(65);
    expect(ran.notes.join('\n')).toMatch(/On CAN .* on older buses P0133/);
    expect((await decode('43 01 33 00 00 00 00', '--service', '3', '--transport', 'legacy')).out).toEqual([
      '1 confirmed code',
      '  P0133',
    ]);
  });

  it('prints parameters with unit and signal', async () => {
    // SAE J1979 PID 05: A - 40; 7B is 83 degC.
    const ran = await decode('41 05 7B', '--service', '01');
    expect(ran.out.at(-1)).toMatch(/Engine coolant temperature +83 +degC +coolant_temp_c/);
  });

  it('prints JSON with everything that was read', async () => {
    const ran = await decode('41057B', '--service', '01', '--json');
    const { responses, problems } = JSON.parse(ran.out.join('\n'));
    expect(problems).toEqual([]);
    expect(responses[0].readings[0].values[0]).toMatchObject({ value: 83, unit: 'degC' });
  });

  it('reads DM1: lamps, then faults', async () => {
    // SAE J1939-73: 44 = malfunction and amber lamps on; 6E 00 10 02 = SPN 110, FMI 16, twice.
    const ran = await decode('--dm1', '44FF6E001002B1000F01');
    expect(ran.exitCode).toBe(0);
    expect(ran.out.join('\n')).toMatch(/malfunction +on\n.*red stop +off\n.*amber warning +on/);
    expect(ran.out.join('\n')).toMatch(/SPN 110 FMI 16 +Engine coolant temperature .* 2$/m);
    // The same bytes, word by word.
    expect((await decode('--dm1', '00', 'FF', '00', '00', '00', '00')).out).toContain('0 active faults');
  });

  it.each([
    [['zz', '--service', '03'], 65, 'not a hexadecimal digit'],
    [['--dm1', '00FF'], 65, 'at least 6 are due'],
    [['43', '00'], 64, '--service'],
    [['43', '00', '--service', '55'], 64, '"55"'],
    [['--service', '03'], 64, 'no bytes'],
    [['43', '00', '--service', '03', '--transport', 'pigeon'], 64, 'pigeon'],
    [['41057B', '--service', '03', '--transport', 'can'], 65, 'no response of service 03'],
    [['01', '33', '00', '00', '00', '00', '--service', '03'], 65, 'On CAN the bytes read P3300'],
  ] as const)('refuses %j with code %i and says why', async (args, exitCode, why) => {
    const ran = await decode(...args);
    expect(ran.notes.join('\n')).toContain(why);
    expect(ran.exitCode).toBe(exitCode);
  });
});
