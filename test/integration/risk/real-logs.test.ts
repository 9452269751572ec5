// From the bytes of open logs to exposure in a ranking. Figures: an independent count over the same files by the hold rule
// (a value holds to the next valid one within 5 s); for the 1 Hz truck logs blanks keep the last value. Files and licences:
// test/fixtures/logs.
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { CATALOGUE_VERSION, createAccumulator, createLogReader, planLog } from '@tallybay/decode';
import { commitStaged, initLake, Lake, LogWriter, readRankingInput } from '@tallybay/lake';
import { computeRanking, DEFAULT_RULES, type HeatSignal, isoWeekOf, type RuleSet, type StageRow } from '@tallybay/risk';
import { afterAll, describe, expect, it } from 'vitest';

const LOGS = join(import.meta.dirname, '../../fixtures/logs');
const ZONE = 'Europe/Berlin';
const lakeDirectory = mkdtempSync(join(tmpdir(), 'tallybay-risk-'));
afterAll(() => rmSync(lakeDirectory, { recursive: true, force: true }));
initLake(lakeDirectory);

/** Decodes one file into the lake as one upload; answers with the instant of its first row. */
async function ingest(vehicleId: string, file: string, recordedAtMs?: number): Promise<number> {
  const bytes = readFileSync(join(LOGS, file));
  const planned = planLog(bytes.subarray(0, 65_536), { fileName: file, timeZone: ZONE, recordedAtMs });
  if (!planned.ok) throw new Error(planned.problem.detail);
  const { plan } = planned;
  const accumulator = createAccumulator(plan);
  const identity = {
    vehicleId,
    uploadId: `u-${vehicleId}`,
    recorderId: null,
    fileName: file,
    catalogueVersion: CATALOGUE_VERSION,
  };
  const writer = new LogWriter(lakeDirectory, identity, plan, 'test');
  const reader = createLogReader(plan, (batch) => {
    accumulator.add(batch);
    writer.add(batch);
  });
  reader.push(bytes);
  const summary = accumulator.finish(reader.finish());
  await commitStaged(lakeDirectory, writer.finish(summary));
  return summary.firstMs!;
}

const stage = (signal: HeatSignal, valueC: number, name: StageRow['stage']): StageRow => ({
  ...{ signal, vehicleClass: '*', stage: name, valueC, written: `${valueC} °C`, source: 'chosen for this test' },
});

async function rankOf(vehicleId: string, firstMs: number, stages: StageRow[]) {
  const rules: RuleSet = { ...DEFAULT_RULES, stages, heat: { ...DEFAULT_RULES.heat, minEngineHours: 0.1 } };
  const lake = await Lake.open(lakeDirectory, { threads: 1 });
  try {
    const vehicle = { id: vehicleId, vehicleClass: 'van', depot: 'yard', modelYear: 2017, fuel: 'gas' as const };
    const fleet = { vehicles: [vehicle], depots: [{ id: 'yard', name: 'Yard', timeZone: ZONE }] };
    const input = await readRankingInput(lake, fleet, isoWeekOf(firstMs, ZONE), { asOfMs: firstMs, rules });
    return computeRanking(input, rules);
  } finally {
    lake.close();
  }
}

interface SignalInputs {
  heat: { signals: Record<string, { stages: { seconds: number; exact: boolean; peakC: number | null }[] }> };
}
const stagesOf = (ranking: Awaited<ReturnType<typeof rankOf>>, signal: HeatSignal) =>
  (ranking.ranked[0]!.inputs as unknown as SignalInputs).heat.signals[signal]!.stages;

describe('exposure in a ranking of open logs', () => {
  it('a car’s drive of 2017-07-26: 3036.607, 191.72, 58.134 and 0 s at or above 90, 95, 100, 105 °C', async () => {
    const firstMs = await ingest('car', 'kit-obd/2017-07-26_Seat_Leon_S_KA_Normal.csv');
    const levels = [90, 95, 100, 105].map((valueC, index) =>
      stage('coolant_temp_c', valueC, (['watch', 'caution', 'alarm', 'severe'] as const)[index]!),
    );
    const ranking = await rankOf('car', firstMs, levels);
    const stages = stagesOf(ranking, 'coolant_temp_c');
    expect(stages.map(({ seconds }) => seconds)).toEqual(
      [3036.607, 191.72, 58.134, 0].map((seconds) => expect.closeTo(seconds, 2)),
    );
    expect(stages.every(({ exact }) => exact)).toBe(true);
    expect(stages[0]!.peakC).toBe(101);
    expect(ranking.ranked[0]!.reasons[0]!.text).toMatch(
      /^Coolant at or above 100\.0 °C .* for 58 s in 1\.0 engine hours/,
    );
  });

  it.each(['', '_us', '_de'])('a truck’s 1 Hz log%s: 409 and 126 s at or above 80 and 82 °C', async (dialect) => {
    const id = `truck${dialect}`;
    const firstMs = await ingest(id, `truck-j1939/2022-03-29_drive-600s_1hz${dialect}.csv`);
    const ranking = await rankOf(id, firstMs, [
      stage('coolant_temp_c', 80, 'caution'),
      stage('coolant_temp_c', 82, 'alarm'),
    ]);
    expect(stagesOf(ranking, 'coolant_temp_c').map(({ seconds, exact }) => [seconds, exact])).toEqual([
      [409, true],
      [126, true],
    ]);
  });

  it('a log without coolant, oil and transmission temperature is no data, not 0', async () => {
    const firstMs = await ingest('bare', 'car-csv-no-coolant/data_log.csv', Date.UTC(2026, 9, 6, 20, 1, 53));
    const ranking = await rankOf('bare', firstMs, [...DEFAULT_RULES.stages]);
    expect(ranking.ranked).toEqual([]);
    expect(ranking.unranked[0]!.causes.map(({ code }) => code)).toEqual(['no_temperature', 'no_snapshot']);
  });
});
