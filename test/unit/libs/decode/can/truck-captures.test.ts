// Captures of a truck (test/fixtures/can/truck, MIT); figures counted by two independent programs from the same files.
import { readFileSync } from 'node:fs';
import { gunzipSync } from 'node:zlib';
import { type CaptureReport, createCandumpReader, planCandump, type SignalId } from '@tallybay/decode';
import { describe, expect, it } from 'vitest';
import { collectSignals } from './hold-rule.js';

const folder = new URL('../../../../fixtures/can/', import.meta.url);

function read(name: string) {
  const file = readFileSync(new URL(name, folder));
  const bytes = name.endsWith('.gz') ? gunzipSync(file) : file;
  const planned = planCandump(bytes.subarray(0, 256 * 1024));
  if (!planned.ok) throw new Error(planned.problem.detail);
  const { sink, signal } = collectSignals(planned.plan);
  const reader = createCandumpReader(planned.plan, sink);
  reader.push(bytes);
  const counts = reader.finish();
  return { plan: planned.plan, counts, report: reader.report(), signal };
}

const missing = (report: CaptureReport, spn: number) =>
  report.signals
    .filter((count) => count.parameter === `SPN ${spn}` && count.notAvailable > 0)
    .map((count) => `SA${count.source} x${count.notAvailable}`)
    .sort();

type Row = [id: SignalId, n: number, min: number, max: number];

describe('2021-07-21_engine-on-12s.log', () => {
  const { counts, report, signal } = read('truck/2021-07-21_engine-on-12s.log');

  it('has 9950 lines, none malformed, from 15 source addresses', () => {
    expect(counts).toMatchObject({ rows: 9950, rowsRejectedBy: {} });
    expect(report.sources).toEqual([0, 1, 11, 15, 23, 25, 33, 37, 39, 42, 49, 61, 62, 71, 160]);
  });

  it.each<Row>([
    ['engine_speed_rpm', 1205, 598.375, 603.375],
    ['vehicle_speed_kmh', 120, 0, 0],
    ['coolant_temp_c', 12, 38, 38],
    ['engine_oil_temp_c', 12, 34, 34],
    ['engine_oil_pressure_kpa', 24, 408, 412],
    ['coolant_level_pct', 24, 100, 100],
    ['intake_air_temp_c', 24, 30, 31],
    ['ambient_temp_c', 12, 26.344, 26.344],
    ['battery_v', 12, 13.85, 13.95],
    ['engine_hours_h', 3, 16_450.3, 16_450.3],
    ['odometer_km', 12, 654_243.485, 654_243.485],
  ])('%s: n=%i, %d to %d', (id, n, min, max) => {
    const held = signal(id);
    expect(held?.n).toBe(n);
    expect(held?.min).toBeCloseTo(min, 2);
    expect(held?.max).toBeCloseTo(max, 2);
  });

  it('counts what is not available by sender, and makes no number of it', () => {
    expect(missing(report, 171)).toEqual(['SA33 x12']);
    expect(missing(report, 168)).toEqual(['SA25 x12']);
    expect(missing(report, 105)).toEqual(['SA33 x12']);
    expect(missing(report, 84)).toEqual(['SA23 x121', 'SA33 x120', 'SA49 x120']);
    expect(missing(report, 190)).toEqual(['SA33 x120']);
  });

  it('has 132 DM1 messages of 11 senders without an active fault', () => {
    expect(report.lamps.reduce((sum, lamps) => sum + lamps.messages, 0)).toBe(132);
    const bytes = Object.fromEntries(
      report.lamps.map((lamps) => [lamps.source, lamps.states.map((state) => state.bytes)]),
    );
    const plain = Object.fromEntries([11, 23, 33, 37, 42, 49, 71, 160].map((source) => [source, ['00FF']]));
    expect(bytes).toEqual({ ...plain, 0: ['03FF'], 1: ['03FF'], 61: ['03FF'] });
    expect(report.faults).toEqual([]);
  });
});

