import type { PlaceCheck, ProblemDocument, ShopPlanView, Visit } from '@tallybay/contracts';
import { useEffect, useState } from 'preact/hooks';
import { query, setQuery } from '../../app/location.js';
import { depotChoices } from '../../data/depot-names.js';
import { problemOf } from '../../data/http.js';
import { useResource } from '../../data/resource.js';
import { Select } from '../../kit/field.js';
import { Loaded } from '../../kit/loaded.js';
import { Caution, Notice, ProblemNotice } from '../../kit/notice.js';
import { PageTitle } from '../../kit/page-title.js';
import { t } from '../../text/text.js';
import { NoticeList } from './notice-list.js';
import './plan.css';
import { visitStep } from './plan-actions.js';
import { PlanGrid } from './plan-grid.js';
import { PlanReportView } from './plan-report.js';
import { PlanRunner } from './plan-runner.js';
import { VisitPanel } from './visit-panel.js';
import { WaitingList } from './waiting-list.js';

const DAYS = 7;
const MS_PER_DAY = 86_400_000;

/** The maintenance planner's page: who comes into which bay when, what waits, and why. */
export function PlanPage() {
  const from = query.value.get('from');
  const plan = useResource<ShopPlanView>(`/v1/plan?days=${DAYS}${from ? `&from=${from}` : ''}`);
  return (
    <>
      <PageTitle text={t.plan.title}>
        <a class="no-print" href="/plan/shop">
          {t.plan.toShop}
        </a>
      </PageTitle>
      <Loaded
        of={plan}
        what={t.plan.what}
        empty={{
          when: ({ bays }) => bays.length === 0,
          title: t.plan.noShop,
          children: (
            <p>
              {t.plan.noShopAdvice} <a href="/plan/shop?view=bays">{t.plan.toShop}</a>
            </p>
          ),
        }}
      >
        {(data) => <Board data={data} reload={plan.reload} />}
      </Loaded>
    </>
  );
}

function Board({ data, reload }: { data: ShopPlanView; reload: () => void }) {
  const [problem, setProblem] = useState<ProblemDocument | null>(null);
  const [said, setSaid] = useState('');
  const depot = query.value.get('depot') ?? '';
  const chosen = data.visits.find(({ id }) => id === query.value.get('visit'));
  const places = usePlaces(chosen);
  const bays = data.bays.filter((bay) => depot === '' || bay.depot === depot);
  const depots = depotChoices(data.bays.map((bay) => bay.depot));
  const act = async (step: Promise<Visit>, done?: (visit: Visit) => string) => {
    setProblem(null);
    setSaid('');
    try {
      const visit = await step;
      if (done) setSaid(done(visit));
    } catch (thrown) {
      setProblem(problemOf(thrown));
    }
    reload();
  };
  const move = (visit: Visit, bay: string, day: string) =>
    act(visitStep(visit, 'move', { bay, day }), () => t.plan.moved(visit.vehicle, nameOf(data, bay), day));
  return (
    <div class="stack plan">
      <Caution text={t.plan.caution} />
      <NoticeList />
      <PlanRunner onDone={reload} proposals={data.visits.some(({ state }) => state === 'proposed')} />
      {data.report && <PlanReportView report={data.report} />}
      <search class="row no-print">
        <Select
          label={t.plan.depot}
          value={depot}
          options={[{ value: '', text: t.plan.all }, ...depots]}
          onChange={(value) => setQuery({ depot: value })}
        />
        <button type="button" onClick={() => setQuery({ from: shifted(data.from, -DAYS) })}>
          {t.plan.earlier}
        </button>
        <button type="button" onClick={() => setQuery({ from: shifted(data.from, DAYS) })}>
          {t.plan.later}
        </button>
        {depots.map(({ value, text }) => (
          <a key={value} href={`/v1/plan/depots/${encodeURIComponent(value)}/calendar.ics`}>
            {t.plan.feed(text)}
          </a>
        ))}
        <a href="/v1/plan/visits.csv" download>
          {t.plan.csv}
        </a>
      </search>
      {problem && <ProblemNotice problem={problem} />}
      <div role="status">{said !== '' && <Notice kind="good">{said}</Notice>}</div>
      {chosen && (
        <VisitPanel
          key={chosen.id}
          visit={chosen}
          bay={nameOf(data, chosen.bay)}
          onStep={(step, body) => act(visitStep(chosen, step, body))}
          onClose={() => setQuery({ visit: null })}
        />
      )}
      <PlanGrid data={{ ...data, bays }} chosen={chosen ?? null} places={places} onMove={move} />
      <WaitingList waiting={data.waiting} />
    </div>
  );
}

/** Where the chosen visit fits, asked when it is chosen and again when it changes. */
function usePlaces(visit: Visit | undefined): ReadonlyMap<string, PlaceCheck> | null {
  const open = visit && visit.state !== 'done' && visit.state !== 'declined';
  const found = useResource<{ places: PlaceCheck[] }>(
    open ? `/v1/plan/visits/${encodeURIComponent(visit.id)}/places?version=${visit.version}` : null,
  );
  const [map, setMap] = useState<ReadonlyMap<string, PlaceCheck> | null>(null);
  const data = open && found.state === 'ready' ? found.data : null;
  useEffect(() => {
    setMap(data && new Map(data.places.map((place) => [`${place.bay} ${place.day}`, place])));
  }, [data]);
  return map;
}

const nameOf = (data: ShopPlanView, id: string): string => data.bays.find((bay) => bay.id === id)?.name ?? id;
const shifted = (day: string, days: number): string =>
  new Date(Date.parse(`${day}T00:00:00Z`) + days * MS_PER_DAY).toISOString().slice(0, 10);
