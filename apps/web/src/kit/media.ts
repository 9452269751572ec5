import { signal } from '@preact/signals';

const width = signal(window.innerWidth);
window.addEventListener('resize', () => {
  width.value = window.innerWidth;
});

/** Width of the window in px. The phone's layout ends where the side bar begins (880 px in frame.css). */
export const useMinWidth = (): number => width.value;
export const PHONE_MAX = 879;
/** From here a panel fits beside a table. */
export const PANEL_MIN = 1180;
