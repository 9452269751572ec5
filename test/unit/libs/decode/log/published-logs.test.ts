import { inspectionReportSchema } from '@tallybay/contracts';
import { inspectReport, type SignalId } from '@tallybay/decode';
import { describe, expect, it } from 'vitest';
import { fixture, readLog } from './read-log.js';

/**
 * Public recordings with figures computed independently (Python and Node, equal): rows in file order, a value holds to the
 * next valid row, a step counts if 0 < step <= 5 s. Sources and licences stand beside the files in test/fixtures/logs.
 */
const STAGES: Partial<Record<SignalId, string[]>> = {
  coolant_temp_c: ['80', '82', '90', '95', '100', '105'],
  engine_oil_temp_c: ['85', '90'],
};

function inspect(path: string) {
  const file = path.split('/').pop() as string;
  const log = readLog(fixture(path), { fileName: file }, { stages: STAGES });
  // The published shape of the report; strict, so that no field is only in one of the two.
  return inspectionReportSchema.strict().parse(inspectReport(file, { ...log, stages: STAGES }));
}

const KIT = [
  {
    file: '2017-07-14_Seat_Leon_KA_KA_Frei.csv',
    rows: 6829,
    first: '2017-07-14T08:19:47.605',
    last: '2017-07-14T08:31:58.887',
    counted: 598.414,
    gaps: 5,
    longest: 62.07,
    back: 0,
    coolant: [22, 79, 0],
    at: { 90: 0, 95: 0, 100: 0, 105: 0 },
  },
  {
    file: '2017-07-26_Seat_Leon_S_KA_Normal.csv',
    rows: 21_618,
    first: '2017-07-26T18:49:53.184',
    last: '2017-07-26T19:47:14.005',
    counted: 3440.821,
    gaps: 0,
    longest: 0,
    back: 0,
    coolant: [25, 101, 0],
    at: { 90: 3036.607, 95: 191.72, 100: 58.134, 105: 0 },
  },
  {
    file: '2017-08-01_Seat_Leon_KA_KA_Frei.csv',
    rows: 14_510,
    first: '2017-08-01T08:42:52.043',
    last: '2017-08-01T09:03:31.280',
    counted: 1239.418,
    gaps: 0,
    longest: 0,
    back: 1,
    coolant: [25, 94, 0],
    at: { 90: 439.468, 95: 0, 100: 0, 105: 0 },
  },
  {
    file: '2018-02-26_Seat_Leon_RT_KA_Normal.first4000rows.csv',
    rows: 4000,
    first: '2018-02-26T07:15:55.513',
    last: '2018-02-26T07:21:38.528',
    counted: 343.015,
    gaps: 0,
    longest: 0,
    back: 0,
    coolant: [65, 82, 7],
    at: { 90: 0, 95: 0, 100: 0, 105: 0 },
  },
] as const;

describe('one car, columns that fill one after another, clock only (doi:10.35097/1130)', () => {
  it.each(KIT)('$file', ({ file, rows, first, last, counted, gaps, longest, back, coolant, at }) => {
    const report = inspect(`kit-obd/${file}`);
    expect(report.rows).toBe(rows);
    expect(report.rowsRejectedBy).toEqual({});
    expect(report.time).toMatchObject({ first, last, gaps, backwardSteps: back });
    expect(report.time.longestGapSeconds).toBeCloseTo(longest, 6);
    expect(report.time.countedSeconds).toBeCloseTo(counted, 6);
    const found = report.signals.coolant_temp_c;
    expect([found?.min, found?.max, found?.blank]).toEqual(coolant);
    for (const [stage, seconds] of Object.entries(at)) {
      expect(Math.abs((found?.secondsAtOrAbove?.[stage] ?? Number.NaN) - seconds)).toBeLessThan(0.01);
    }
    // Nothing real may pass for a broken sensor: not the intake at 142 degC behind the engine, not minus 8 in winter.
    expect(Object.values(report.signals).flatMap(({ rejected }) => Object.entries(rejected ?? {}))).toEqual([]);
    expect(report.unmapped).toEqual([]);
  });

  it('keeps every other channel of 2017-07-26', () => {
    const { signals } = inspect('kit-obd/2017-07-26_Seat_Leon_S_KA_Normal.csv');
    const extremes = Object.fromEntries(
      Object.entries(signals).map(([id, { min, max, blank }]) => [id, [min, max, blank]]),
    );
    expect(extremes).toEqual({
      coolant_temp_c: [25, 101, 0],
      manifold_pressure_kpa: [39, 242, 1],
      engine_speed_rpm: [0, 2868, 2],
      vehicle_speed_kmh: [0, 170, 3],
      intake_air_temp_c: [9, 142, 4],
      mass_air_flow_gps: [0, 97.91, 5],
      throttle_pct: [13.7, 89, 6],
      ambient_temp_c: [18, 22, 7],
      pedal_pct: [14.1, 77.6, 8],
      pedal_e_pct: [14.1, 76.9, 9],
    });
  });

  it('reads the mojibake unit', () => {
    const { signals } = inspect('kit-obd/2017-07-26_Seat_Leon_S_KA_Normal.csv');
    expect(signals.coolant_temp_c).toMatchObject({
      header: 'Engine Coolant Temperature [Â°C]',
      sourceUnit: '°C',
      confidence: 0.95,
    });
  });
});

describe('one truck drive in three dialects', () => {
  it.each([
    ['2022-03-29_drive-600s_1hz.csv', '2022-03-29T18:05:25.000Z', '2022-03-29T18:15:25.000Z'],
    ['2022-03-29_drive-600s_1hz_us.csv', '2022-03-29T18:05:25.000', '2022-03-29T18:15:25.000'],
    ['2022-03-29_drive-600s_1hz_de.csv', '2022-03-29T18:05:25.000', '2022-03-29T18:15:25.000'],
  ])('%s has the same coolant, to the second', (file, first, last) => {
    const report = inspect(`truck-j1939/${file}`);
    expect(report.rows).toBe(601);
    expect(report.time).toMatchObject({ first, last, gaps: 0, countedSeconds: 600 });
    expect(report.signals.coolant_temp_c).toMatchObject({ min: 78, max: 83, valid: 589, blank: 12 });
    expect(report.signals.coolant_temp_c?.secondsAtOrAbove).toEqual({ 80: 409, 82: 126, 90: 0, 95: 0, 100: 0, 105: 0 });
    expect(report.signals.battery_v).toMatchObject({ min: 14, max: 14.1 });
  });
});

describe('a log without coolant', () => {
  it('has no data where others would say zero', () => {
    const report = inspect('car-csv-no-coolant/data_log.csv');
    expect(report.noData).toEqual(['coolant_temp_c', 'engine_oil_temp_c']);
    expect(report.signals.coolant_temp_c).toBeUndefined();
    expect(report.rows).toBe(1041);
    expect(report.time).toMatchObject({
      first: '22:01:53.000',
      last: '22:13:29.000',
      gaps: 0,
      backwardSteps: 0,
      duplicateTimes: 345,
    });
    expect(report.problems.map(({ code }) => code)).toContain('time_missing');
  });

  it('leaves a channel aside whose name fits nothing, and doubts units that are not stated', () => {
    const report = inspect('car-csv-no-coolant/data_log.csv');
    expect(report.unmapped).toEqual(['Air Intake']);
    expect(report.signals.intake_air_temp_c).toMatchObject({ min: 0, max: 47, sourceUnit: null });
    expect(report.signals.mass_air_flow_gps?.confidence).toBeLessThan(0.6);
    expect(report.decisions.map(({ what }) => what)).toContain('unit of "MAF"');
  });
});
