import type { ComponentType } from 'preact';
import { t } from '../text/text.js';
import type { IconName } from './icon.js';
import { addressOf } from './location.js';

export interface PageProps {
  /** Named parts of the path, decoded. */
  at: Record<string, string>;
}

export interface Place {
  /** `/ranking`, or `/one/:id`; a part that starts with a colon matches one segment. */
  pattern: string;
  load: () => Promise<ComponentType<PageProps>>;
  /** Present = stands in the navigation, in the order of the table. */
  nav?: { label: string; icon: IconName };
}

/** Every page there is. A new page is a new row; its code is fetched when somebody goes there. */
export const PLACES: readonly Place[] = [
  {
    pattern: '/ranking',
    load: async () => (await import('../pages/ranking/ranking-page.js')).RankingPage,
    nav: { label: t.nav.ranking, icon: 'tally' },
  },
  {
    pattern: '/vehicles',
    load: async () => (await import('../pages/vehicle/vehicles-page.js')).VehiclesPage,
    nav: { label: t.nav.vehicles, icon: 'vehicle' },
  },
  {
    pattern: '/vehicles/:id',
    load: async () => (await import('../pages/vehicle/vehicle-page.js')).VehiclePage,
  },
  {
    pattern: '/upload',
    load: async () => (await import('../pages/upload/upload-page.js')).UploadPage,
    nav: { label: t.nav.upload, icon: 'card' },
  },
  {
    pattern: '/codes',
    load: async () => (await import('../pages/codes/codes-page.js')).CodesPage,
    nav: { label: t.nav.codes, icon: 'code' },
  },
  {
    pattern: '/readiness',
    load: async () => (await import('../pages/readiness/readiness-page.js')).ReadinessPage,
    nav: { label: t.nav.readiness, icon: 'check' },
  },
  {
    pattern: '/plan',
    load: async () => (await import('../pages/plan/plan-page.js')).PlanPage,
    nav: { label: t.plan.nav, icon: 'plan' },
  },
  {
    pattern: '/plan/shop',
    load: async () => (await import('../pages/shop/shop-page.js')).ShopPage,
  },
  {
    pattern: '/recordings',
    load: async () => (await import('../pages/recording/recordings-page.js')).RecordingsPage,
    nav: { label: t.nav.recordings, icon: 'trace' },
  },
  {
    pattern: '/recordings/:upload',
    load: async () => (await import('../pages/recording/recording-page.js')).RecordingPage,
  },
  {
    pattern: '/query',
    load: async () => (await import('../pages/query/query-page.js')).QueryPage,
    nav: { label: t.query.nav, icon: 'sql' },
  },
  {
    pattern: '/limits',
    load: async () => (await import('../pages/limits/limits-page.js')).LimitsPage,
    nav: { label: t.nav.limits, icon: 'limit' },
  },
  {
    pattern: '/ranking-rules',
    load: async () => (await import('../pages/ranking-settings/ranking-settings-page.js')).RankingSettingsPage,
    nav: { label: t.nav.rankingRules, icon: 'gear' },
  },
];

/** The ranking is where a week starts. */
export const HOME = '/ranking';

/** One vehicle: what is wrong, since when, how sure; parameters such as `code` or `signal` say what to look at. */
export const vehicleHref = (vehicle: string, parameters: Record<string, string | number | null> = {}): string =>
  addressOf(`/vehicles/${encodeURIComponent(vehicle)}`, parameters);

/** One recording at full rate; parameters such as `from`, `to`, `at` (RFC 3339), `signals` or `drive` say which part of it. */
export const recordingHref = (
  upload: string,
  parameters: Record<string, string | number | null | undefined> = {},
): string => addressOf(`/recordings/${encodeURIComponent(upload)}`, parameters);

export function placeAt(path: string): { place: Place; at: Record<string, string> } | null {
  const asked = path === '/' ? HOME : path;
  for (const place of PLACES) {
    const at = match(place.pattern, asked);
    if (at) return { place, at };
  }
  return null;
}

function match(pattern: string, path: string): Record<string, string> | null {
  const wanted = pattern.split('/');
  const given = path.replace(/\/+$/, '').split('/');
  if (wanted.length !== given.length) return null;
  const at: Record<string, string> = {};
  for (const [index, part] of wanted.entries()) {
    const segment = decoded(given[index] ?? '');
    if (part.startsWith(':')) at[part.slice(1)] = segment;
    else if (part !== segment) return null;
  }
  return at;
}

function decoded(segment: string): string {
  try {
    return decodeURIComponent(segment);
  } catch {
    // A hand-typed address with a stray percent sign: take it as it stands.
    return segment;
  }
}
