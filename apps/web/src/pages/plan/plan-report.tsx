import type { PlanReport } from '@tallybay/contracts';
import type { ComponentChildren } from 'preact';
import { t } from '../../text/text.js';

export const percentText = (share: number): string =>
  share.toLocaleString(t.locale, { style: 'percent', maximumFractionDigits: 1 });

/** What the planner said about its plan: how good it is, what it moved, what is late or left out, and why. */
export function PlanReportView({ report }: { report: PlanReport }) {
  const cost = report.cost.toLocaleString(t.locale, { maximumFractionDigits: 0 });
  return (
    <section aria-label={t.plan.report}>
      <p>
        {t.plan.reportText(report.planned, cost)}{' '}
        {report.optimal ? t.plan.proven : t.plan.within(percentText(report.gap))}
      </p>
      <Part
        head={t.plan.reportConflicts}
        rows={report.conflicts}
        text={({ vehicle, text }) => `${vehicle}: ${text}.`}
      />
      <Part
        head={t.plan.reportMoved}
        rows={report.moved}
        text={({ vehicle, from, to, why }) => `${vehicle}: ${t.plan.fromTo(from, to)}. ${why}`}
      />
      <Part
        head={t.plan.reportLate}
        rows={report.late}
        text={({ vehicle, inspections, days, why }) => (
          <>
            {vehicle}: {inspections.join(', ')}, {t.plan.lateBy(days)}. {why.map(({ text }) => text).join(' ')}
          </>
        )}
      />
      <Part
        head={t.plan.reportWaiting}
        rows={report.waiting}
        text={({ vehicle, inspections, why }) =>
          `${vehicle}: ${inspections.join(', ')}. ${why.map(({ text }) => text).join(' ')}`
        }
      />
    </section>
  );
}

interface PartProps<R> {
  head: (count: number) => string;
  rows: readonly R[];
  text: (row: R) => ComponentChildren;
}

function Part<R>({ head, rows, text }: PartProps<R>) {
  if (rows.length === 0) return null;
  return (
    <details>
      <summary>{head(rows.length)}</summary>
      <ul>
        {rows.map((row, index) => (
          <li key={String(index)}>{text(row)}</li>
        ))}
      </ul>
    </details>
  );
}
