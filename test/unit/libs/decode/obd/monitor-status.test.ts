// SAE J1979 PID 01 and 41: positions read in public reprints, polarity from memory (1 = not complete).

import { monitorIdSchema } from '@tallybay/contracts';
import {
  CONTINUOUS_MONITORS,
  decodeMonitorStatus,
  encodeMonitorStatus,
  type MonitorStatus,
  NON_CONTINUOUS_MONITORS,
} from '@tallybay/decode';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

function read(hex: string, scope: 'since-clear' | 'this-cycle' = 'since-clear'): MonitorStatus {
  const result = decodeMonitorStatus(Uint8Array.from(Buffer.from(hex, 'hex')), scope);
  if (!result.ok) throw new Error(result.problem.detail);
  return result.value;
}
const incomplete = (status: MonitorStatus) =>
  status.monitors.filter((monitor) => monitor.supported && !monitor.complete).map((monitor) => monitor.id);

describe('decodeMonitorStatus', () => {
  it.each([
    ['0007E500', false, 0, 'spark', []],
    ['81076504', true, 1, 'spark', ['evap']],
    ['0007E5E5', false, 0, 'spark', ['catalyst', 'evap', 'o2_sensor', 'o2_heater', 'egr_vvt']],
    ['000FEB41', false, 0, 'compression', ['nmhc_catalyst', 'pm_filter']],
    ['000FFF14', false, 0, 'compression', []],
    ['830F0BFF', true, 3, 'compression', ['nmhc_catalyst', 'nox_scr', 'boost_pressure']],
  ] as const)('%s', (hex, lampOn, codeCount, ignition, open) => {
    const status = read(hex);
    expect(status).toMatchObject({ lampOn, codeCount, ignition });
    expect(incomplete(status)).toEqual(open);
  });

  it('counts continuous monitors apart: 00 77 E5 E5 has them incomplete too', () => {
    expect(incomplete(read('0077E5E5')).slice(0, 3)).toEqual(CONTINUOUS_MONITORS);
  });

  it('says nothing of lamp and codes for PID 41', () => {
    expect(read('0007E504', 'this-cycle')).toMatchObject({ lampOn: null, codeCount: null });
  });

  it('names monitors as the snapshot contract does, and each of them', () => {
    const names = [...CONTINUOUS_MONITORS, ...NON_CONTINUOUS_MONITORS.spark, ...NON_CONTINUOUS_MONITORS.compression];
    expect(new Set(names.filter((name) => name !== null))).toEqual(new Set(monitorIdSchema.options));
  });

  it('reads what encodeMonitorStatus writes (property)', () => {
    fc.assert(
      fc.property(fc.uint8Array({ minLength: 4, maxLength: 4 }), (bytes) => {
        const first = decodeMonitorStatus(bytes, 'since-clear');
        if (!first.ok) throw new Error(first.problem.detail);
        expect(decodeMonitorStatus(encodeMonitorStatus(first.value), 'since-clear')).toEqual(first);
      }),
    );
  });

  it('refuses another length', () => {
    expect(decodeMonitorStatus(Uint8Array.of(0, 7, 0xe5), 'since-clear')).toMatchObject({ ok: false });
  });
});
