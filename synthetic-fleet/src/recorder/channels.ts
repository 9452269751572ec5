import type { VehicleClassRow } from '../fleet/classes.js';
import type { ChannelRow } from './channel-row.js';
import { CORE_CHANNELS } from './core-channels.js';
import { ENGINE_CHANNELS } from './engine-channels.js';
import { VEHICLE_CHANNELS } from './vehicle-channels.js';

/** Every channel that some recorder writes; a recorder with few channels keeps the first ones. */
export const CHANNELS: readonly ChannelRow[] = [...CORE_CHANNELS, ...ENGINE_CHANNELS, ...VEHICLE_CHANNELS];

/** Channels that this vehicle has, in table order. */
export function channelsOf(vehicle: VehicleClassRow): ChannelRow[] {
  return CHANNELS.filter((channel) => channel.onlyIf(vehicle));
}
