import type { Ranking, RankingList } from '@tallybay/contracts';
import { setQuery } from '../../app/location.js';
import { Select } from '../../kit/field.js';
import { Notice } from '../../kit/notice.js';
import { sentenceInUnits } from '../../prefs/units.js';
import { t } from '../../text/text.js';

/** A ranking is kept as it was published; late data makes a new revision, and this says what it changed. */
export function Revisions({ ranking, list }: { ranking: Ranking; list: RankingList }) {
  const all = list.rankings.filter((row) => row.week === ranking.week).map((row) => row.revision);
  const newest = Math.max(ranking.revision, ...all);
  return (
    <>
      <p class="quiet revision-line">
        {t.ranking.madeBy(ranking.revision, ranking.ruleVersion)}
        {ranking.provisional && <strong> {t.ranking.provisional}</strong>}
      </p>
      {ranking.revision < newest && (
        <Notice kind="caution" title={t.ranking.oldRevision(ranking.revision, newest)}>
          <button type="button" onClick={() => setQuery({ revision: null })}>
            {t.ranking.toNewest}
          </button>
        </Notice>
      )}
      {all.length > 1 && (
        <details class="card changes">
          <summary>{t.ranking.changedIn(ranking.revision, ranking.changes.length)}</summary>
          <div class="row no-print">
            <Select
              label={t.ranking.revision}
              value={String(ranking.revision)}
              options={all.map((revision) => ({ value: String(revision), text: t.ranking.revisionNumber(revision) }))}
              onChange={(value) => setQuery({ revision: Number(value) === newest ? null : value }, { push: true })}
            />
          </div>
          {ranking.changes.length === 0 ? (
            <p>{t.ranking.firstRevision}</p>
          ) : (
            <ul>
              {ranking.changes.map((change) => (
                <li key={change}>{sentenceInUnits(change)}</li>
              ))}
            </ul>
          )}
        </details>
      )}
    </>
  );
}
