// Judgement, no source: what the class's drives explain, and what is left out where it was not recorded.
import {
  classEvidence,
  type DriveFeatures,
  earlyWarnings,
  HISTORY_SIGNALS,
  type VehicleFeatures,
  vehicleResiduals,
  WARNING_RULE,
  type WarningRule,
} from '@tallybay/risk';
import { describe, expect, it } from 'vitest';
import { DAY, HOUR } from '../facts-builder.js';

const AS_OF = 56 * DAY;

/** Repeatable noise in -1..1, without a rhythm that another column could explain. */
function noise(index: number): number {
  const mixed = Math.abs(Math.sin(index * 12.9898) * 43_758.5453);
  return 2 * (mixed - Math.floor(mixed)) - 1;
}

type Signal = 'coolant_temp_c' | 'trans_fluid_temp_c';

interface Kind {
  signal?: Signal;
  /** Highest temperature by load [%] and engine speed [rpm]. */
  heat: (loadPct: number, rpm: number) => number;
  rpm?: (day: number, seed: number) => number;
  recordsRpm?: boolean;
}

/** A drive every second day for eight weeks, loads and engine speeds as they come. */
function vehicle(id: string, number: number, kind: Kind): VehicleFeatures {
  const { signal = 'coolant_temp_c', heat, recordsRpm = true } = kind;
  const drives = Array.from({ length: 28 }, (_item, index): DriveFeatures => {
    const [day, seed] = [index * 2, number * 1000 + index];
    const loadPct = 40 + 20 * noise(seed);
    const rpm = kind.rpm?.(day, seed) ?? 1600 + 300 * noise(seed + 31);
    return {
      ...{ driveId: `${id}-${index}`, startedMs: day * DAY + HOUR, seconds: 3600 },
      means: { engine_load_pct: loadPct, ...(recordsRpm ? { engine_speed_rpm: rpm } : {}) },
      heldC: { [signal]: heat(loadPct, rpm) + noise(seed + 57) },
      sensorK: {},
    };
  });
  return { vehicleId: id, badSignals: [], learnsBelowC: {}, drives };
}
const likes = (kind: Kind) => ['a', 'b', 'c', 'd', 'e'].map((id, index) => vehicle(id, index, kind));
const warned = (vehicles: VehicleFeatures[]) => [...earlyWarnings(vehicles, AS_OF, WARNING_RULE).keys()];

const byBoth = (loadPct: number, rpm: number) => 90 + 0.1 * (loadPct - 40) + (rpm - 1600) / 100;
/** Faster gearing from the 44th day on: a new route in low gears, nothing wrong. */
const lowGears = (day: number, seed: number) => 1600 + 300 * noise(seed + 31) + (day > 44 ? 600 : 0);

describe('what engine speed explains', () => {
  it('is no warning: the same drives without engine speed are one', () => {
    const fleet = (recordsRpm: boolean) => [
      ...likes({ heat: byBoth, recordsRpm }),
      vehicle('own', 9, { heat: byBoth, rpm: lowGears, recordsRpm }),
    ];
    expect(warned(fleet(true))).toEqual([]);
    expect(warned(fleet(false))).toEqual(['own']);
  });

  it('leaves a vehicle that does not record it to be judged by the rest, among others that do', () => {
    const byLoad = (loadPct: number) => 90 + 0.1 * (loadPct - 40);
    const own = (riseK: number) => {
      const well = vehicle('own', 9, { heat: byLoad, recordsRpm: false });
      const drives = well.drives.map((drive) =>
        drive.startedMs > 46 * DAY
          ? { ...drive, heldC: { coolant_temp_c: drive.heldC.coolant_temp_c! + riseK } }
          : drive,
      );
      return { ...well, drives };
    };
    expect(warned([...likes({ heat: byLoad }), own(0)])).toEqual([]);
    expect(warned([...likes({ heat: byLoad }), own(5)])).toEqual(['own']);
  });

  it('changes nothing for transmission fluid, which slip warms and not strokes', () => {
    const signal = 'trans_fluid_temp_c' as const;
    const evidence = (recordsRpm: boolean) =>
      classEvidence(likes({ signal, heat: byBoth, recordsRpm }), AS_OF, WARNING_RULE);
    expect(evidence(true)).toEqual(evidence(false));
  });

  it('is asked of the lake with everything else that a predictor names, each once', () => {
    expect(HISTORY_SIGNALS).toContain('engine_speed_rpm');
    expect(HISTORY_SIGNALS).toEqual(expect.arrayContaining(WARNING_RULE.predictors.flatMap(({ means }) => means)));
    expect(new Set(HISTORY_SIGNALS).size).toBe(HISTORY_SIGNALS.length);
  });
});

