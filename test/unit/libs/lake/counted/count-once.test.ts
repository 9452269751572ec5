// A second of a vehicle's time counts once, whichever files it came in: our own rule, no source.
import type { Depot, Vehicle } from '@tallybay/contracts';
import { countOnce, Lake, overlapsOf, readRankingInput } from '@tallybay/lake';
import { DEFAULT_RULES, type VehicleFacts, vehicleHeat, weekWindow } from '@tallybay/risk';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { temporaryLake } from '../lake-builder.js';
import { driveRows, storeLog, writeLog } from '../store-log.js';

const ZONE = 'America/Denver';
const WEEK = weekWindow('2026-W41', ZONE);
const START = WEEK.fromMs + 30 * 3_600_000;
const depots: Depot[] = [{ id: 'north', name: 'North yard', timeZone: ZONE }];
const VEHICLE: Vehicle = { id: 'KV-1', vehicleClass: 'pickup', depot: 'north', modelYear: 2018, fuel: 'gas' };
const ROWS = driveRows(START, 60);
/** Decodes a dozen logs: quick on a quiet machine, not on one that others use. */
const TIMEOUT_MS = 60_000;
const SEED = Date.now() & 0xffff;
console.info(`count-once: seed ${SEED}`);
/** Sums of steps in another order differ in their last places; a cut moves no more than a sample's worth of time. */
const SECONDS = 1.0001;

type Stored = { upload: string; text: string };
const iso = (upload: string, rows = ROWS): Stored => ({ upload, text: writeLog(rows, 'iso') });

/** Each fleet of logs is a vehicle of its own in one lake: opening a lake costs more than what is asked of it here. */
async function factsOf<K extends string>(vehicles: Record<K, readonly Stored[]>): Promise<Record<K, VehicleFacts>> {
  const directory = temporaryLake();
  const entries = Object.entries(vehicles) as [K, readonly Stored[]][];
  for (const [id, logs] of entries)
    for (const { upload, text } of logs) await storeLog(directory, { vehicle: id, upload: `${id}.${upload}`, text });
  const lake = await Lake.open(directory, { threads: 1 });
  try {
    const fleet = { vehicles: entries.map(([id]) => ({ ...VEHICLE, id })), depots };
    const input = await readRankingInput(lake, fleet, '2026-W41', { asOfMs: WEEK.toMs });
    // Upload ids are unique in a lake; without the vehicle's they can be compared.
    const facts = input.vehicles.map(({ vehicle, ...one }) => [
      vehicle.id,
      { vehicle: VEHICLE, ...(JSON.parse(JSON.stringify(one).replaceAll(`"${vehicle.id}.`, '"')) as typeof one) },
    ]);
    return Object.fromEntries(facts) as Record<K, VehicleFacts>;
  } finally {
    lake.close();
  }
}

function figures(facts: VehicleFacts) {
  const heat = vehicleHeat(facts, DEFAULT_RULES);
  const coolant = heat.signals.find(({ signal }) => signal === 'coolant_temp_c')!;
  return {
    engineHours: heat.engineHours,
    distanceKm: heat.distanceKm ?? 0,
    signalHours: coolant.engineHours,
    stages: coolant.stages.map(({ seconds, degreeMinutes }) => ({ seconds, degreeMinutes })),
  };
}

function expectAlike(one: VehicleFacts, whole: VehicleFacts, cuts: number): void {
  const [a, b] = [figures(one), figures(whole)];
  const slack = SECONDS * Math.max(1, cuts);
  expect(Math.abs(a.engineHours - b.engineHours) * 3600).toBeLessThan(slack);
  expect(Math.abs(a.signalHours - b.signalHours) * 3600).toBeLessThan(slack);
  expect(Math.abs(a.distanceKm - b.distanceKm)).toBeLessThan(0.05 * Math.max(1, cuts));
  a.stages.forEach(({ seconds, degreeMinutes }, index) => {
    expect(Math.abs(seconds - b.stages[index]!.seconds)).toBeLessThan(slack);
    expect(Math.abs(degreeMinutes - b.stages[index]!.degreeMinutes)).toBeLessThan(slack);
  });
}

