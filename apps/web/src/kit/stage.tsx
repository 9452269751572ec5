import { t } from '../text/text.js';

export type StageName = 'watch' | 'caution' | 'alarm' | 'severe';
/** Lowest first; the sign has as many bars as the stage is high, so that it is read without colour. */
export const STAGES: readonly StageName[] = ['watch', 'caution', 'alarm', 'severe'];

export const StageBadge = ({ stage }: { stage: StageName }) => (
  <span class={`stage stage-${stage}`}>
    <span class="stage-bars" aria-hidden="true">
      {'▮'.repeat(STAGES.indexOf(stage) + 1)}
    </span>
    {t.stages[stage]}
  </span>
);

export type MarkKind = 'good' | 'caution' | 'bad' | 'unknown';
const MARKS: Record<MarkKind, string> = { good: '✓', caution: '!', bad: '×', unknown: '?' };

/** A state in a word, with a sign and a colour beside it. */
export const Mark = ({ kind, text }: { kind: MarkKind; text: string }) => (
  <span class={`mark mark-${kind}`}>
    <span aria-hidden="true">{MARKS[kind]}</span> {text}
  </span>
);
