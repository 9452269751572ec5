import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import { PrefsDialog } from '../prefs/prefs-dialog.js';
import { t } from '../text/text.js';
import { Icon } from './icon.js';
import { path } from './location.js';
import { HOME, PLACES, placeAt } from './places.js';

/** What stands around every page: the places at the side (below, on a phone), the reader's own settings. */
export function Frame({ children }: { children: ComponentChildren }) {
  const [prefsOpen, setPrefsOpen] = useState(false);
  return (
    <div class="frame">
      <a class="skip" href="#page">
        {t.nav.skip}
      </a>
      <header class="side">
        <a class="brand" href={HOME} aria-label={t.nav.home}>
          <img src="/mark.svg" alt="" width="28" height="28" />
          <span>{t.brand}</span>
        </a>
        <nav aria-label={t.nav.label}>
          <ul>
            {PLACES.map((place) => place.nav && <NavItem key={place.pattern} {...place.nav} to={place.pattern} />)}
          </ul>
        </nav>
        <button type="button" class="plain prefs-button" onClick={() => setPrefsOpen(true)}>
          <Icon name="gear" />
          <span>{t.prefs.open}</span>
        </button>
      </header>
      <main id="page" tabIndex={-1}>
        {children}
      </main>
      {prefsOpen && <PrefsDialog onClose={() => setPrefsOpen(false)} />}
    </div>
  );
}

function NavItem({ label, icon, to }: { label: string; icon: Parameters<typeof Icon>[0]['name']; to: string }) {
  // A page of one thing belongs to the place that lists them.
  const here = `${placeAt(path.value)?.place.pattern}/`.startsWith(`${to}/`);
  return (
    <li>
      <a href={to} aria-current={here ? 'page' : undefined}>
        <Icon name={icon} />
        <span>{label}</span>
      </a>
    </li>
  );
}
