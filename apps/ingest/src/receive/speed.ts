import type { LogPlan } from '@tallybay/decode';
import { withSpeedFactor } from '@tallybay/decode';
import { type Registry, speedCorrectionAt, speedFactorOf } from '@tallybay/registry';

/**
 * The plan with the vehicle's tyres and final drive at that time taken into account. Only for a plan that has no
 * correction yet.
 */
export async function correctSpeed(
  registry: Registry,
  plan: LogPlan,
  vehicleId: string | null,
  atMs: number | null,
): Promise<LogPlan> {
  if (vehicleId === null || atMs === null) return plan;
  const vehicle = await registry.vehicles.get(vehicleId);
  const correction = speedCorrectionAt(vehicle?.speedCorrections ?? [], atMs);
  if (!correction) return plan;
  const factor = speedFactorOf(correction);
  if (!factor.ok) return plan;
  const change = [
    `${correction.tyreSetFor} to ${correction.tyreFitted}`,
    ...(correction.finalDriveFitted
      ? [`final drive ${correction.finalDriveSetFor ?? '?'} to ${correction.finalDriveFitted}`]
      : []),
  ].join(', ');
  return withSpeedFactor(plan, factor.value, `${change}, in force from ${correction.from}`);
}
