import type { Ranking } from '@tallybay/contracts';
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
}): string[] {
  const { fleet, results, states, rankings } = run;
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
    ...(missing > 0 ? [`${plural(missing, 'file')} not sent`] : []),
    ...(states.failed ? [`${plural(states.failed, 'upload')} failed`] : []),
    ...(emptyWeeks.length > 0 ? [`no vehicle is ranked in ${emptyWeeks.join(', ')}`] : []),
  ];
}
