// The ranking's invariants on the path that logs take: text of a log, decoder, lake, SQL, ranking. Every log of a case tells
// the same drive, written in another way; thresholds are judgement, no outside source.
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { RankedVehicle, Ranking, Vehicle } from '@tallybay/contracts';
import { CATALOGUE_VERSION, createAccumulator, createLogReader, DEFAULT_HOLD_SECONDS, planLog } from '@tallybay/decode';
import { commitStaged, initLake, Lake, LogWriter, readRankingInput, stageSnapshot } from '@tallybay/lake';
import { computeRanking } from '@tallybay/risk';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const WEEK = '2026-W41';
const START_MS = Date.UTC(2026, 9, 6, 8);
const MINUTES = 42;

/** One drive: minutes at or above 112 °C in one stretch, how hot it gets, and where the stretch begins. */
interface Course {
  hotMinutes: number;
  peakC: number;
  hotFromMinute: number;
}
interface Writing {
  rateHz: number;
  unit: '°C' | '°F';
  /** Bytes handed to the decoder at once. */
  chunk: number;
}
const PLAIN: Writing = { rateHz: 1, unit: '°C', chunk: 1 << 20 };

const course = fc.record({
  hotMinutes: fc.integer({ min: 1, max: 8 }),
  peakC: fc.integer({ min: 113, max: 122 }),
  hotFromMinute: fc.integer({ min: 15, max: 30 }),
});

function coolantC({ hotMinutes, peakC, hotFromMinute }: Course, minute: number): number {
  if (minute < 10) return 20 + minute * 7;
  const into = minute - hotFromMinute;
  return into >= 0 && into < hotMinutes ? peakC : 90;
}

/** The recorder's text: whole degrees Celsius, or the same in Fahrenheit with one decimal. */
function logText(drive: Course, { rateHz, unit }: Writing): string {
  const lines = [`Time,Engine RPM (rpm),Vehicle Speed (km/h),Engine Load (%),Engine Coolant Temperature (${unit})`];
  for (let row = 0; row <= MINUTES * 60 * rateHz; row++) {
    const seconds = row / rateHz;
    const celsius = coolantC(drive, seconds / 60);
    const shown = unit === '°C' ? celsius.toFixed(0) : (celsius * 1.8 + 32).toFixed(1);
    lines.push(`${new Date(START_MS + Math.round(seconds * 1000)).toISOString()},1800,60,45,${shown}`);
  }
  return `${lines.join('\n')}\n`;
}

interface StoredVehicle {
  id: string;
  vehicleClass?: string;
  course: Course;
  writing: Writing;
}

async function storeLog(lake: string, { id, course: drive, writing }: StoredVehicle): Promise<void> {
  const bytes = Buffer.from(logText(drive, writing));
  const planned = planLog(bytes.subarray(0, 65_536), { fileName: `${id}.csv` });
  if (!planned.ok) throw new Error(planned.problem.detail);
  const { plan } = planned;
  const identity = {
    ...{ vehicleId: id, uploadId: `u-${id}`, recorderId: null, fileName: `${id}.csv` },
    catalogueVersion: CATALOGUE_VERSION,
  };
  const writer = new LogWriter(lake, identity, plan, 'test');
  const accumulator = createAccumulator(plan);
  const reader = createLogReader(plan, (batch) => {
    accumulator.add(batch);
    writer.add(batch);
  });
  for (let from = 0; from < bytes.length; from += writing.chunk)
    reader.push(bytes.subarray(from, from + writing.chunk));
  await commitStaged(lake, writer.finish(accumulator.finish(reader.finish())));
  const snapshot = {
    ...{ time: new Date(START_MS).toISOString(), codes: [], lampOn: false, read: ['confirmed' as const] },
  };
  await commitStaged(lake, stageSnapshot(lake, { ...identity, uploadId: `s-${id}` }, snapshot, 'test'));
}

/** Logs into a lake of their own, in the given order, and the week's ranking out of it. */
async function rankingOf(vehicles: readonly StoredVehicle[]): Promise<Ranking> {
  const directory = mkdtempSync(join(tmpdir(), 'tallybay-invariants-'));
  try {
    initLake(directory);
    for (const vehicle of vehicles) await storeLog(directory, vehicle);
    const lake = await Lake.open(directory, { threads: 1 });
    try {
      const registered = vehicles.map(
        ({ id, vehicleClass }): Vehicle => ({ id, vehicleClass: vehicleClass ?? 'pickup', depot: 'north' }),
      );
      const depots = [{ id: 'north', name: 'North', timeZone: 'UTC' }];
      const sorted = registered.sort((a, b) => (a.id < b.id ? -1 : 1));
      const fleet = { depots, vehicles: sorted };
      return computeRanking(
        await readRankingInput(lake, fleet, WEEK, { asOfMs: Number.POSITIVE_INFINITY, history: [] }),
      );
    } finally {
      lake.close();
    }
  } finally {
    rmSync(directory, { recursive: true, force: true });
  }
}

