import { CodeMachine, type DriveFeatures, RandomStream } from '@tallybay/synthetic-fleet';
import { beforeEach, describe, expect, it } from 'vitest';

const DAY_MS = 86_400_000;

function drive(changes: Partial<DriveFeatures> = {}): DriveFeatures {
  return {
    runS: 1800,
    km: 30,
    soakHours: 10,
    coldStart: true,
    ambientC: 15,
    startCoolantC: 15,
    maxCoolantC: 95,
    maxTransC: 80,
    maxOilC: 100,
    coolantOverS: 0,
    transOverS: 0,
    oilOverS: 0,
    chargeOverS: 0,
    coolantAfter15MinC: 90,
    warmCruiseS: 900,
    highLoadS: 120,
    overruns: 8,
    sensorOpen: false,
    ...changes,
  };
}

describe('CodeMachine', () => {
  let machine: CodeMachine;
  let day = 0;
  const finish = (changes?: Partial<DriveFeatures>) => {
    day += 1;
    machine.finishDrive(drive(changes), { atMs: day * DAY_MS, random: new RandomStream(`codes/${day}`), others: [] });
  };
  const status = () => machine.codes().map((code) => `${code.code} ${code.status}`);

  beforeEach(() => {
    day = 0;
    machine = new CodeMachine('gas', new RandomStream('codes'));
  });

  // Two-trip rule and erasure: 13 CCR 1968.2(d)(2), from memory; makers' manuals agree.
  it('sets a pending code on the first failing trip and erases it after a passing one', () => {
    finish({ coolantOverS: 20 });
    expect(status()).toEqual(['P0217 pending']);
    expect(machine.lampOn).toBe(false);
    finish();
    expect(status()).toEqual([]);
  });

  it('confirms on the second failing trip in a row, lights the lamp and stores a permanent code', () => {
    finish({ coolantOverS: 20 });
    finish({ coolantOverS: 20 });
    expect(status()).toEqual(['P0217 pending', 'P0217 confirmed', 'P0217 permanent']);
    expect(machine.lampOn).toBe(true);
  });

  it('puts the lamp out after three passing trips and erases the code after forty warm-ups', () => {
    finish({ coolantOverS: 20 });
    finish({ coolantOverS: 20 });
    finish();
    finish();
    expect(machine.lampOn).toBe(true);
    finish();
    expect(machine.lampOn).toBe(false);
    expect(status()).toEqual(['P0217 confirmed']);
    for (let trip = 0; trip < 36; trip += 1) finish();
    expect(status()).toEqual(['P0217 confirmed']);
    finish();
    expect(status()).toEqual([]);
  });

  it('keeps only the permanent code over a clear, resets counters and monitors, and calls the next one a return', () => {
    finish({ coolantOverS: 20 });
    finish({ coolantOverS: 20 });
    machine.clear(2.5 * DAY_MS);
    expect(status()).toEqual(['P0217 permanent']);
    expect(machine.counters).toEqual({ warmUps: 0, km: 0, minutes: 0, lampKm: 0, lampMinutes: 0 });
    expect(machine.monitors().every((monitor) => !monitor.complete)).toBe(true);
    finish({ coolantOverS: 20 });
    finish({ coolantOverS: 20 });
    expect(machine.events.map((event) => event.event)).toEqual([
      'pending',
      'confirmed',
      'cleared',
      'pending',
      'returned',
    ]);
  });

  it('counts a warm-up from a rise of 22 degC to 71 degC only (13 CCR 1968.2(c), from memory)', () => {
    machine.clear(0);
    finish({ startCoolantC: 15, maxCoolantC: 70 });
    finish({ startCoolantC: 75, maxCoolantC: 95 });
    expect(machine.counters.warmUps).toBe(0);
    finish({ startCoolantC: 49, maxCoolantC: 71 });
    expect(machine.counters.warmUps).toBe(1);
  });

  it('completes monitors by driving, each by its own kind', () => {
    machine.clear(0);
    finish({ runS: 250, warmCruiseS: 0, overruns: 0, coldStart: false, soakHours: 1 });
    const complete = machine.monitors().filter((monitor) => monitor.complete);
    expect(complete.map((monitor) => monitor.id)).toEqual(['misfire', 'components']);
    for (let trip = 0; trip < 20; trip += 1) finish();
    expect(machine.incomplete()).toEqual([]);
  });

  it('says nothing about a test that could not run', () => {
    finish({ coolantAfter15MinC: 50 });
    finish({ coolantAfter15MinC: null });
    expect(status()).toEqual(['P0128 pending']);
  });
});
