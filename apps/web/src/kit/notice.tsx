import type { ProblemDocument } from '@tallybay/contracts';
import type { ComponentChildren } from 'preact';
import { problemWords } from '../data/problem-words.js';
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

interface ProblemProps {
  problem: ProblemDocument;
  /** What could not be fetched, as a noun phrase, when it is that. */
  what?: string | undefined;
  onRetry?: (() => void) | undefined;
}

/** What went wrong as sentences, and what to do about it; what only programs can use is folded away. */
export function ProblemNotice({ problem, what, onRetry }: ProblemProps) {
  const { title, said, technical } = problemWords(problem, what ?? null, t.problems);
  return (
    <Notice kind="error" title={title} live>
      {said.map((sentence) => (
        <p key={sentence}>{sentence}</p>
      ))}
      {onRetry && (
        <button type="button" onClick={onRetry}>
          {t.states.tryAgain}
        </button>
      )}
      {technical.length > 0 && (
        <details class="quiet">
          <summary>{t.problems.technical}</summary>
          {technical.map((line) => (
            <p key={line}>{line}</p>
          ))}
        </details>
      )}
    </Notice>
  );
}

/** A rank is no permission to drive and a verdict is not the programme's: said where it could be taken so. */
export const Caution = ({ text }: { text: string }) => (
  <p class="caution-line">
    <span aria-hidden="true">!</span> {text}
  </p>
);