const rowOf = (ranking: Ranking, vehicle: string): RankedVehicle =>
  ranking.ranked.find((row) => row.vehicle === vehicle)!;
const secondsOf = (row: RankedVehicle): number[] => {
  const heat = row.inputs.heat as { signals: Record<string, { stages: { seconds: number }[] }> };
  return heat.signals.coolant_temp_c!.stages.map(({ seconds }) => seconds);
};

const SLOW_MACHINE_MS = 120_000;

describe('invariants of the ranking from the text of logs', () => {
  it(
    'unit, chunking and order of arrival change no byte of a score; other classes change nothing',
    async () => {
      const cases = fc.asyncProperty(course, fc.integer({ min: 400, max: 60_000 }), async (drive, chunk) => {
        const plain = { id: 'plain', course: drive, writing: PLAIN };
        const inChunks = { ...plain, id: 'in-chunks', writing: { ...PLAIN, chunk } };
        const inFahrenheit = { ...plain, id: 'fahrenheit', writing: { ...PLAIN, unit: '°F' as const } };
        const cool = { ...plain, id: 'cool', course: { ...drive, peakC: 95 } };
        const fleet = [plain, inChunks, inFahrenheit, cool];
        const ranking = await rankingOf(fleet);
        const { score, heat } = rowOf(ranking, 'plain');
        expect(heat.score).toBeGreaterThan(0);
        expect(rowOf(ranking, 'in-chunks')).toMatchObject({ score, heat });
        expect(rowOf(ranking, 'fahrenheit').score).toBeCloseTo(score, 5);
        expect(secondsOf(rowOf(ranking, 'fahrenheit'))).toEqual(
          secondsOf(rowOf(ranking, 'plain')).map((seconds) => expect.closeTo(seconds, 3)),
        );
        const bus = { ...cool, id: 'z-bus', vehicleClass: 'bus', course: { ...drive, peakC: 121 } };
        const turned = await rankingOf(fleet.toReversed());
        expect(JSON.stringify(turned)).toBe(JSON.stringify(ranking));
        const beside = await rankingOf([bus, ...fleet]);
        for (const { id } of fleet) {
          const { score: alone, heat: own, confidence, reasons } = rowOf(ranking, id);
          expect(rowOf(beside, id)).toMatchObject({ score: alone, heat: own, confidence, reasons });
        }
      });
      await fc.assert(cases, { numRuns: 2 });
    },
    SLOW_MACHINE_MS,
  );

  it(
    '1, 2, 5 and 10 rows a second give the same seconds within two steps of the slower, far inside the hold rule',
    async () => {
      const cases = fc.asyncProperty(course, async (drive) => {
        const rates = [10, 5, 2, 1];
        const ranking = await rankingOf(
          rates.map((rateHz) => ({ id: `hz${rateHz}`, course: drive, writing: { ...PLAIN, rateHz } })),
        );
        const [finest, ...others] = rates.map((rateHz) => rowOf(ranking, `hz${rateHz}`));
        others.forEach((row, index) => {
          // A stretch begins and ends at most one step early or late; the hold limit would allow five seconds.
          const stepS = 1 / rates[index + 1]!;
          expect(2 * stepS).toBeLessThanOrEqual(DEFAULT_HOLD_SECONDS);
          secondsOf(row).forEach((seconds, stage) => {
            expect(Math.abs(seconds - secondsOf(finest!)[stage]!)).toBeLessThanOrEqual(2 * stepS);
          });
          expect(row.heat.score).toBeCloseTo(finest!.heat.score!, 2);
        });
      });
      await fc.assert(cases, { numRuns: 1 });
    },
    SLOW_MACHINE_MS,
  );

  it(
    'longer or hotter above a limit never ranks lower',
    async () => {
      const more = fc.record({ minutes: fc.integer({ min: 0, max: 4 }), kelvin: fc.integer({ min: 0, max: 4 }) });
      const cases = fc.asyncProperty(course, more, async (drive, { minutes, kelvin }) => {
        const worse = { ...drive, hotMinutes: drive.hotMinutes + minutes, peakC: drive.peakC + kelvin };
        const ranking = await rankingOf([
          { id: 'a', course: drive, writing: PLAIN },
          { id: 'b', course: worse, writing: PLAIN },
        ]);
        expect(rowOf(ranking, 'b').heat.score!).toBeGreaterThanOrEqual(rowOf(ranking, 'a').heat.score! - 1e-6);
        if (minutes + kelvin > 0) expect(rowOf(ranking, 'b').rank).toBe(1);
      });
      await fc.assert(cases, { numRuns: 2 });
    },
    SLOW_MACHINE_MS,
  );
});
