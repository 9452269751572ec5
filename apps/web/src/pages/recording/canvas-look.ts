import { effect, signal } from '@preact/signals';
import { prefs } from '../../prefs/prefs.js';
import { colourOf } from '../../prefs/theme.js';

/** Colours of the theme in force, resolved for drawing on a canvas. */
export interface CanvasLook {
  ink: string;
  quiet: string;
  grid: string;
  surface: string;
  mark: string;
  series: string[];
  stages: Record<string, string>;
}

export const FONT = '11.5px system-ui, sans-serif';
const dark = window.matchMedia('(prefers-color-scheme: dark)');
const turns = signal(0);
dark.addEventListener('change', () => {
  turns.value += 1;
});

export const canvasLook = signal<CanvasLook>(lookNow());
effect(() => {
  // Both are read so that the colours follow them.
  const { theme } = prefs.value;
  const turned = turns.value;
  // The attribute on the root is set by an effect of its own, perhaps after this one.
  if (theme || turned)
    queueMicrotask(() => {
      canvasLook.value = lookNow();
    });
});

function lookNow(): CanvasLook {
  return {
    ink: colourOf('--ink'),
    quiet: colourOf('--ink-quiet'),
    grid: colourOf('--line-soft'),
    surface: colourOf('--surface'),
    mark: colourOf('--mark'),
    series: ([1, 2, 3, 4, 5, 6] as const).map((number) => colourOf(`--series-${number}`)),
    stages: {
      watch: colourOf('--watch'),
      caution: colourOf('--caution'),
      alarm: colourOf('--alarm'),
      severe: colourOf('--severe'),
    },
  };
}
