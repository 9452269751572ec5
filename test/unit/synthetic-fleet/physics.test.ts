import {
  DriveSimulation,
  FAULT_KINDS,
  type FaultKind,
  HEALTHY,
  planLegs,
  RandomStream,
  Route,
  VEHICLE_CLASSES,
  type VehicleClassRow,
} from '@tallybay/synthetic-fleet';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

interface Trip {
  vehicle: VehicleClassRow;
  seed: number;
  seconds: number;
  ambientC: number;
  fault?: { kind: FaultKind; severity: number };
}

function simulate(trip: Trip): DriveSimulation {
  const random = new RandomStream(`trip/${trip.seed}`);
  const effect = trip.fault ? FAULT_KINDS.find((row) => row.id === trip.fault?.kind)?.effect(trip.fault.severity) : {};
  const must = trip.vehicle.pumpKw > 0 ? (['pumping'] as const) : (['climb'] as const);
  return new DriveSimulation({
    model: { row: trip.vehicle, massKg: trip.vehicle.massKg[0], condition: { ...HEALTHY, ...effect }, baroKpa: 85 },
    carried: { coolantC: 20, oilC: 20, transC: 20, odometerKm: 1000, engineHoursH: 50, fuelL: 90, sootPct: 30 },
    route: new Route(
      planLegs(trip.vehicle, { seconds: trip.seconds, must, atOnce: false }, random),
      random.split('road'),
    ),
    ambientC: trip.ambientC,
    ambientKPerHour: 0,
    keyOnSeconds: 2,
    trailerKg: 0,
    elevationM: 1300,
    latitude: 41,
    longitude: -107,
    headingDeg: 0,
    airConditioning: 1,
  });
}

function run(trip: Trip) {
  const simulation = simulate(trip);
  const { state } = simulation;
  let overS = 0;
  let coolantSum = 0;
  let maxCoolantC = 0;
  while (simulation.tick()) {
    if (state.coolantC >= 105) overS += 0.1;
    coolantSum += state.coolantC;
    maxCoolantC = Math.max(maxCoolantC, state.coolantC);
  }
  return { overS, meanC: coolantSum / simulation.ticks, maxCoolantC, state };
}

const vehicles = fc.constantFrom<VehicleClassRow>(...VEHICLE_CLASSES);
const seeds = fc.integer({ min: 1, max: 1_000_000 });

describe('energy', () => {
  it('balances: fuel = work + exhaust + surfaces + radiator + sump + what coolant and oil store', () => {
    fc.assert(
      fc.property(vehicles, seeds, fc.integer({ min: -5, max: 40 }), (vehicle, seed, ambientC) => {
        const { state } = run({ vehicle, seed, seconds: 900, ambientC });
        const { ledger } = state;
        const coolantJK = vehicle.coolantJK * (0.55 + 0.45 * (state.coolantLevelPct / 100));
        const storedJ = coolantJK * (state.coolantC - 20) + vehicle.oilJK * (state.oilC - 20);
        const outJ = ledger.brakeJ + ledger.exhaustJ + ledger.surfaceJ + ledger.radiatorJ + ledger.sumpJ + storedJ;
        expect(Math.abs(outJ - ledger.fuelJ) / ledger.fuelJ).toBeLessThan(1e-9);
        const transStoredJ = vehicle.transJK * (state.transC - 20);
        expect(ledger.transInJ - ledger.transOutJ).toBeCloseTo(transStoredJ, 0);
      }),
      { numRuns: 8 },
    );
  });

  it('turns fuel into work at an efficiency that engines have (common practice: 15 to 45 % on the road)', () => {
    for (const vehicle of VEHICLE_CLASSES) {
      const { ledger } = run({ vehicle, seed: 4, seconds: 1500, ambientC: 20 }).state;
      expect(ledger.brakeJ / ledger.fuelJ, vehicle.id).toBeGreaterThan(0.15);
      expect(ledger.brakeJ / ledger.fuelJ, vehicle.id).toBeLessThan(0.45);
    }
  });
});

describe('faults', () => {
  const heating = FAULT_KINDS.filter((row) => row.overheats && row.signal === 'coolant_temp_c').map((row) => row.id);

  it('never make the coolant cooler on the same trip as they grow', () => {
    fc.assert(
      fc.property(
        vehicles,
        seeds,
        fc.constantFrom(...heating),
        fc.tuple(fc.double({ min: 0, max: 1, noNaN: true }), fc.double({ min: 0, max: 1, noNaN: true })),
        (vehicle, seed, kind, severities) => {
          const [less, more] = severities.sort((a, b) => a - b) as [number, number];
          const trip = { vehicle, seed, seconds: 1200, ambientC: 32 };
          const milder = run({ ...trip, fault: { kind, severity: less } });
          const worse = run({ ...trip, fault: { kind, severity: more } });
          // The fan's own load and engine protection may shift a little; what counts is that it is not cooler.
          expect(worse.meanC).toBeGreaterThanOrEqual(milder.meanC - 0.3);
        },
      ),
      { numRuns: 10 },
    );
  });

  it('make a clogged radiator hotter than a healthy one', () => {
    for (const vehicle of VEHICLE_CLASSES) {
      const trip = { vehicle, seed: 9, seconds: 2100, ambientC: 30 };
      const clogged = run({ ...trip, fault: { kind: 'clogged_radiator', severity: 0.95 } });
      expect(clogged.maxCoolantC, vehicle.id).toBeGreaterThan(run(trip).maxCoolantC + 5);
    }
  });

  it('let a stuck-open thermostat run cold', () => {
    const trip = { vehicle: VEHICLE_CLASSES[1], seed: 9, seconds: 2100, ambientC: 10 };
    const open = run({ ...trip, fault: { kind: 'thermostat_stuck_open', severity: 1 } });
    expect(open.meanC).toBeLessThan(run(trip).meanC - 8);
  });
});

describe('a healthy vehicle', () => {
  // Bands of common practice: coolant 90 to 104 degC normal, 110 caution; no source.
  it('warms up, then stays in the normal band on a mild day', () => {
    for (const vehicle of VEHICLE_CLASSES) {
      const { state, maxCoolantC } = run({ vehicle, seed: 21, seconds: 2400, ambientC: 22 });
      expect(maxCoolantC, vehicle.id).toBeGreaterThan(86);
      expect(maxCoolantC, vehicle.id).toBeLessThan(106);
      expect(state.oilC, vehicle.id).toBeLessThan(125);
      expect(state.odometerKm, vehicle.id).toBeGreaterThan(1005);
    }
  });

  it('keeps speed, gears, air and fuel consistent', () => {
    const simulation = simulate({ vehicle: VEHICLE_CLASSES[0], seed: 2, seconds: 900, ambientC: 20 });
    const { state } = simulation;
    let distanceM = 0;
    while (simulation.tick()) {
      distanceM += state.speedMs * 0.1;
      expect(state.engineRpm).toBeLessThan(VEHICLE_CLASSES[0].ratedRpm * 1.09);
      expect(state.load).toBeGreaterThanOrEqual(0);
      expect(state.load).toBeLessThanOrEqual(1);
      if (state.fuelKw > 1) expect(state.airGps / state.fuelGps).toBeCloseTo(14.6, 1);
    }
    expect(state.odometerKm - 1000).toBeCloseTo(distanceM / 1000, 2);
  });
});
