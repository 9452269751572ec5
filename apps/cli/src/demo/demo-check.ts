import type { Ranking, Upload } from '@tallybay/contracts';
import { plural } from '../output/numbers.js';
import type { Outcome, UploadResult } from '../upload/uploader.js';
import type { DemoFleet } from './demo-fleet.js';

/** What the manifest says must come of a log, as outcomes of an upload. A second demo on the same data finds all there. */
const FITTING: Record<DemoFleet['logs'][number]['expect']['outcome'], readonly Outcome[]> = {
  stored: ['sent', 'there'],
  duplicate: ['there', 'waits'],
  waiting: ['waits'],
};

/** What came out differently from what the generator planted, in words; empty when all is well. */
export function unexpected(run: {
  fleet: DemoFleet;
  results: readonly UploadResult[];
  states: Record<string, number>;
  rankings: readonly Ranking[];
  stored: readonly Upload[];
}): string[] {
  const { fleet, results, states, rankings, stored } = run;
  const logs = new Map(fleet.logs.map((log) => [log.file, log]));
  const wrong = results.flatMap(({ item, outcome, problem }) => {
    const expected = logs.get(item.label)?.expect.outcome ?? 'stored';
    if (FITTING[expected].includes(outcome)) return [];
    return [`${item.label} should be ${expected}, it is ${outcome}${problem ? `: ${problem.detail}` : ''}`];
  });
  const missing = fleet.logs.length + fleet.snapshots.length - results.length;
  const emptyWeeks = rankings.filter((ranking) => ranking.ranked.length === 0).map((ranking) => ranking.week);
  return [
    ...wrong,
    ...rowDifferences(logs, results, stored),
    ...(missing > 0 ? [`${plural(missing, 'file')} not sent`] : []),
    ...(states.failed ? [`${plural(states.failed, 'upload')} failed`] : []),
    ...(emptyWeeks.length > 0 ? [`no vehicle is ranked in ${emptyWeeks.join(', ')}`] : []),
  ];
}

/** Every row that the generator wrote is in the lake, or counted as left out. */
function rowDifferences(
  logs: ReadonlyMap<string, DemoFleet['logs'][number]>,
  results: readonly UploadResult[],
  stored: readonly Upload[],
): string[] {
  const uploads = new Map(stored.map((upload) => [upload.id, upload]));
  return results.flatMap(({ item, deliveries }) => {
    const expected = logs.get(item.label)?.expect;
    const counts = uploads.get(deliveries[0]?.id ?? '')?.counts;
    if (!expected || !counts || expected.outcome === 'duplicate') return [];
    if (counts.rowsKept === expected.rowsKept && counts.rowsRejected === expected.rowsRejected) return [];
    const kept = `${counts.rowsKept} rows kept and ${counts.rowsRejected} left out`;
    return [`${item.label}: ${kept}, ${expected.rowsKept} and ${expected.rowsRejected} were due`];
  });
}
