import {
  type LogEntry,
  planVehicle,
  resolveOptions,
  TRUTH_STAGES,
  type TruthSignal,
  VehicleLife,
  type VehiclePlan,
} from '@tallybay/synthetic-fleet';
import { describe, expect, it } from 'vitest';

// Full-rate logs of ideal sensors, read by nothing but `split`, must give the exposures that the model booked.
const SIZE = {
  vehicles: 24,
  weeks: 3,
  rateHz: 10,
  maxChannels: 10,
  scale: 0.4,
  maxDriveMinutes: 20,
  idealSensors: true,
};
const COLUMNS: Partial<Record<TruthSignal, string>> = {
  coolant_temp_c: 'Engine Coolant Temperature (°C)',
  engine_oil_temp_c: 'Engine Oil Temperature (°C)',
  trans_fluid_temp_c: 'Transmission Fluid Temperature (°C)',
};

/** The first vehicle of any seed that has a cooling fault growing and a recorder that writes the plainest dialect. */
function hotPlan(): { seed: number; plan: VehiclePlan } {
  for (let seed = 1; seed < 200; seed += 1)
    for (let index = 0; index < 24; index += 1) {
      const plan = planVehicle(resolveOptions({ ...SIZE, seed }), index);
      const plain = plan.recorders[0]?.dialect.id === 'plain-iso';
      if (plain && plan.faults[0]?.kind === 'low_coolant') return { seed, plan };
    }
  throw new Error('no seed below 200 has such a vehicle');
}

describe('truth.json', () => {
  const { seed, plan } = hotPlan();
  const life = new VehicleLife(resolveOptions({ ...SIZE, seed }), plan);
  const logs = new Map<string, string>();
  const entries: LogEntry[] = [];
  for (const file of life.files()) {
    if (file.kind !== 'log') continue;
    logs.set(file.path, Buffer.concat([...file.chunks]).toString());
    entries.push(file.entry());
  }
  const truth = life.truth();

  it('equals what a plain count over full-rate rows gives', () => {
    let compared = 0;
    for (const week of truth.weeks) {
      const paths = truth.drives.filter((drive) => drive.week === week.week).map((drive) => drive.log);
      const own = entries.filter((entry) => paths.includes(entry.file));
      if (own.some((entry) => entry.cutLastRow || entry.restarts + entry.damagedRows + entry.backwardSteps > 0))
        continue;
      for (const [signal, column] of Object.entries(COLUMNS) as [TruthSignal, string][])
        for (const stage of TRUTH_STAGES[signal]) {
          const counted = own.map((entry) => count(logs.get(entry.file) as string, column, stage));
          const seconds = counted.reduce((sum, one) => sum + one.seconds, 0);
          const degreeMinutes = counted.reduce((sum, one) => sum + one.degreeMinutes, 0);
          const booked = week.exposure[signal].stages[stage];
          const where = `seed ${seed} ${plan.id} ${week.week} ${signal} >= ${stage}`;
          expect(Math.abs(seconds - (booked?.seconds as number)), where).toBeLessThan(0.15);
          expect(Math.abs(degreeMinutes - (booked?.degreeMinutes as number)), where).toBeLessThan(0.001);
          compared += seconds > 1 ? 1 : 0;
        }
    }
    expect(compared, `seed ${seed} ${plan.id}: stages with any exposure`).toBeGreaterThan(5);
  });

  it('adds drives up to weeks', () => {
    for (const week of truth.weeks) {
      const drives = truth.drives.filter((drive) => drive.week === week.week);
      const seconds = drives.reduce((sum, drive) => sum + drive.engineSeconds, 0);
      expect(week.engineHours, `seed ${seed} ${week.week}`).toBeCloseTo(seconds / 3600, 3);
      expect(week.drives, `seed ${seed} ${week.week}`).toBe(drives.length);
    }
  });
});

/** Hold rule over rows with the engine turning: each row's value holds until the next row. */
function count(log: string, column: string, stage: number): { seconds: number; degreeMinutes: number } {
  const rows = log
    .trimEnd()
    .split('\n')
    .map((line) => line.split(','));
  const header = rows[0] as string[];
  const [value, rpm] = [header.indexOf(column), header.indexOf('Engine Speed (rpm)')];
  let seconds = 0;
  let degreeSeconds = 0;
  for (let i = 1; i + 1 < rows.length; i += 1) {
    const [row, next] = [rows[i] as string[], rows[i + 1] as string[]];
    const step = (Date.parse(next[0] as string) - Date.parse(row[0] as string)) / 1000;
    if (Number(row[rpm]) <= 0 || Number(row[value]) < stage) continue;
    seconds += step;
    degreeSeconds += (Number(row[value]) - stage) * step;
  }
  return { seconds, degreeMinutes: degreeSeconds / 60 };
}
