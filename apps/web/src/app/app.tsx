import type { Depot } from '@tallybay/contracts';
import type { ComponentType } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import { depotNames, knowDepots } from '../data/depot-names.js';
import { getJson } from '../data/http.js';
import { Notice } from '../kit/notice.js';
import { PageTitle } from '../kit/page-title.js';
import { t } from '../text/text.js';
import { Frame } from './frame.js';
import { path } from './location.js';
import { HOME, type PageProps, type Place, placeAt } from './places.js';

export function App() {
  const found = placeAt(path.value);
  useEffect(fetchDepotNames, [path.value]);
  return <Frame>{found ? <LazyPage place={found.place} at={found.at} /> : <NoSuchPage />}</Frame>;
}

/** Once; where that did not work, at the next page. Every page can be read without, so nobody is told. */
function fetchDepotNames(): void {
  if (depotNames.peek().size > 0) return;
  getJson<{ depots: Depot[] }>('/v1/depots').then(
    ({ depots }) => knowDepots(depots),
    () => {},
  );
}

function LazyPage({ place, at }: { place: Place; at: Record<string, string> }) {
  const [loaded, setLoaded] = useState<{ place: Place; page: ComponentType<PageProps> | null } | null>(null);
  useEffect(() => {
    let current = true;
    place.load().then(
      (page) => current && setLoaded({ place, page }),
      () => current && setLoaded({ place, page: null }),
    );
    return () => {
      current = false;
    };
  }, [place]);
  if (loaded?.place !== place) return <p class="quiet pad">{t.states.loadingPage}</p>;
  if (!loaded.page)
    return (
      <Notice kind="error" title={t.states.pageFailed}>
        <button type="button" onClick={() => window.location.reload()}>
          {t.states.reloadPage}
        </button>
      </Notice>
    );
  const Page = loaded.page;
  return <Page at={at} />;
}

const NoSuchPage = () => (
  <>
    <PageTitle text={t.states.noSuchPage} />
    <p>
      {t.states.noSuchPageAdvice} <a href={HOME}>{t.nav.ranking}</a>
    </p>
  </>
);
