import type { Inspection, Visit } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { vehicleHref } from '../../app/places.js';
import { useResource } from '../../data/resource.js';
import { EvidenceLinks } from '../../kit/evidence-links.js';
import { Field, TextInput } from '../../kit/field.js';
import { t } from '../../text/text.js';
import { partsFrom } from './plan-actions.js';

interface PanelProps {
  visit: Visit;
  bay: string;
  onStep: (step: string, body?: unknown) => void;
  onClose: () => void;
}

/** One visit: when, why, and the steps that are possible from where it stands. */
export function VisitPanel({ visit, bay, onStep, onClose }: PanelProps) {
  const found = useResource<{ inspections: Inspection[] }>(
    `/v1/inspections?vehicle=${encodeURIComponent(visit.vehicle)}`,
  );
  const reasons = new Map(
    found.state === 'ready' ? found.data.inspections.map(({ id, why }) => [id, why] as const) : [],
  );
  const evidenceOf = (id: string, text: string) =>
    reasons.get(id)?.find((reason) => reason.text === text)?.evidence ?? [];
  const ended = visit.state === 'done' || visit.state === 'declined';
  return (
    <section class="visit-panel" aria-labelledby="visit-title">
      <h2 id="visit-title">{t.plan.visitOf(visit.vehicle)}</h2>
      <p>
        {bay}, {t.plan.when(visit.day, visit.from, visit.to)}; {t.plan.states[visit.state]}
        {visit.pinned && `, ${t.plan.pinned}`}; {t.plan.person(visit.person)}{' '}
        <a href={vehicleHref(visit.vehicle)}>{visit.vehicle}</a>
      </p>
      {visit.inspections.map(({ id, label, why }) => (
        <div key={id}>
          <h3>{label}</h3>
          <ul>
            {why.map((text) => (
              <li key={text}>
                {text} <EvidenceLinks evidence={evidenceOf(id, text)} vehicle={visit.vehicle} />
              </li>
            ))}
          </ul>
        </div>
      ))}
      {visit.findings && <p>{visit.findings}</p>}
      {!ended && (
        <>
          <p class="quiet">{t.plan.how}</p>
          <div class="row">
            <button type="button" onClick={() => onStep('pin', { pinned: !visit.pinned })}>
              {visit.pinned ? t.plan.unpin : t.plan.pin}
            </button>
            {visit.state === 'proposed' && (
              <button type="button" onClick={() => onStep('book')}>
                {t.plan.book}
              </button>
            )}
            {visit.state !== 'in_the_bay' && (
              <button type="button" onClick={() => onStep('start')}>
                {t.plan.start}
              </button>
            )}
          </div>
          <div class="panel-forms">
            <Finish onStep={onStep} />
            <Decline onStep={onStep} />
          </div>
        </>
      )}
      <button type="button" class="plain" onClick={onClose}>
        {t.plan.close}
      </button>
    </section>
  );
}

function Finish({ onStep }: Pick<PanelProps, 'onStep'>) {
  const [findings, setFindings] = useState('');
  const [parts, setParts] = useState('');
  return (
    <details>
      <summary>{t.plan.doneHead}</summary>
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault();
          onStep('done', { findings, parts: partsFrom(parts) });
        }}
      >
        <Field label={t.plan.findings}>
          {(ids) => (
            <textarea {...ids} rows={3} value={findings} onInput={(event) => setFindings(event.currentTarget.value)} />
          )}
        </Field>
        <Field label={t.plan.parts} hint={t.plan.partsHint}>
          {(ids) => (
            <textarea {...ids} rows={2} value={parts} onInput={(event) => setParts(event.currentTarget.value)} />
          )}
        </Field>
        <button type="submit" class="primary">
          {t.plan.finish}
        </button>
      </form>
    </details>
  );
}

function Decline({ onStep }: Pick<PanelProps, 'onStep'>) {
  const [reason, setReason] = useState('');
  return (
    <details>
      <summary>{t.plan.declineHead}</summary>
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault();
          if (reason.trim() !== '') onStep('decline', { reason });
        }}
      >
        <TextInput label={t.plan.reason} value={reason} onInput={setReason} />
        <button type="submit" disabled={reason.trim() === ''}>
          {t.plan.decline}
        </button>
      </form>
    </details>
  );
}
