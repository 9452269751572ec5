import type { RankingList } from '@tallybay/contracts';
import { useEffect, useRef } from 'preact/hooks';
import { addressOf, query } from '../../app/location.js';
import { t } from '../../text/text.js';
import { weekDays, weekNumber } from './week-names.js';

/** Every published week, oldest first, so that time runs the way a calendar does. Filters stay when the week changes. */
export function WeekStrip({ list, week }: { list: RankingList; week: string }) {
  const strip = useRef<HTMLElement>(null);
  const weeks = [...new Set(list.rankings.map((row) => row.week))].toSorted();
  useEffect(() => {
    const box = strip.current;
    const here = box?.querySelector<HTMLElement>('[aria-current]');
    if (box && here) box.scrollLeft = here.offsetLeft - box.clientWidth / 2;
  }, [week, weeks.length]);
  const kept = Object.fromEntries(query.value);
  return (
    <nav class="week-strip no-print" aria-label={t.ranking.weeks} ref={strip}>
      {weeks.map((name) => (
        <a
          key={name}
          href={addressOf('/ranking', { ...kept, week: name, revision: null, why: null })}
          aria-current={name === week ? 'true' : undefined}
        >
          <strong>{weekNumber(name)}</strong>
          <span>{weekDays(name)}</span>
        </a>
      ))}
    </nav>
  );
}
