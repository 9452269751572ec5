import type { LogPlan } from './types.js';

/**
 * The plan with vehicle speed multiplied by `factor` (true speed / recorded speed, see `speedCorrectionFactor`); the log's
 * own bytes stay as they are. A factor of 1 changes nothing.
 * @throws RangeError for a factor that is not above 0
 */
export function withSpeedFactor(plan: LogPlan, factor: number, why: string): LogPlan {
  if (!(factor > 0)) throw new RangeError(`A speed factor of ${factor} is not above 0.`);
  if (factor === 1 || !plan.signals.includes('vehicle_speed_kmh')) return plan;
  const channels = plan.channels.map((channel) =>
    channel.signal === 'vehicle_speed_kmh'
      ? { ...channel, scale: channel.scale * factor, offset: channel.offset * factor }
      : channel,
  );
  return {
    ...plan,
    channels,
    decisions: [...plan.decisions, { what: 'vehicle speed', value: `multiplied by ${factor}`, why }],
  };
}
