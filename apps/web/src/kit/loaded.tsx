import type { ComponentChildren } from 'preact';
import type { Resource } from '../data/resource.js';
import { t } from '../text/text.js';
import { Notice, ProblemNotice } from './notice.js';

interface LoadedProps<T> {
  of: Resource<T>;
  /** What is being fetched, for the waiting reader. */
  what: string;
  /** Says for which data there is nothing to show, and what to do then. */
  empty?: { when: (data: T) => boolean; title: string; children: ComponentChildren };
  children: (data: T) => ComponentChildren;
}

/** Loading, error and empty states of one resource; each says what it is and what to do. */
export function Loaded<T>({ of, what, empty, children }: LoadedProps<T>) {
  if (of.state === 'loading')
    return (
      <p class="loading" role="status">
        <span class="loading-strokes" aria-hidden="true" /> {t.states.loading(what)}
      </p>
    );
  if (of.state === 'error') return <ProblemNotice problem={of.problem} what={what} onRetry={of.reload} />;
  if (empty?.when(of.data))
    return (
      <Notice kind="info" title={empty.title}>
        {empty.children}
      </Notice>
    );
  return <>{children(of.data)}</>;
}
