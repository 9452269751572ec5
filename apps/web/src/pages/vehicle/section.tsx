import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import { t } from '../../text/text.js';

export type SectionId = keyof typeof t.vehicle.sections;

interface SectionProps {
  id: SectionId;
  lead?: string | undefined;
  children: ComponentChildren;
}

/** One part of the page with its heading; it fetches its own data, so that one failing part leaves the others alone. */
export const Section = ({ id, lead, children }: SectionProps) => (
  <section class="card vehicle-part" id={id} aria-labelledby={`${id}-title`}>
    <h2 id={`${id}-title`} tabIndex={-1}>
      {t.vehicle.sections[id]}
    </h2>
    {lead && <p class="quiet">{lead}</p>}
    {children}
  </section>
);

/** A table that may be wider than the window: it scrolls on its own, also with the arrow keys. */
export const Wide = ({ label, children }: { label: string; children: ComponentChildren }) => (
  // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by the keyboard (WCAG 2.1.1)
  <section class="scroll-x" aria-label={t.vehicle.tableOf(label)} tabIndex={0}>
    {children}
  </section>
);

/** The first rows of a long list, and a button for the rest. */
export function useSome<R>(rows: readonly R[], few: number): { shown: readonly R[]; more: ComponentChildren } {
  const [all, setAll] = useState(false);
  if (rows.length <= few) return { shown: rows, more: null };
  return {
    shown: all ? rows : rows.slice(0, few),
    more: (
      <button type="button" class="small more" aria-expanded={all} onClick={() => setAll(!all)}>
        {all ? t.vehicle.showFewer : t.vehicle.showAll(rows.length)}
      </button>
    ),
  };
}

/** Links to the parts of the page; plain anchors, so they work without a script as well. */
export const Contents = ({ parts }: { parts: readonly SectionId[] }) => (
  <nav class="contents no-print" aria-label={t.vehicle.contents}>
    <ul>
      {parts.map((id) => (
        <li key={id}>
          <a href={`#${id}`}>{t.vehicle.sections[id]}</a>
        </li>
      ))}
    </ul>
  </nav>
);
