import type { VehicleEvidence } from '@tallybay/contracts';
import { addressOf } from '../../app/location.js';
import type { Resource } from '../../data/resource.js';
import { Caution } from '../../kit/notice.js';
import { Mark, type MarkKind } from '../../kit/stage.js';
import { Tally } from '../../kit/tally.js';
import { t } from '../../text/text.js';
import { weekDays, weekNumber } from '../ranking/week-names.js';
import { Section } from './section.js';
import { type Summary as Sentences, type SummaryFacts, summaryOf } from './summary-sentences.js';

const LEVELS: Record<Sentences['level'], MarkKind> = { well: 'good', reserved: 'caution', unknown: 'unknown' };

type Sources = { [K in keyof SummaryFacts]: Resource<NonNullable<SummaryFacts[K]>> };

const dataOf = <T,>(resource: Resource<T>): T | null => (resource.state === 'ready' ? resource.data : null);

interface SummaryProps {
  vehicle: string;
  sources: Sources;
  evidence: Resource<VehicleEvidence>;
}

/** The answer for somebody who has never seen the vehicle; every sentence has its section below. */
export function Summary({ vehicle, sources, evidence }: SummaryProps) {
  const all = Object.values(sources);
  const facts: SummaryFacts = {
    weeks: dataOf(sources.weeks),
    codes: dataOf(sources.codes),
    readiness: dataOf(sources.readiness),
    quality: dataOf(sources.quality),
    residuals: dataOf(sources.residuals),
  };
  const waiting = all.some(({ state }) => state === 'loading');
  const sentences = summaryOf(facts, Date.now());
  return (
    <Section id="summary">
      <Caution text={t.vehicle.caution} />
      {waiting ? (
        <p class="loading" role="status">
          <span class="loading-strokes" aria-hidden="true" /> {t.states.loading(t.vehicle.what(vehicle))}
        </p>
      ) : (
        <dl class="in-short">
          <dt>{t.vehicle.summary.wrong}</dt>
          <dd>{sentences.wrong.join(' ')}</dd>
          <dt>{t.vehicle.summary.since}</dt>
          <dd>{sentences.since.join(' ')}</dd>
          <dt>{t.vehicle.summary.sure}</dt>
          <dd>
            <Mark kind={LEVELS[sentences.level]} text={t.vehicle.summary[sentences.level]} /> {sentences.sure.join(' ')}
          </dd>
        </dl>
      )}
      {all.some(({ state }) => state === 'error') && <p class="quiet">{t.vehicle.summary.partMissing}</p>}
      <Standing vehicle={vehicle} evidence={evidence} />
    </Section>
  );
}

/** Its place in the published rankings; nothing while they are not there. */
function Standing({ vehicle, evidence }: { vehicle: string; evidence: Resource<VehicleEvidence> }) {
  const standing = dataOf(evidence)?.standing ?? [];
  const newest = standing.at(-1);
  if (!newest) return null;
  const week = weekNumber(newest.week);
  return (
    <div class="standing">
      <p>
        <strong>
          {newest.rank === null ? t.vehicle.summary.noRank(week) : t.vehicle.summary.rank(newest.rank, newest.of, week)}
        </strong>{' '}
        <a href={addressOf('/ranking', { week: newest.week, why: vehicle })}>{t.vehicle.summary.why}</a>
      </p>
      {standing.length > 1 && (
        <ul class="standing-weeks" aria-label={t.vehicle.summary.everyWeek}>
          {standing.map((one) => (
            <li key={one.week} title={weekDays(one.week)}>
              <a href={addressOf('/ranking', { week: one.week, why: vehicle })}>{weekNumber(one.week)}</a>
              <Tally score={one.score} missing={t.vehicles.notRanked} />
              {one.rank !== null && <span class="second">{t.vehicles.rank(one.rank, one.of)}</span>}
            </li>
          ))}
        </ul>
      )}
    </div>
  );
}
