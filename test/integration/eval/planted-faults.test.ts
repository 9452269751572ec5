// A small fleet with planted faults through both paths of the evaluation. Bounds are loose: `npm run eval` measures, this
// only sees that the ranking still finds what was planted and that the two paths tell the same story.
import { describe, expect, it } from 'vitest';
import { summarise } from '../../eval/measures/summary.js';
import { runSeedTask } from '../../eval/seed-task.js';

describe('the evaluation', () => {
  it('finds most grown faults of one fleet, far better than sorting by hand, without crying wolf', async () => {
    const task = { seed: 21, vehicles: 24, weeks: 4, preset: 'demo', path: 'physics' } as const;
    const summary = summarise([await runSeedTask(task)]);
    expect(summary.heat.positives).toBeGreaterThanOrEqual(5);
    expect(summary.heat.averagePrecision).toBeGreaterThan(0.7);
    expect(summary.ratioToBestPlain).toBeGreaterThan(1.5);
    expect(summary.falseAlarmsPer100).toBeLessThan(4);
    expect(summary.sensorFaultsAsHeat).toBeLessThanOrEqual(1);
  });

  it('says nearly the same from logs through the lake as from the physics', async () => {
    const task = { seed: 22, vehicles: 4, weeks: 2, preset: 'demo' } as const;
    const [fromLogs, fromPhysics] = [
      await runSeedTask({ ...task, path: 'logs' }),
      await runSeedTask({ ...task, path: 'physics' }),
    ];
    const driven = fromPhysics.weeks.map((row, index) => ({ row, other: fromLogs.weeks[index]! }));
    expect(driven.length).toBe(8);
    for (const { row, other } of driven) expect(other).toMatchObject({ vehicle: row.vehicle, week: row.week });
    // Rates differ: 1 Hz in the physics, each recorder's own in the logs.
    const apart = driven.filter(({ row, other }) => Math.abs((row.heat ?? 0) - (other.heat ?? 0)) > 0.1);
    expect(apart.length).toBeLessThanOrEqual(1);
  });
});
