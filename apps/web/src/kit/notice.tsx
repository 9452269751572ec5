import type { ProblemDocument } from '@tallybay/contracts';
import type { ComponentChildren } from 'preact';
import { t } from '../text/text.js';

export type NoticeKind = 'info' | 'good' | 'caution' | 'error';
/** A sign beside the colour, so that the kind is seen without it. */
const SIGNS: Record<NoticeKind, string> = { info: 'i', good: '✓', caution: '!', error: '×' };

interface NoticeProps {
  kind: NoticeKind;
  title?: string | undefined;
  children?: ComponentChildren;
  /** Read out when it appears after something the reader did. */
  live?: boolean;
}

export const Notice = ({ kind, title, children, live = false }: NoticeProps) => (
  <div class={`notice notice-${kind}`} role={live ? (kind === 'error' ? 'alert' : 'status') : undefined}>
    <span class="notice-sign" aria-hidden="true">
      {SIGNS[kind]}
    </span>
    <div>
      {title && <strong>{title}</strong>}
      {children}
    </div>
  </div>
);

/** What went wrong as a sentence, and what to do about it. */
export const ProblemNotice = ({
  problem,
  onRetry,
}: {
  problem: ProblemDocument;
  onRetry?: (() => void) | undefined;
}) => (
  <Notice kind="error" title={`${problem.title}.`} live>
    <p>{sentence(problem.detail)}</p>
    {problem.advice && <p>{sentence(problem.advice)}</p>}
    {onRetry && (
      <button type="button" onClick={onRetry}>
        {t.states.tryAgain}
      </button>
    )}
  </Notice>
);

/** A rank is no permission to drive and a verdict is not the programme's: said where it could be taken so. */
export const Caution = ({ text }: { text: string }) => (
  <p class="caution-line">
    <span aria-hidden="true">!</span> {text}
  </p>
);

const sentence = (text: string): string => (/[.!?]$/.test(text) ? text : `${text}.`);
