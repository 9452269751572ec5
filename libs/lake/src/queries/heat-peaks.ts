import { heatPeaks, type RankingInput, type RuleSet } from '@tallybay/risk';
import type { Lake } from '../lake.js';
import { peakContexts } from './value-context.js';

/**
 * Adds to a ranking's facts what went on beside the highest temperatures: each vehicle's peaks that reached a stage, from
 * the five minutes of samples before them. Reads one file a peak's upload.
 */
export async function withHeatPeaks(lake: Lake, input: RankingInput, rules: RuleSet): Promise<RankingInput> {
  const vehicles: RankingInput['vehicles'] = [];
  for (const facts of input.vehicles) {
    const peaks: NonNullable<typeof facts.peaks> = [];
    for (const { loadExcessPct, ...peak } of heatPeaks(facts, rules)) {
      const upload = { vehicleId: facts.vehicle.id, uploadId: peak.uploadId };
      const context = (await peakContexts(lake, upload, [peak.atMs])).get(peak.atMs);
      peaks.push({ ...peak, context: { ...context, load_excess_pct: loadExcessPct } });
    }
    vehicles.push(peaks.length > 0 ? { ...facts, peaks } : facts);
  }
  return { ...input, vehicles };
}
