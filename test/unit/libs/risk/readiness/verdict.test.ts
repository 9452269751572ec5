// Rules: 40 CFR 85.2207 and 16 CCR 3340.42.2 (read), federal 2/1 guideline (restated publicly); see the rule table.
import type { Vehicle } from '@tallybay/contracts';
import { PROGRAMMES, readinessVerdict, type SnapshotFact } from '@tallybay/risk';
import { describe, expect, it } from 'vitest';
import { DAY, type SnapshotPlan, snapshotFact } from '../facts-builder.js';

const programme = (id: string) => PROGRAMMES.find((item) => item.id === id)!;
const vehicle: Vehicle = { id: 'v', vehicleClass: 'van', depot: 'north', modelYear: 2015, fuel: 'gas' };
const snapshot = (plan: Omit<SnapshotPlan, 'atMs'> = {}, day = 1): SnapshotFact =>
  snapshotFact({ atMs: day * DAY, ...plan });
const incomplete = (...ids: string[]): SnapshotFact['monitors'] =>
  snapshot().monitors.map((monitor) => ({ ...monitor, complete: !ids.includes(monitor.id) }));
const verdict = (id: string, snapshots: SnapshotFact[], change: Partial<Vehicle> = {}) =>
  readinessVerdict(programme(id), { ...vehicle, ...change }, snapshots);

describe('readiness verdicts', () => {
  it('would pass with all complete, and with as many incomplete as the rule allows', () => {
    expect(verdict('federal', [snapshot()])).toMatchObject({ verdict: 'would_pass', blocking: [] });
    const one = snapshot({ change: { monitors: incomplete('evap') } });
    expect(verdict('federal', [one])).toMatchObject({ verdict: 'would_pass', incomplete: ['evap'] });
  });

  it('would be refused with more, and names the monitors', () => {
    const two = snapshot({ change: { monitors: incomplete('evap', 'catalyst') } });
    const result = verdict('federal', [two]);
    expect(result).toMatchObject({ verdict: 'would_be_refused', blocking: ['catalyst', 'evap'] });
    expect(result.why).toEqual(['Not complete: catalyst, evaporative system.']);
    expect(verdict('federal', [two], { modelYear: 1999 }).verdict).toBe('would_pass');
  });

  it('does not count unsupported and continuous monitors', () => {
    const monitors: SnapshotFact['monitors'] = [
      { id: 'misfire', supported: true, complete: false },
      { id: 'fuel_system', supported: true, complete: false },
      { id: 'secondary_air', supported: false, complete: false },
    ];
    expect(verdict('california', [snapshot({ change: { monitors } })])).toMatchObject({
      verdict: 'would_pass',
      incomplete: [],
    });
  });

  it('would fail with the lamp on; a code without the lamp fails in California only', () => {
    const lamp = snapshot({ codes: [['P0420', 'confirmed']], change: { lampOn: true } });
    expect(verdict('federal', [lamp])).toMatchObject({ verdict: 'would_fail', why: ['The lamp is on with P0420.'] });
    const code = snapshot({ codes: [['P0420', 'confirmed']] });
    expect(verdict('federal', [code]).verdict).toBe('would_pass');
    expect(verdict('california', [code]).verdict).toBe('would_fail');
  });

  it('a permanent code fails until 15 warm-ups and 200 miles (322 km) since the clear', () => {
    const permanent = (warmUps: number, km: number) =>
      snapshot({
        codes: [['P0420', 'permanent']],
        counters: { warmUpsSinceClear: warmUps, distanceSinceClearKm: km },
      });
    expect(verdict('california', [permanent(14, 400)]).verdict).toBe('would_fail');
    expect(verdict('california', [permanent(15, 321)]).verdict).toBe('would_fail');
    expect(verdict('california', [permanent(15, 322)]).verdict).toBe('would_pass');
    expect(verdict('california', [permanent(0, 0)], { modelYear: 2009 }).verdict).toBe('would_pass');
  });

  it('heavy duty goes by operation since clear', () => {
    const warm = (count: number) =>
      snapshot({ counters: { warmUpsSinceClear: count }, change: { ignition: 'compression' } });
    expect(verdict('california-heavy', [warm(4)]).verdict).toBe('would_be_refused');
    expect(verdict('california-heavy', [warm(5)]).verdict).toBe('would_pass');
    expect(verdict('california-heavy', [snapshot()]).verdict).toBe('not_enough_data');
  });

  it('says not enough data, and which, instead of passing', () => {
    expect(verdict('federal', []).why).toEqual(['No snapshot of codes and monitors has arrived.']);
    const read = { pending: true, confirmed: true, permanent: true, monitors: false };
    expect(verdict('federal', [snapshot({ change: { read, monitors: [] } })])).toMatchObject({
      verdict: 'not_enough_data',
      why: ['Monitors were not read.'],
    });
    expect(verdict('federal', [snapshot({ change: { lampOn: null } })]).why).toEqual(['The lamp was not read.']);
    const { modelYear: _unknown, ...without } = vehicle;
    expect(readinessVerdict(programme('federal'), without, [snapshot()]).why).toEqual([
      'The model year is not registered.',
    ]);
  });

  it('an unread service does not hide an older reading', () => {
    const read = { pending: false, confirmed: true, permanent: false, monitors: false };
    const newer = snapshot({ change: { read, monitors: [], lampOn: null } }, 2);
    const older = snapshot({ change: { monitors: incomplete('evap', 'catalyst') } }, 1);
    expect(verdict('federal', [newer, older])).toMatchObject({ verdict: 'would_be_refused', snapshot: { atMs: DAY } });
  });

  it('is not for model years outside the rule', () => {
    expect(verdict('federal', [snapshot({ change: { lampOn: true } })], { modelYear: 1995 }).verdict).toBe(
      'not_subject',
    );
  });

  it('takes the fuel from the registry, else from the module’s ignition', () => {
    const two = snapshot({ change: { ignition: 'compression', monitors: incomplete('egr_vvt', 'o2_sensor') } });
    const { fuel: _unknown, ...without } = vehicle;
    expect(readinessVerdict(programme('california-2015'), without, [two]).verdict).toBe('would_pass');
    expect(readinessVerdict(programme('california'), without, [two]).verdict).toBe('would_be_refused');
  });
});