describe('logs of one vehicle that recorded the same time', { timeout: TIMEOUT_MS }, () => {
  it('count as one, in any order of upload, and the union where they overlap in part', async () => {
    const epoch = { upload: 'b', text: writeLog(ROWS, 'epoch') };
    const early = iso('early', ROWS.slice(0, 2400));
    const late = { upload: 'late', text: writeLog(ROWS.slice(1500), 'epoch') };
    const all = await factsOf({
      one: [iso('a')],
      twoDialects: [iso('a'), epoch],
      otherOrder: [epoch, iso('a')],
      longer: [iso('a0', ROWS.slice(600, 2400)), iso('a')],
      parts: [late, early],
      partsInOrder: [early, late],
      gapFilled: [iso('short', ROWS.slice(1500, 2100)), iso('holed', [...ROWS.slice(0, 1700), ...ROWS.slice(1820)])],
    });
    expect(all.twoDialects.drives).toHaveLength(1);
    expect(figures(all.twoDialects)).toEqual(figures(all.one));
    expect(figures(all.one).stages[0]!.seconds).toBeGreaterThan(600);
    expect(all.otherOrder).toEqual(all.twoDialects);
    expect(all.twoDialects.overlaps).toMatchObject([{ uploadId: 'b', otherUploadId: 'a' }]);
    expect(all.twoDialects.overlaps![0]!.seconds).toBeCloseTo(3599, 1);

    expect(all.longer.drives.map(({ uploadId }) => uploadId)).toEqual(['a']);
    expect(figures(all.longer)).toEqual(figures(all.one));

    expect(all.partsInOrder).toEqual(all.parts);
    expect(all.parts.drives.map(({ uploadId, seconds }) => [uploadId, Math.round(seconds)])).toEqual([
      ['early', 2399],
      ['late', 1200],
    ]);
    expectAlike(all.parts, all.one, 1);
    expectAlike(all.gapFilled, all.one, 2);
  });

  it('count a signal from the log that has it, while engine time counts once', async () => {
    const trans = { upload: 'trans', text: writeLog(ROWS, 'transOnly') };
    const facts = await factsOf({ alone: [trans], both: [iso('coolant'), trans] });
    const [alone, both] = [vehicleHeat(facts.alone, DEFAULT_RULES), vehicleHeat(facts.both, DEFAULT_RULES)];
    expect(both.engineHours).toBeCloseTo(1, 3);
    const of = (from: typeof both, signal: string) => from.signals.find((row) => row.signal === signal)!;
    expect(of(both, 'trans_fluid_temp_c').engineHours).toBe(of(alone, 'trans_fluid_temp_c').engineHours);
    expect(of(both, 'trans_fluid_temp_c').stages).toEqual(of(alone, 'trans_fluid_temp_c').stages);
    expect(of(both, 'coolant_temp_c').engineHours).toBeCloseTo(1, 3);
  });

  it('give the figures of the whole drive for any pieces that cover it', async () => {
    const piece = fc.record({
      from: fc.integer({ min: 0, max: 3000 }),
      rows: fc.integer({ min: 300, max: 2500 }),
      dialect: fc.constantFrom('iso' as const, 'epoch' as const),
    });
    const coverings = fc.sample(fc.array(piece, { minLength: 1, maxLength: 3 }), { numRuns: 4, seed: SEED });
    const logsOf = (pieces: (typeof coverings)[number]) =>
      // A first and a last piece make sure that together they cover the drive.
      [
        { from: 0, rows: 1850, dialect: 'iso' as const },
        { from: 1750, rows: 1850, dialect: 'epoch' as const },
        ...pieces,
      ].map(({ from, rows, dialect }, index) => ({
        ...{ upload: `u${index}`, text: writeLog(ROWS.slice(from, from + rows), dialect) },
      }));
    const entries = coverings.map((pieces, index) => [`v${index}`, logsOf(pieces)] as const);
    const all = await factsOf({ whole: [iso('whole')], ...Object.fromEntries(entries) });
    for (const [id, logs] of entries) expectAlike(all[id as keyof typeof all], all.whole, logs.length);
  });

  it('are told from both sides; a log of a pause in another does not overlap it', async () => {
    const directory = temporaryLake();
    const rows = driveRows(START, 120);
    const paused = iso('outer', [...rows.slice(0, 2400), ...rows.slice(4800)]);
    for (const log of [paused, iso('inner', rows.slice(2500, 4700))])
      await storeLog(directory, { vehicle: 'KV-2', ...log });
    for (const log of [iso('long'), iso('short', ROWS.slice(0, 601))])
      await storeLog(directory, { vehicle: 'KV-1', ...log });
    const lake = await Lake.open(directory, { threads: 1 });
    const overlaps = overlapsOf(await countOnce(lake, { fromMs: WEEK.fromMs, toMs: WEEK.toMs }));
    lake.close();
    const span = { fromMs: START, toMs: START + 600_000, seconds: 600 };
    expect(overlaps).toEqual([
      { vehicleId: 'KV-1', uploadId: 'long', otherUploadId: 'short', counted: 'here', ...span },
      { vehicleId: 'KV-1', uploadId: 'short', otherUploadId: 'long', counted: 'other', ...span },
    ]);
  });
});
