import type { Ranking } from '@tallybay/contracts';
import { canonicalJson } from '../rules/rule-set.js';

/** True when two rankings say the same, their revision numbers and change lists aside. */
export const sameContent = (a: Ranking, b: Ranking): boolean => contentOf(a) === contentOf(b);

const contentOf = (ranking: Ranking): string => canonicalJson({ ...ranking, revision: 0, changes: [] });

/** Score steps below this are not worth a sentence. */
const SCORE_STEP = 0.01;

/** What a new revision changed against the one before, in words, in the order of the new ranking. */
export function describeChanges(before: Ranking, after: Ranking): string[] {
  const changes: string[] = [];
  if (before.ruleVersion !== after.ruleVersion)
    changes.push(`Rules changed from ${before.ruleVersion} to ${after.ruleVersion}.`);
  if (before.provisional && !after.provisional) changes.push('The week is over: no longer provisional.');
  const old = new Map(before.ranked.map((row) => [row.vehicle, row]));
  for (const row of after.ranked) {
    const was = old.get(row.vehicle);
    old.delete(row.vehicle);
    if (!was) changes.push(`${row.vehicle} is now ranked, at ${row.rank} with ${row.score.toFixed(3)}.`);
    else if (was.rank !== row.rank || Math.abs(was.score - row.score) >= SCORE_STEP)
      changes.push(
        `${row.vehicle} ${rankText(was.rank, row.rank)}, score ${was.score.toFixed(3)} to ${row.score.toFixed(3)}${hoursText(was.coverage.engineHours, row.coverage.engineHours)}.`,
      );
  }
  for (const vehicle of old.keys()) {
    const cause =
      after.unranked.find((row) => row.vehicle === vehicle)?.causes[0]?.text ?? 'it is no longer in the fleet.';
    changes.push(`${vehicle} is no longer ranked: ${cause}`);
  }
  return changes.length > 0 ? changes : ['Details of the evidence changed; ranks and scores did not.'];
}

const rankText = (was: number, now: number): string =>
  was === now ? `stays at ${now}` : `moved from ${was} to ${now}`;

const hoursText = (was: number, now: number): string =>
  Math.abs(now - was) < 0.01 ? '' : `, engine hours ${was.toFixed(1)} to ${now.toFixed(1)}`;
