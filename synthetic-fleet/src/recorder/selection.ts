import type { VehiclePlan } from '../fleet/plan.js';
import type { RecorderPlan } from '../fleet/recorders.js';
import { RandomStream } from '../random.js';
import { type ChannelRow } from './channel-row.js';
import { channelsOf } from './channels.js';

/** Channels that this recorder writes in this vehicle, in its own column order. */
export function recorderChannels(plan: VehiclePlan, recorder: RecorderPlan): ChannelRow[] {
  const all = channelsOf(plan.vehicleClass).filter(
    (channel) => !(plan.role.withoutCoolant && channel.key === 'coolant_temp_c'),
  );
  return new RandomStream(`columns/${recorder.serial}`).shuffled(all.slice(0, recorder.maxChannels));
}
