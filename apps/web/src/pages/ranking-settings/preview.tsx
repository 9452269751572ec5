import type { Exclusion, PreviewPlace, PreviewVehicle, RankingPreview } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { vehicleHref } from '../../app/places.js';
import { useTrial } from '../../data/trial.js';
import { Select } from '../../kit/field.js';
import { Notice, ProblemNotice } from '../../kit/notice.js';
import { type Column, Table } from '../../kit/table.js';
import { scoreText } from '../../kit/tally.js';
import { sentenceInUnits } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import type { Component } from './rules-edit.js';

const WEEK_CHOICES = ['1', '4', '8'];

export interface TriedRules {
  weights: Record<Component, number>;
  exclusions: readonly Exclusion[];
}

/** What the edited rules would have made of past weeks, before they are saved. */
export function Preview({ rules, changed }: { rules: TriedRules; changed: boolean }) {
  const [weeks, setWeeks] = useState('4');
  const { running, result, problem, run } = useTrial<RankingPreview>('/v1/rankings/preview', JSON.stringify(rules));
  return (
    <section class="card stack" aria-labelledby="preview-title">
      <h2 id="preview-title">{t.rankingRules.preview}</h2>
      <p class="quiet">{changed ? t.rankingRules.previewLead : t.rankingRules.previewUnchanged}</p>
      <div class="row">
        <Select
          label={t.rankingRules.weeks}
          value={weeks}
          options={WEEK_CHOICES.map((value) => ({ value, text: t.rankingRules.weeksOf(Number(value)) }))}
          onChange={setWeeks}
        />
        <button
          type="button"
          disabled={!changed || running}
          onClick={() => void run({ ...rules, weeks: Number(weeks) })}
        >
          {running ? t.rankingRules.running : t.rankingRules.run}
        </button>
      </div>
      {problem && <ProblemNotice problem={problem} />}
      {result?.weeks.length === 0 && <Notice kind="info" title={t.rankingRules.noWeeks} live />}
      {result?.weeks.map((week) => (
        <Week key={week.week} {...week} />
      ))}
    </section>
  );
}

const COLUMNS: readonly Column<PreviewVehicle>[] = [
  {
    id: 'vehicle',
    head: t.ranking.columns.vehicle,
    width: '8rem',
    cell: (row) => (
      <>
        <a class="vehicle-link" href={vehicleHref(row.vehicle)}>
          {row.vehicle}
        </a>
        <span class="second">{row.vehicleClass.replaceAll('_', ' ')}</span>
      </>
    ),
  },
  {
    id: 'rank',
    head: t.ranking.columns.rank,
    width: '8rem',
    cell: (row) => (
      <>
        {pair(row.before.rank, row.after.rank)}
        <span class="second">{changeText(row)}</span>
      </>
    ),
  },
  {
    id: 'score',
    head: t.ranking.columns.score,
    width: '6rem',
    cell: ({ before, after }) => pair(shownScore(before), shownScore(after)),
  },
  {
    id: 'cause',
    head: t.ranking.columns.why,
    from: 560,
    cell: ({ after }) => <span class="two-lines">{after.cause === null ? '' : sentenceInUnits(after.cause)}</span>,
  },
];

function Week({ week, vehicles, unchanged }: RankingPreview['weeks'][number]) {
  if (vehicles.length === 0) return <p role="status">{t.rankingRules.noDifference(week)}</p>;
  const caption = t.rankingRules.differing(vehicles.length, vehicles.length + unchanged, week);
  return <Table caption={caption} columns={COLUMNS} rows={vehicles} rowHeight={56} rowKey={(row) => row.vehicle} />;
}

const shownScore = ({ score }: PreviewPlace): string | null => (score === null ? null : scoreText(score));

const pair = (before: string | number | null, after: string | number | null) => {
  const [from, to] = [before ?? t.rankingRules.notRanked, after ?? t.rankingRules.notRanked];
  return from === to ? String(from) : `${from} → ${to}`;
};

function changeText({ rankChange }: PreviewVehicle): string {
  if (rankChange === null) return '';
  if (rankChange === 0) return t.rankingRules.same;
  return rankChange > 0 ? t.rankingRules.up(rankChange) : t.rankingRules.down(-rankChange);
}
