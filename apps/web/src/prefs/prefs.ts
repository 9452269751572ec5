import { effect, signal } from '@preact/signals';

/** What one person chose for this browser. Plots may be switched on their own. */
export interface Prefs {
  theme: 'system' | 'light' | 'dark';
  temperature: 'degC' | 'degF';
  pressure: 'kPa' | 'psi' | 'bar';
  distance: 'km' | 'mi';
}

export const CHOICES: { [K in keyof Prefs]: readonly Prefs[K][] } = {
  theme: ['system', 'light', 'dark'],
  temperature: ['degC', 'degF'],
  pressure: ['kPa', 'psi', 'bar'],
  distance: ['km', 'mi'],
};

const KEY = 'tallybay.prefs.v1';
const STANDARD: Prefs = { theme: 'system', temperature: 'degC', pressure: 'kPa', distance: 'km' };

export const prefs = signal<Prefs>(stored());

effect(() => {
  try {
    localStorage.setItem(KEY, JSON.stringify(prefs.value));
  } catch {
    // A browser that keeps nothing (private window, storage full): the choice holds until the page is closed.
  }
});

export function setPref<K extends keyof Prefs>(name: K, value: Prefs[K]): void {
  prefs.value = { ...prefs.peek(), [name]: value };
}

function stored(): Prefs {
  try {
    const given = JSON.parse(localStorage.getItem(KEY) ?? '{}') as Partial<Prefs>;
    const known = Object.entries(given).filter(([name, value]) =>
      (CHOICES[name as keyof Prefs] as readonly unknown[] | undefined)?.includes(value),
    );
    return { ...STANDARD, ...Object.fromEntries(known) };
  } catch {
    return STANDARD;
  }
}