describe('2022-03-29_drive-600s.can1.log.gz', () => {
  const { counts, report, signal } = read('truck/2022-03-29_drive-600s.can1.log.gz');

  it.each<Row>([
    ['engine_speed_rpm', 29_437, 875.875, 2047.5],
    ['vehicle_speed_kmh', 5890, 14.25, 105.938],
    ['coolant_temp_c', 589, 78, 83],
    ['engine_oil_temp_c', 589, 86.156, 93.031],
    ['engine_oil_pressure_kpa', 1178, 256, 340],
    ['intake_air_temp_c', 1176, 10, 21],
    ['ambient_temp_c', 589, 3.781, 4.688],
    ['battery_v', 589, 14, 14.1],
  ])('%s: n=%i, %d to %d', (id, n, min, max) => {
    const held = signal(id);
    expect(held?.n).toBe(n);
    expect(held?.min).toBeCloseTo(min, 2);
    expect(held?.max).toBeCloseTo(max, 2);
  });

  it('counts seconds at or above by the hold rule', () => {
    const coolant = [80, 82, 90].map((limit) => signal('coolant_temp_c')?.secondsAtOrAbove(limit));
    expect(coolant).toEqual([411.464, 125.379, 0].map((seconds) => expect.closeTo(seconds, 2)));
    expect(signal('engine_oil_temp_c')?.secondsAtOrAbove(85)).toBeCloseTo(598.717, 2);
    expect(signal('engine_oil_temp_c')?.secondsAtOrAbove(90)).toBeCloseTo(392.117, 2);
  });

  it('has no DM1: that is no data, not "no faults"', () => {
    expect(counts.rows).toBe(165_699);
    expect(report.lamps).toEqual([]);
    expect(missing(report, 84)).toEqual(['SA33 x6000']);
  });
});

describe('2022-03-29_idle-with-gap.log', () => {
  const { counts, report, signal } = read('truck/2022-03-29_idle-with-gap.log');

  it('reads through the gaps', () => {
    expect(counts).toMatchObject({ rows: 19_535, rowsRejectedBy: {} });
    expect(signal('engine_speed_rpm')).toMatchObject({ n: 2686, min: 0, max: 601.25 });
    expect(signal('coolant_temp_c')).toMatchObject({ n: 53, min: 64, max: 65 });
    expect(signal('engine_oil_pressure_kpa')).toMatchObject({ n: 108, min: 0, max: 252 });
    expect(missing(report, 84)).toEqual(['SA33 x5235']);
  });
});

describe('hand-made diagnostic messages (test/fixtures/can/dm1, Apache-2.0)', () => {
  it('test_dm1.log: lamp off, then on with SPN 91 FMI 3 once', () => {
    const { report } = read('dm1/test_dm1.log');
    expect(report.lamps[0]?.states.map(({ bytes, lamps }) => [bytes, lamps.mil])).toEqual([
      ['00FF', 'off'],
      ['40FF', 'on'],
    ]);
    expect(report.faults.map(({ code, fault }) => [code, fault.occurrences])).toEqual([['SPN 91 FMI 3', 1]]);
  });

  it('dm1-bam.log: four faults over several packets', () => {
    const { report } = read('dm1/dm1-bam.log');
    expect(report.faults.map(({ code, fault }) => `${code} ${fault.occurrences}`)).toEqual([
      'SPN 91 FMI 3 1',
      'SPN 92 FMI 4 2',
      'SPN 93 FMI 5 3',
      'SPN 94 FMI 6 4',
    ]);
    expect(report.problems).toEqual([]);
  });

  it('candump.log: 649 rpm and 854,934 km', () => {
    const { signal } = read('dm1/candump.log');
    expect(signal('engine_speed_rpm')?.max).toBe(649);
    expect(signal('odometer_km')?.max).toBe(854_934);
  });
});
