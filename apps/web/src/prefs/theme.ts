import { effect } from '@preact/signals';
import { prefs } from './prefs.js';

/** `light-dark()` in the styles follows the root's color-scheme, which follows this attribute, else the system. */
export function applyTheme(): void {
  effect(() => {
    const { theme } = prefs.value;
    document.documentElement.dataset.theme = theme;
  });
}

/** A colour of the styles as the canvas of a plot needs it: resolved for the theme in force. */
export function colourOf(name: `--${string}`): string {
  const probe = document.createElement('span');
  probe.style.color = `var(${name})`;
  document.body.append(probe);
  const { color } = getComputedStyle(probe);
  probe.remove();
  return color;
}
