import { readFileSync } from 'node:fs';
import { planCandump } from '@tallybay/decode';
import { expect, it } from 'vitest';

// A capture of a truck idling: yabskbd/remora_ctrl_proto, MIT; EEC1 carries engine speed in bytes 4-5 (SAE J1939-71).
const head = readFileSync(
  new URL('../../../../fixtures/can/truck/2021-07-21_engine-on-12s.log', import.meta.url),
).subarray(0, 65_536);
const dbc = 'BO_ 2364540158 EEC1: 8 Vector__XXX\n SG_ MyRpm : 24|16@1+ (0.125,0) [0|8031.875] "rpm" Vector__XXX\n';

it('a recorder profile may carry the DBC file of its captures, and map its signals', () => {
  const profile = { dbc, channels: { MyRpm: { signal: 'engine_speed_rpm', unit: 'rpm' } } };
  const planned = planCandump(head, { profile });
  expect(planned).toEqual(planCandump(head, { dbc, profile }));
  const plan = planned.ok ? planned.plan : null;
  expect(plan?.channels.find((channel) => channel.header === 'EEC1.MyRpm')).toMatchObject({
    role: 'signal',
    signal: 'engine_speed_rpm',
  });
});
