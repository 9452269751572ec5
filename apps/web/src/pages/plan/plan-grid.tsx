import type { PlaceCheck, ShopPlanView, Visit } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { setQuery } from '../../app/location.js';
import { depotName } from '../../data/depot-names.js';
import { t } from '../../text/text.js';

interface GridProps {
  data: ShopPlanView;
  chosen: Visit | null;
  /** `bay day` -> what it would say to the chosen visit; null while that is asked. */
  places: ReadonlyMap<string, PlaceCheck> | null;
  onMove: (visit: Visit, bay: string, day: string) => void;
}

type Bay = ShopPlanView['bays'][number];

/** Bays down, days across. A visit is chosen by pressing or dragging it; then each place says whether it fits, and why not. */
export function PlanGrid({ data, chosen, places, onMove }: GridProps) {
  const days = data.bays[0]?.days.map(({ day }) => day) ?? [];
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard (axe: scrollable-region-focusable)
    <section class="plan-scroll" aria-label={t.plan.calendar} tabIndex={0}>
      <table class="plan-grid">
        <caption class="only-read">{t.plan.calendar}</caption>
        <thead>
          <tr>
            <th scope="col">{t.plan.bay}</th>
            {days.map((day) => (
              <th key={day} scope="col">
                {t.plan.dayHead(day)}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {data.bays.map((bay) => (
            <tr key={bay.id}>
              <th scope="row">
                {bay.name}
                <small>{[depotName(bay.depot), ...bay.features].join(', ')}</small>
              </th>
              {bay.days.map((day) => (
                <Cell
                  key={day.day}
                  {...{ bay, day, chosen, onMove }}
                  visits={visitsOf(data, bay.id, day.day)}
                  place={places?.get(`${bay.id} ${day.day}`) ?? null}
                />
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

interface CellProps {
  bay: Bay;
  day: Bay['days'][number];
  visits: readonly Visit[];
  chosen: Visit | null;
  place: PlaceCheck | null;
  onMove: GridProps['onMove'];
}

function Cell({ bay, day, visits, chosen, place, onMove }: CellProps) {
  const [over, setOver] = useState(false);
  const here = chosen?.bay === bay.id && chosen.day === day.day;
  const kind = place === null || here ? '' : place.fits ? ' fits' : ' no-fit';
  const left = day.from === null || day.to === null ? 0 : minutesOf(day.to) - minutesOf(day.from) - day.usedMinutes;
  return (
    <td
      class={`plan-cell${kind}${over ? ' over' : ''}${day.closed ? ' closed' : ''}`}
      data-bay={bay.id}
      data-day={day.day}
      onDragOver={(event) => {
        if (place?.fits) event.preventDefault();
        setOver(true);
      }}
      onDragLeave={() => setOver(false)}
      onDrop={(event) => {
        event.preventDefault();
        setOver(false);
        if (chosen && place?.fits && !here) onMove(chosen, bay.id, day.day);
      }}
    >
      {visits.map((visit) => (
        <VisitCard key={visit.id} visit={visit} chosen={chosen?.id === visit.id} />
      ))}
      {chosen && place && !here && <PlaceWord {...{ chosen, place, bay, onMove }} />}
      {day.closed ? (
        <small title={day.closed}>{t.plan.closed}</small>
      ) : (
        <small>
          {t.plan.left(left)}{' '}
          {visits.length > 0 && (
            <a
              href={`/v1/plan/bays/${encodeURIComponent(bay.id)}/day-sheet?day=${day.day}`}
              target="_blank"
              rel="noreferrer"
              aria-label={t.plan.sheetOf(bay.name, day.day)}
            >
              {t.plan.sheet}
            </a>
          )}
        </small>
      )}
    </td>
  );
}

/** Says at once whether the chosen visit fits; by keyboard it is moved with the button. */
function PlaceWord({
  chosen,
  place,
  bay,
  onMove,
}: {
  chosen: Visit;
  place: PlaceCheck;
  bay: Bay;
  onMove: GridProps['onMove'];
}) {
  if (!place.fits)
    return (
      <small class="why-not">
        <span aria-hidden="true">×</span> {place.limits[0]?.text ?? t.plan.cannot}
      </small>
    );
  return (
    <button
      type="button"
      class="plain move-here"
      aria-label={t.plan.moveTo(chosen.vehicle, bay.name, place.day)}
      onClick={() => onMove(chosen, bay.id, place.day)}
    >
      <span aria-hidden="true">✓</span> {t.plan.moveHere}
      {place.warnings.map((text) => (
        <small key={text}> {text}</small>
      ))}
    </button>
  );
}

function VisitCard({ visit, chosen }: { visit: Visit; chosen: boolean }) {
  const state = t.plan.states[visit.state] ?? visit.state;
  const movable = visit.state !== 'done' && visit.state !== 'declined';
  return (
    <button
      type="button"
      class={`visit visit-${visit.state}`}
      draggable={movable}
      aria-pressed={chosen}
      onClick={() => setQuery({ visit: chosen ? null : visit.id })}
      onDragStart={(event) => {
        event.dataTransfer?.setData('text/plain', visit.id);
        if (!chosen) setQuery({ visit: visit.id });
      }}
    >
      <strong>{visit.vehicle}</strong> {visit.pinned && <span class="pin"> {t.plan.pinned}</span>}
      <small>
        {visit.from}–{visit.to} · {state}
      </small>{' '}
      <small>{visit.inspections.map(({ label }) => label.split(':')[0]).join(', ')}</small>
    </button>
  );
}

const visitsOf = (data: ShopPlanView, bay: string, day: string): Visit[] =>
  data.visits
    .filter((visit) => visit.bay === bay && visit.day <= day && day <= visit.lastDay)
    .toSorted((a, b) => (a.from < b.from ? -1 : 1));
const minutesOf = (clock: string): number => Number(clock.slice(0, 2)) * 60 + Number(clock.slice(3));
