import type { RankingList } from '@tallybay/contracts';
import { query } from '../../app/location.js';
import { useResource } from '../../data/resource.js';
import { Loaded } from '../../kit/loaded.js';
import { PageTitle } from '../../kit/page-title.js';
import { t } from '../../text/text.js';
import { RankingView } from './ranking-view.js';
import { WeekStrip } from './week-strip.js';
import './ranking.css';

/** The fleet manager's page: which vehicles first, why, better or worse than last week. */
export function RankingPage() {
  const list = useResource<RankingList>('/v1/rankings');
  const newest = list.state === 'ready' ? list.data.rankings[0]?.week : undefined;
  const week = query.value.get('week') || newest || null;
  return (
    <Loaded
      of={list}
      what={t.ranking.theWeeks}
      empty={{
        when: (data) => data.rankings.length === 0 && week === null,
        title: t.ranking.noneTitle,
        children: (
          <>
            <PageTitle text={t.ranking.titleNone} />
            <p>{t.ranking.noneAdvice}</p>
            <a class="button" href="/upload">
              {t.ranking.goUpload}
            </a>
          </>
        ),
      }}
    >
      {(data) =>
        week && (
          <>
            <WeekStrip list={data} week={week} />
            <RankingView key={week} week={week} list={data} />
          </>
        )
      }
    </Loaded>
  );
}
