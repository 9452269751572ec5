import type { Resource } from './resource.js';

/** Two resources as one: ready when both are, and one problem, one retry for both. */
export function joined<A, B>(a: Resource<A>, b: Resource<B>): Resource<[A, B]> {
  const reload = () => {
    a.reload();
    b.reload();
  };
  if (a.state === 'error') return { ...a, reload };
  if (b.state === 'error') return { ...b, reload };
  if (a.state === 'loading' || b.state === 'loading') return { state: 'loading', reload };
  return { state: 'ready', data: [a.data, b.data], refreshing: a.refreshing || b.refreshing, reload };
}
