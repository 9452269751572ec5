import type { CrossingsTrial as Result, SignalLimit } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { vehicleHref } from '../../app/places.js';
import { useTrial } from '../../data/trial.js';
import { Select } from '../../kit/field.js';
import { Notice, ProblemNotice } from '../../kit/notice.js';
import { StageBadge } from '../../kit/stage.js';
import { type Column, Table } from '../../kit/table.js';
import { t } from '../../text/text.js';

type Row = Result['vehicles'][number]['signals'][number] & { vehicle: string; vehicleClass: string };

const words = t.signalLimits;

const COLUMNS: readonly Column<Row>[] = [
  {
    id: 'vehicle',
    head: words.trialColumns.vehicle,
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
    id: 'signal',
    head: words.trialColumns.signal,
    cell: (row) => (
      <>
        {row.label} <span class="second">{words[row.direction]}</span> <StageBadge stage={row.stage} />
      </>
    ),
  },
  {
    id: 'crossings',
    head: words.trialColumns.crossings,
    width: '7rem',
    cell: (row) => pair(String(row.before.crossings), String(row.after.crossings)),
  },
  {
    id: 'time',
    head: words.trialColumns.time,
    width: '9rem',
    from: 480,
    cell: (row) => pair(words.time(row.before.seconds), words.time(row.after.seconds)),
  },
];

const pair = (before: string, after: string) => (before === after ? before : `${before} → ${after}`);

interface CrossingsTrialProps {
  limits: readonly SignalLimit[];
  weeks: readonly string[];
  changed: boolean;
}

/** What the limits would have found in a past week, before they are saved. */
export function CrossingsTrial({ limits, weeks, changed }: CrossingsTrialProps) {
  const [week, setWeek] = useState('');
  const { running, result, problem, run } = useTrial<Result>('/v1/limits/crossings-trial', limits);
  const chosen = week || weeks[0];
  if (!chosen) return <Notice kind="info" title={words.noWeeks} />;
  return (
    <section class="card" aria-labelledby="crossings-trial-title">
      <h2 id="crossings-trial-title">{words.trial}</h2>
      <p class="quiet">{changed ? words.trialLead : words.trialUnchanged}</p>
      <div class="row">
        <Select
          label={t.limits.week}
          value={chosen}
          options={weeks.map((value) => ({ value, text: value }))}
          onChange={setWeek}
        />
        <button type="button" disabled={running} onClick={() => void run({ limits, week: chosen })}>
          {running ? t.limits.running : t.limits.run}
        </button>
      </div>
      {problem && <ProblemNotice problem={problem} />}
      {result && <Found result={result} />}
    </section>
  );
}

function Found({ result }: { result: Result }) {
  if (result.vehicles.length === 0) return <Notice kind="info" title={words.nothing(result.week)} live />;
  const rows = result.vehicles.flatMap(({ vehicle, vehicleClass, signals }) =>
    signals.map((signal): Row => ({ vehicle, vehicleClass, ...signal })),
  );
  return (
    <>
      <Notice kind="info" title={words.found(result.vehicles.length, result.week)} live>
        <p>{words.inForceToThese}</p>
      </Notice>
      <Table
        caption={words.found(result.vehicles.length, result.week)}
        hideCaption
        columns={COLUMNS}
        rows={rows}
        rowKey={(row) => `${row.vehicle} ${row.signal} ${row.direction} ${row.stage}`}
      />
    </>
  );
}
