import type { LimitsTrial } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { vehicleHref } from '../../app/places.js';
import { useTrial } from '../../data/trial.js';
import { Select } from '../../kit/field.js';
import { Notice, ProblemNotice } from '../../kit/notice.js';
import { STAGES } from '../../kit/stage.js';
import { type Column, Table } from '../../kit/table.js';
import { scoreText } from '../../kit/tally.js';
import { t } from '../../text/text.js';
import type { StageRow } from './stage-rows.js';

type Row = LimitsTrial['vehicles'][number];

const COLUMNS: readonly Column<Row>[] = [
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
  { id: 'rank', head: t.ranking.columns.rank, width: '7rem', cell: (row) => pair(row.before.rank, row.after.rank) },
  {
    id: 'score',
    head: t.ranking.columns.score,
    width: '7rem',
    cell: (row) => pair(rounded(row.before.score), rounded(row.after.score)),
  },
  {
    id: 'minutes',
    head: t.limits.minutes,
    from: 480,
    cell: (row) => <span class="two-lines">{minutesText(row)}</span>,
  },
];

interface TrialProps {
  stages: readonly StageRow[];
  weeks: readonly string[];
  changed: boolean;
}

/** What the edited limits would have made of a past week, before they are saved. */
export function Trial({ stages, weeks, changed }: TrialProps) {
  const [week, setWeek] = useState('');
  const { running, result, problem, run } = useTrial<LimitsTrial>('/v1/limits/trial', stages);
  const chosen = week || weeks[0];
  if (!chosen) return <Notice kind="info" title={t.limits.noWeeks} />;
  return (
    <section class="card" aria-labelledby="trial-title">
      <h2 id="trial-title">{t.limits.trial}</h2>
      <p class="quiet">{changed ? t.limits.trialLead : t.limits.trialUnchanged}</p>
      <div class="row">
        <Select
          label={t.limits.week}
          value={chosen}
          options={weeks.map((value) => ({ value, text: value }))}
          onChange={setWeek}
        />
        <button type="button" disabled={!changed || running} onClick={() => void run({ stages, week: chosen })}>
          {running ? t.limits.running : t.limits.run}
        </button>
      </div>
      {problem && <ProblemNotice problem={problem} />}
      {result && <Result result={result} />}
    </section>
  );
}

function Result({ result }: { result: LimitsTrial }) {
  const differing = result.vehicles.filter((row) => JSON.stringify(row.before) !== JSON.stringify(row.after));
  if (differing.length === 0) return <Notice kind="info" title={t.limits.noDifference(result.week)} live />;
  return (
    <>
      <p role="status">{t.limits.differing(differing.length, result.vehicles.length, result.week)}</p>
      <Table caption={t.limits.arrow} columns={COLUMNS} rows={differing} rowHeight={56} rowKey={(row) => row.vehicle} />
    </>
  );
}

const rounded = (score: number | null): string | null => (score === null ? null : scoreText(score));

const pair = (before: string | number | null, after: string | number | null) => {
  const [from, to] = [before ?? t.limits.notRanked, after ?? t.limits.notRanked];
  return from === to ? from : `${from} → ${to}`;
};

const minutesText = ({ before, after }: Row): string =>
  STAGES.filter((stage) => before.minutes[stage] !== after.minutes[stage])
    .map((stage) => `${t.stages[stage]} ${before.minutes[stage] ?? 0} → ${after.minutes[stage] ?? 0}`)
    .join(', ');
