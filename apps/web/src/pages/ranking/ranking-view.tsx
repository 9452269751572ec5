import type { Ranking, RankingList } from '@tallybay/contracts';
import { useMemo } from 'preact/hooks';
import { addressOf, query, setQuery } from '../../app/location.js';
import { depotNames } from '../../data/depot-names.js';
import { useResource } from '../../data/resource.js';
import { Dialog } from '../../kit/dialog.js';
import { Loaded } from '../../kit/loaded.js';
import { PANEL_MIN, useMinWidth } from '../../kit/media.js';
import { Caution, Notice } from '../../kit/notice.js';
import { PageTitle } from '../../kit/page-title.js';
import { saveText } from '../../kit/save-file.js';
import { sentenceInUnits } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { Filters, filterNow } from './filters.js';
import { RankedTable } from './ranked-table.js';
import { filteredRanked, filteredUnranked, isSortable, type RankingSort, rankingCsv, sorted } from './ranking-rows.js';
import { Revisions } from './revisions.js';
import { UnrankedList } from './unranked-list.js';
import { weekDays, weekNumber } from './week-names.js';
import { WhyPanel } from './why-panel.js';

interface ViewProps {
  week: string;
  list: RankingList;
}

/** One week's ranking, of the newest revision or the one that the address names. */
export function RankingView({ week, list }: ViewProps) {
  const revision = query.value.get('revision');
  const ranking = useResource<Ranking>(addressOf(`/v1/rankings/${encodeURIComponent(week)}`, { revision }));
  return (
    <Loaded of={ranking} what={t.ranking.theRanking(week)}>
      {(data) => <Week ranking={data} list={list} />}
    </Loaded>
  );
}

function Week({ ranking, list }: { ranking: Ranking; list: RankingList }) {
  const filter = filterNow();
  const sort = sortNow();
  const { vehicleClass, depot, route, find } = filter;
  const narrowed = [ranking, vehicleClass, depot, route, find, depotNames.value];
  const ranked = useMemo(() => filteredRanked(ranking, filter), narrowed);
  const unranked = useMemo(() => filteredUnranked(ranking, filter), narrowed);
  const rows = useMemo(() => sorted(ranked, sort), [ranked, sort.by, sort.down]);
  const wide = useMinWidth() >= PANEL_MIN;
  const asked = query.value.get('why');
  const shown = ranking.ranked.find((row) => row.vehicle === asked) ?? (wide && !asked ? rows[0] : undefined);
  const save = () =>
    saveText(`tallybay-${ranking.week}-r${ranking.revision}.csv`, 'text/csv', rankingCsv(ranking, rows, unranked));
  return (
    <>
      <PageTitle text={t.ranking.title(weekNumber(ranking.week), weekDays(ranking.week))}>
        <div class="actions">
          <button type="button" onClick={() => window.print()}>
            {t.ranking.print}
          </button>
          <button type="button" onClick={save}>
            {t.ranking.csv}
          </button>
        </div>
      </PageTitle>
      <Revisions ranking={ranking} list={list} />
      <Caution text={ranking.caution} />
      {asked && !shown && <NotRanked vehicle={asked} ranking={ranking} />}
      <div class={shown && wide ? 'beside' : ''}>
        <div class="stack">
          <Filters ranking={ranking} />
          {rows.length > 0 ? (
            <RankedTable
              rows={rows}
              sort={sort}
              current={shown?.vehicle ?? null}
              caption={t.ranking.shown(rows.length, ranking.ranked.length)}
            />
          ) : (
            <NoRows ranking={ranking} />
          )}
          <UnrankedList rows={unranked} />
        </div>
        {shown && wide && (
          <aside class="card no-print" aria-labelledby="why-title">
            <h2 id="why-title">{t.ranking.whyTitle(shown.vehicle)}</h2>
            <WhyPanel row={shown} of={ranking.ranked.length} caution={t.ranking.panelCaution} />
          </aside>
        )}
      </div>
      {shown && !wide && (
        <Dialog title={t.ranking.whyTitle(shown.vehicle)} onClose={() => setQuery({ why: null })}>
          <WhyPanel row={shown} of={ranking.ranked.length} caution={t.ranking.panelCaution} />
        </Dialog>
      )}
    </>
  );
}

const NoRows = ({ ranking }: { ranking: Ranking }) =>
  ranking.ranked.length === 0 ? (
    <Notice kind="info" title={t.ranking.nobodyRanked}>
      <p>{t.ranking.nobodyRankedAdvice}</p>
    </Notice>
  ) : (
    <Notice kind="info" title={t.ranking.noneFits} live>
      <button type="button" onClick={() => setQuery({ class: null, depot: null, route: null, find: null })}>
        {t.ranking.clearFilters}
      </button>
    </Notice>
  );

/** A link named a vehicle that has no rank in this week: say why, instead of showing another one. */
function NotRanked({ vehicle, ranking }: { vehicle: string; ranking: Ranking }) {
  const causes = ranking.unranked.find((row) => row.vehicle === vehicle)?.causes ?? [];
  return (
    <Notice kind="info" title={t.ranking.notRankedTitle(vehicle)} live>
      {causes.map((cause) => (
        <p key={cause.code}>
          {sentenceInUnits(cause.text)} {t.ranking.causeAdvice[cause.code]}
        </p>
      ))}
      {causes.length === 0 && <p>{t.ranking.notInWeek}</p>}
    </Notice>
  );
}

function sortNow(): RankingSort {
  const given = query.value.get('sort') ?? 'rank';
  const down = given.startsWith('-');
  const by = down ? given.slice(1) : given;
  return isSortable(by) ? { by, down } : { by: 'rank', down: false };
}
