import { repairBefore, sinceRepair, type VehicleFacts } from '@tallybay/risk';
import { describe, expect, it } from 'vitest';

const HOUR = 3_600_000;
const drive = (driveId: string, startedMs: number) => ({
  ...{ driveId, uploadId: 'u', startedMs, endedMs: startedMs + HOUR, seconds: 3600, distanceKm: 10 },
});
const facts = (repairs?: VehicleFacts['repairs']): VehicleFacts => ({
  ...{
    vehicle: { id: 'KV-1', vehicleClass: 'van', depot: 'north' },
    timeZone: 'UTC',
    fromMs: 100 * HOUR,
    toMs: 268 * HOUR,
  },
  ...{ drives: [drive('a', 110 * HOUR), drive('b', 200 * HOUR)], dwell: [], signals: [], snapshots: [] },
  earlierDrives: [{ driveId: 'old', startedMs: 10 * HOUR, endedMs: 11 * HOUR, seconds: 3600, signals: {} }],
  ...{ lastSeenMs: null, ...(repairs ? { repairs } : {}) },
});

// Our own rule: exposure since a repair starts anew; no source.
describe('sinceRepair', () => {
  it('counts only drives after the newest repair of heat', () => {
    const after = sinceRepair(facts([{ atMs: 150 * HOUR, label: 'thermostat', heat: true }]));
    expect(after.drives.map(({ driveId }) => driveId)).toEqual(['b']);
    expect(after.earlierDrives).toEqual([]);
  });

  it('leaves the facts alone without one, and for repairs of other things or of later weeks', () => {
    for (const repairs of [
      undefined,
      [{ atMs: 150 * HOUR, label: 'wiring', heat: false }],
      [{ atMs: 300 * HOUR, label: 'thermostat', heat: true }],
    ]) {
      const given = facts(repairs);
      expect(sinceRepair(given)).toBe(given);
    }
  });

  it('finds the repair that a code came back after', () => {
    const repairs = [
      { atMs: 20, label: 'first', heat: false },
      { atMs: 40, label: 'second', heat: false },
      { atMs: 90, label: 'later', heat: false },
    ];
    expect(repairBefore(repairs, { firstSeenMs: 10, returnedMs: 60 })).toMatchObject({ label: 'second' });
    expect(repairBefore(repairs, { firstSeenMs: 50, returnedMs: 60 })).toBeNull();
    expect(repairBefore(undefined, { firstSeenMs: 0, returnedMs: 60 })).toBeNull();
  });
});