describe('a thermostat that holds on easy drives', () => {
  // Flat up to 40 % load, then half a kelvin a percent.
  const thermostat = (loadPct: number) => 90 + Math.max(0, loadPct - 40) / 2;
  const hardest = (rule: WarningRule) => {
    const vehicles = likes({ heat: thermostat });
    const all = vehicles.flatMap(
      ({ vehicleId }) =>
        vehicleResiduals(vehicles, vehicleId, AS_OF, rule).find(({ state }) => state === 'ok')!.residuals,
    );
    const hard = all.filter(({ demand }) => demand > 1);
    expect(hard.length).toBeGreaterThan(5);
    return hard.reduce((sum, { kelvin }) => sum + kelvin, 0) / hard.length;
  };

  it('does not make hard drives look hot once the model may bend', () => {
    expect(hardest({ ...WARNING_RULE, bendSpans: 0 })).toBeGreaterThan(1);
    expect(Math.abs(hardest(WARNING_RULE))).toBeLessThan(0.7);
  });
});

describe('numbers fitted to few drives', () => {
  it('make what tells a rise from chance wider, less so with more drives', () => {
    const kind = { heat: byBoth };
    const threshold = (drives: number, rule: WarningRule) => {
      const vehicles = likes(kind).map((item) => ({ ...item, drives: item.drives.slice(-drives) }));
      return vehicleResiduals(vehicles, 'a', AS_OF, rule).find(({ state }) => state === 'ok')!.excess!.errorK;
    };
    // A predictor that is the same in all drives explains nothing and still is one number more.
    const rule = {
      ...WARNING_RULE,
      predictors: [...WARNING_RULE.predictors, ...Array.from({ length: 5 }, () => WARNING_RULE.predictors[0]!)],
    };
    const widening = (drives: number) => threshold(drives, rule) / threshold(drives, WARNING_RULE);
    expect(widening(7)).toBeGreaterThan(1.04);
    expect(widening(28)).toBeGreaterThan(1);
    expect(widening(28)).toBeLessThan(widening(7));
  });
});

describe('what a class learns from', () => {
  /** Works at 70 to 100 % where its like do at 20 to 60 %, and boils over at that: the harder it works, the hotter. */
  const sick = (learnsBelowC: VehicleFeatures['learnsBelowC']): VehicleFeatures => {
    const own = vehicle('own', 9, { heat: () => 0 });
    const drives = own.drives.map((drive, index) => {
      const loadPct = 85 + 15 * noise(9000 + index);
      const means = { ...drive.means, engine_load_pct: loadPct };
      return { ...drive, means, heldC: { coolant_temp_c: 120 + 0.2 * (loadPct - 85) + noise(9500 + index) } };
    });
    return { ...own, learnsBelowC, drives };
  };
  const explainedOf = (learnsBelowC: VehicleFeatures['learnsBelowC']) => {
    const fleet = [...['a', 'b'].map((id, index) => vehicle(id, index, { heat: byBoth })), sick(learnsBelowC)];
    const coolant = vehicleResiduals(fleet, 'own', AS_OF, WARNING_RULE).find(
      ({ signal }) => signal === 'coolant_temp_c',
    )!;
    return { ...coolant, most: Math.max(...coolant.residuals.map(({ explainedC }) => explainedC)) };
  };

  it('is not a drive above the alarm: one sick vehicle of a small class does not explain its own heat', () => {
    const learnt = explainedOf({ coolant_temp_c: 115.6 });
    expect(learnt.most).toBeLessThan(105);
    expect(learnt.excess).toMatchObject({ warns: true });
    expect(explainedOf({}).most).toBeGreaterThan(115);
  });

  it('never explains the alarm, however far a drive lies beyond what was learnt', () => {
    const own = vehicle('own', 9, { heat: byBoth });
    const [first, ...rest] = own.drives;
    const uphill = { ...first!, means: { ...first!.means, engine_load_pct: 400 } };
    const explainedBy = (learnsBelowC: VehicleFeatures['learnsBelowC']) => {
      const fleet = [...likes({ heat: byBoth }), { ...own, learnsBelowC, drives: [uphill, ...rest] }];
      return vehicleResiduals(fleet, 'own', AS_OF, WARNING_RULE)[0]!.residuals[0]!.explainedC;
    };
    expect(explainedBy({})).toBeGreaterThan(116);
    expect(explainedBy({ coolant_temp_c: 115.6 })).toBe(115.6);
  });

  it('is nothing where drives above the alarm are nearly all there is', () => {
    const fleet = [vehicle('a', 0, { heat: byBoth }), sick({ coolant_temp_c: 115.6 })];
    const drives = fleet[0]!.drives.slice(0, WARNING_RULE.minClassDrives - 1);
    const { state } = vehicleResiduals([{ ...fleet[0]!, drives }, fleet[1]!], 'own', AS_OF, WARNING_RULE)[0]!;
    expect(state).toBe('few_class_drives');
  });
});
