import type { SnapshotFact } from '@tallybay/risk';
import { CodeMachine, type DriveFeatures, RandomStream } from '@tallybay/synthetic-fleet';
import type { ForecastCase } from './forecasts.js';

const DAY_MS = 86_400_000;
const HOUR_MS = 3_600_000;
const START_MS = Date.parse('2026-01-05T00:00:00Z');
const WEEKS = 26;
const READ_EVERY_DAYS = 3;
const CLEAR_EVERY_DAYS = 40;

/** How a vehicle is used: what its monitors get to see. */
interface Habit {
  drivesADay: number;
  longShare: number;
  loadShare: number;
}

/**
 * Vehicles that only drive, are cleared now and then and are read: many more clears than a fleet with physics has. The
 * generator's own control module decides what completes; drives are drawn, not simulated.
 */
export function drivenMonitors(seed: number, vehicles: number): ForecastCase[] {
  return Array.from({ length: vehicles }, (_, index) => lifeOf(new RandomStream(`driven-monitors/${seed}/${index}`)));
}

function lifeOf(random: RandomStream): ForecastCase {
  const fuel = random.chance(0.5) ? 'gas' : 'diesel';
  const habit = { drivesADay: random.range(1, 4), longShare: random.range(0.05, 0.6), loadShare: random.range(0, 0.5) };
  const machine = new CodeMachine(fuel, random.split('start'));
  const result = { vehicleClass: fuel, snapshots: [] as SnapshotFact[], weekEndsMs: [] as number[] };
  const truth = { openAtEnd: [] as ReturnType<CodeMachine['incomplete']>[], clearsMs: [] as number[] };
  for (let day = 0; day < WEEKS * 7; day++) {
    const startMs = START_MS + day * DAY_MS;
    if (random.chance(1 / CLEAR_EVERY_DAYS)) {
      machine.clear(startMs + 6 * HOUR_MS);
      truth.clearsMs.push(startMs + 6 * HOUR_MS);
    }
    const drives = day % 7 < 5 ? Math.round(random.range(0, 2 * habit.drivesADay)) : 0;
    for (let drive = 0; drive < drives; drive++)
      machine.finishDrive(featuresOf(random, habit, { first: drive === 0, day }), {
        ...{ atMs: startMs + (8 + drive) * HOUR_MS, random, others: [] },
      });
    if (random.chance(1 / READ_EVERY_DAYS)) result.snapshots.push(readingOf(machine, startMs + 20 * HOUR_MS));
    if (day % 7 !== 6) continue;
    result.weekEndsMs.push(startMs + DAY_MS);
    truth.openAtEnd.push(machine.incomplete());
  }
  return { ...result, ...truth };
}

function featuresOf(random: RandomStream, habit: Habit, at: { first: boolean; day: number }): DriveFeatures {
  const long = random.chance(habit.longShare);
  const runS = long ? random.range(1500, 5400) : random.range(200, 1500);
  const ambientC = 18 - 14 * Math.cos((2 * Math.PI * at.day) / 365) + random.range(-4, 4);
  const startCoolantC = at.first ? ambientC : random.range(45, 80);
  return {
    ...{ runS, km: (runS / 3600) * (long ? 70 : 28), soakHours: at.first ? random.range(9, 15) : random.range(0.3, 3) },
    ...{ coldStart: at.first, ambientC, startCoolantC, maxCoolantC: runS > 420 ? 90 : startCoolantC + runS / 10 },
    ...{ maxTransC: 80, maxOilC: 95, coolantOverS: 0, transOverS: 0, oilOverS: 0, chargeOverS: 0 },
    ...{ coolantAfter15MinC: runS > 900 ? 88 : null, warmCruiseS: long ? runS * random.range(0.1, 0.6) : 0 },
    highLoadS: random.chance(habit.loadShare) ? random.range(20, 150) : 0,
    ...{ overruns: Math.round((runS / 600) * random.range(0.5, 3)), sensorOpen: false },
  };
}

function readingOf(machine: CodeMachine, atMs: number): SnapshotFact {
  const { counters } = machine;
  return {
    ...{ uploadId: `r-${atMs}`, atMs, odometerKm: null, engineHours: null, lampOn: machine.lampOn, ignition: null },
    read: { pending: true, confirmed: true, permanent: true, monitors: true },
    counters: {
      ...{ warmUpsSinceClear: counters.warmUps, distanceSinceClearKm: Math.floor(counters.km) },
      ...{ minutesSinceClear: Math.floor(counters.minutes), distanceWithLampKm: null, minutesWithLamp: null },
    },
    codes: [],
    monitors: machine.monitors(),
  };
}
