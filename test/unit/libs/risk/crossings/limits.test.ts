import type { SignalLimit } from '@tallybay/contracts';
import { DEFAULT_RULES, limitConflict, limitsFor, SIGNAL_LIMIT_ROWS } from '@tallybay/risk';
import { expect, it } from 'vitest';

const row = (change: Partial<SignalLimit>): SignalLimit => ({
  ...{ signal: 'battery_v', vehicleClass: '*', direction: 'low', stage: 'caution', value: 11.8, written: '11.8 V' },
  ...{ hysteresis: 0.4, minSeconds: 20, during: 'running', source: 'shop' },
  ...change,
});
const van = { id: 'KV-1', vehicleClass: 'van' };
const values = (rows: SignalLimit[], signal = 'battery_v') =>
  limitsFor(rows, DEFAULT_RULES, van)
    .filter((limit) => limit.signal === signal)
    .map(({ direction, limit }) => [direction, limit]);

it('a vehicle’s own rows replace those of its class, and those the rest, each direction by itself', () => {
  const rows = [row({}), row({ vehicleClass: 'van', value: 12 }), row({ direction: 'high', value: 15.5 })];
  expect(values(rows)).toEqual([
    ['high', 15.5],
    ['low', 12],
  ]);
  expect(values([...rows, row({ vehicle: 'KV-1', vehicleClass: 'van', value: 23 })])).toEqual([
    ['high', 15.5],
    ['low', 23],
  ]);
  expect(values([row({ vehicle: 'KV-2', value: 23 }), row({ vehicleClass: 'bus', value: 24 })])).toEqual([]);
});

it('temperature stages are limits from caution on, until the signal has high limits of its own', () => {
  expect(values([], 'coolant_temp_c')).toHaveLength(3);
  expect(values([row({ signal: 'coolant_temp_c', direction: 'low', value: 60 })], 'coolant_temp_c')).toHaveLength(4);
  const own = row({ signal: 'coolant_temp_c', direction: 'high', value: 108 });
  expect(values([own], 'coolant_temp_c')).toEqual([['high', 108]]);
});

it('rows that cannot hold together are told apart from those that can', () => {
  expect(limitConflict(SIGNAL_LIMIT_ROWS)).toBeNull();
  expect(limitConflict([row({}), row({ stage: 'alarm' }), row({ vehicle: 'KV-1' })])).toBeNull();
  expect(limitConflict([row({}), row({ value: 12 })])).toMatchObject({ index: 1 });
  expect(limitConflict([row({ signal: 'warp_core_c' })])!.text).toContain('warp_core_c');
});
