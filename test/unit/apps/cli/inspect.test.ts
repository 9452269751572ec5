import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { inspectionReportSchema } from '@tallybay/contracts';
import { describe, expect, it } from 'vitest';
import { runTallybay } from './recorded-terminal.js';

const fixtures = join(import.meta.dirname, '../../../fixtures');
const log = (name: string) => join(fixtures, 'logs', name);
const capture = (name: string) => join(fixtures, 'can', name);
const KIT = log('kit-obd/2017-07-26_Seat_Leon_S_KA_Normal.csv');

async function inspect(file: string, ...args: string[]) {
  const ran = await runTallybay(['inspect', file, '--json', ...args]);
  expect(ran.notes).toEqual([]);
  expect(ran.exitCode).toBe(0);
  return inspectionReportSchema.parse(JSON.parse(ran.out.join('\n')));
}

// Figures: computed independently over the same open files (see SOURCE.txt beside them), by the rule that a value holds
// to the next valid row and a step counts if 0 < dt <= 5 s.
describe('tallybay inspect --json', () => {
  it('counts rows, range and seconds at stages in either unit', async () => {
    const report = await inspect(KIT, '--stage', 'coolant_temp_c=90,95,100,203F');
    expect(report.rows).toBe(21_618);
    expect(report.time).toMatchObject({ gaps: 0, backwardSteps: 0 });
    const coolant = report.signals.coolant_temp_c!;
    expect(coolant).toMatchObject({ min: 25, max: 101, valid: 21_618, blank: 0 });
    expect(coolant.secondsAtOrAbove!['90']).toBeCloseTo(3036.607, 2);
    expect(coolant.secondsAtOrAbove!['95']).toBeCloseTo(191.72, 2);
    expect(coolant.secondsAtOrAbove!['100']).toBeCloseTo(58.134, 2);
    expect(coolant.secondsAtOrAbove!['203F']).toBe(coolant.secondsAtOrAbove!['95']);
  });

  it.each(['2022-03-29_drive-600s_1hz.csv', '2022-03-29_drive-600s_1hz_us.csv', '2022-03-29_drive-600s_1hz_de.csv'])(
    'gives the same for %s, whatever the dialect',
    async (name) => {
      const report = await inspect(log(`truck-j1939/${name}`), '--stage', 'coolant_temp_c=80,82', '--time-zone', 'UTC');
      expect(report.rows).toBe(601);
      expect(report.signals.coolant_temp_c!.secondsAtOrAbove).toEqual({ 80: 409, 82: 126 });
      expect(report.signals.coolant_temp_c).toMatchObject({ min: 78, max: 83, blank: 12 });
    },
  );

  it('says "no data" where a log has no coolant, never zero seconds', async () => {
    const report = await inspect(log('car-csv-no-coolant/data_log.csv'), '--stage', 'coolant_temp_c=90');
    expect(report.noData).toEqual(['coolant_temp_c']);
    expect(report.signals.coolant_temp_c).toBeUndefined();
    expect(report.rows).toBe(1_041);
  });

  it('reads a CAN capture, packed, as it reads a CSV log', async () => {
    const report = await inspect(capture('truck/2022-03-29_drive-600s.can1.log.gz'), '--stage', 'coolant_temp_c=80,82');
    expect(report).toMatchObject({ format: 'candump', rows: 165_699 });
    const coolant = report.signals.coolant_temp_c!;
    expect(coolant).toMatchObject({ valid: 589, min: 78, max: 83 });
    expect(coolant.secondsAtOrAbove!['80']).toBeCloseTo(411.464, 2);
    expect(coolant.secondsAtOrAbove!['82']).toBeCloseTo(125.379, 2);
  });

  it('takes standard input, packed or not, with the name it is told', async () => {
    for (const bytes of [readFileSync(KIT), gzipSync(readFileSync(KIT))]) {
      const name = '2017-07-26_drive.csv';
      const ran = await runTallybay(['inspect', '-', '--json', '--file-name', name], { stdin: bytes });
      const report = JSON.parse(ran.out.join('\n'));
      expect(report).toMatchObject({ file: name, rows: 21_618 });
      expect(report.time.first).toContain('2017-07-26');
    }
  });

  it('counts longer steps when told to', async () => {
    const gappy = log('kit-obd/2017-07-14_Seat_Leon_KA_KA_Frei.csv');
    // Five steps over 5 s, the longest 62.07 s; 731.282 s from first to last row.
    const short = await inspect(gappy);
    expect(short.time.gaps).toBe(5);
    expect(short.time.longestGapSeconds).toBeCloseTo(62.07, 2);
    expect(short.time.countedSeconds).toBeCloseTo(598.414, 2);
    const long = await inspect(gappy, '--hold-seconds', '100');
    expect(long.time.gaps).toBe(0);
    expect(long.time.countedSeconds).toBeCloseTo(731.282, 2);
  });
});

describe('tallybay inspect for a person', () => {
  it('shows signals with their channels, stages, decisions and what is missing', async () => {
    const ran = await runTallybay([
      'inspect',
      KIT,
      '--stage',
      'coolant_temp_c=95',
      '--stage',
      'trans_fluid_temp_c=110',
    ]);
    const text = ran.out.join('\n');
    expect(text).toMatch(/coolant_temp_c +Engine Coolant Temperature .* 21,618 +0 +25 +101 +°C +191\.720/);
    expect(text).toMatch(/No data for\n {2}trans_fluid_temp_c/);
    expect(text).toMatch(/Decided\n {2}encoding/);
    expect(text).toContain('has no time zone');
    expect(text).not.toMatch(/undefined|NaN|\[object/);
  });

  it('shows lamps and faults of a capture, and when there was no fault message at all', async () => {
    const faults = (await runTallybay(['inspect', capture('dm1/dm1-bam.log')])).out.join('\n');
    expect(faults).toMatch(/DM1 +0 +SPN 91 FMI 3 /);
    expect(faults).toMatch(/DM1 +0 +SPN 94 FMI 6 /);
    const none = (await runTallybay(['inspect', capture('truck/2022-03-29_idle-with-gap.log')])).out.join('\n');
    expect(none).toContain('that is no data, not "no faults"');
  });

  it.each([
    ['an empty log', Buffer.alloc(0), 65, 'empty'],
    ['bytes that are no text', Buffer.from([0, 1, 2, 3, 0, 255, 254, 0, 7]), 65, 'not a text log'],
    ['a header alone', Buffer.from('time,Engine RPM\n'), 65, 'no rows'],
    ['a table without a time', Buffer.from('a,b\n1,2\n3,4\n'), 65, 'time'],
    ['cut gzip', gzipSync('time,a\n1,2\n').subarray(0, 22), 65, 'cut or damaged'],
  ])('refuses %s with the reason', async (_what, stdin, exitCode, reason) => {
    const ran = await runTallybay(['inspect', '-'], { stdin });
    expect(ran.exitCode).toBe(exitCode);
    expect(ran.notes.join('\n')).toContain(reason);
    expect(ran.notes.join('\n')).toContain('what to do:');
    expect(ran.out).toEqual([]);
  });

  it.each([
    [['/nowhere.csv'], 66],
    [[fixtures], 66],
    [[KIT, '--stage', 'coolant=95'], 64],
    [[KIT, '--hold-seconds', '0'], 64],
    [[KIT, '--time-zone', 'Nowhere/Here'], 64],
    [[], 64],
  ])('refuses %j with code %i', async (args, exitCode) => {
    expect((await runTallybay(['inspect', ...args])).exitCode).toBe(exitCode);
  });
});
