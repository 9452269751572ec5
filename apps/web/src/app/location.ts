import { computed, signal } from '@preact/signals';

/** Where the reader is. Everything that a colleague should see as well stands in the address, so it can be sent as a link. */
const href = signal(window.location.pathname + window.location.search);

export const path = computed(() => href.value.split('?')[0] ?? '/');
export const query = computed(() => new URLSearchParams(href.value.split('?')[1] ?? ''));

/** Counts moves from place to place (not changes of the query), so that a new page can take the focus. */
export const moves = signal(0);

window.addEventListener('popstate', () => take(window.location.pathname + window.location.search));

/** Addresses that the server answers itself. */
const SERVER_PATHS = ['/v1/', '/openapi.json', '/health/'];

/** Goes to an address of the page; a new entry in the browser's history. */
export function go(to: string): void {
  window.history.pushState(null, '', to);
  take(to);
}

/**
 * Changes parameters of the address; null or '' takes one away. Replaces the entry in the history unless `push`: typing in
 * a filter should not fill the Back button.
 */
export function setQuery(changes: Record<string, string | null>, options: { push?: boolean } = {}): void {
  const next = new URLSearchParams(query.peek());
  for (const [name, value] of Object.entries(changes)) {
    if (value === null || value === '') next.delete(name);
    else next.set(name, value);
  }
  const to = addressOf(path.peek(), Object.fromEntries(next));
  if (options.push) window.history.pushState(null, '', to);
  else window.history.replaceState(null, '', to);
  href.value = to;
}

/** A path with parameters, empty ones left out. */
export function addressOf(to: string, parameters: Record<string, string | number | null | undefined> = {}): string {
  const given = Object.entries(parameters).filter(([, value]) => value !== null && value !== undefined && value !== '');
  const text = new URLSearchParams(given.map(([name, value]) => [name, String(value)])).toString();
  return text === '' ? to : `${to}?${text}`;
}

function take(to: string): void {
  const moved = to.split('?')[0] !== path.peek();
  href.value = to;
  if (moved) {
    moves.value += 1;
    window.scrollTo(0, 0);
  }
}

/** Plain `<a href="/…">` anywhere becomes a move without a reload; what the reader asks of the browser itself stays. */
document.addEventListener('click', (event) => {
  const link = event.target instanceof Element ? event.target.closest('a') : null;
  if (!link || event.defaultPrevented || event.button !== 0) return;
  if (event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
  if (link.target !== '' || link.hasAttribute('download') || link.origin !== window.location.origin) return;
  if (link.hash !== '' || SERVER_PATHS.some((prefix) => link.pathname.startsWith(prefix))) return;
  event.preventDefault();
  go(link.pathname + link.search);
});
