import { useEffect, useRef, useState } from 'preact/hooks';
import type uPlot from 'uplot';
import { prefs } from '../prefs/prefs.js';
import { colourOf } from '../prefs/theme.js';
import { t } from '../text/text.js';

export interface PlotLook {
  /** Colours of the theme in force, for canvas drawing. */
  ink: string;
  quiet: string;
  grid: string;
  /** Six colours that people with any colour vision tell apart, darkest contrast first; use dashes beside them. */
  series: string[];
  stages: Record<'watch' | 'caution' | 'alarm' | 'severe', string>;
  font: string;
}

interface PlotProps {
  /** What is drawn, in a sentence: for those who cannot see it. */
  label: string;
  data: uPlot.AlignedData;
  height: number;
  /** Called again when the theme or `optionsKey` changes; width, height and axis looks are filled in. */
  options: (look: PlotLook, library: typeof uPlot) => Omit<uPlot.Options, 'width' | 'height'>;
  /** Changes when the options would come out differently (series, units); otherwise only the data is replaced. */
  optionsKey: string;
  onReady?: (plot: uPlot) => void;
}

const AXES = 2;

/** A uPlot chart, fetched when the first one is shown; follows width and theme. */
export function Plot({ label, data, height, options, optionsKey, onReady }: PlotProps) {
  const box = useRef<HTMLDivElement>(null);
  const plot = useRef<uPlot | null>(null);
  const [library, setLibrary] = useState<typeof uPlot | null>(null);
  const newest = useRef({ data, options, onReady });
  newest.current = { data, options, onReady };
  const { theme } = prefs.value;
  useEffect(() => void loadPlot().then((loaded) => setLibrary(() => loaded)), []);
  useEffect(() => {
    const host = box.current;
    if (!library || !host) return;
    const { options: make, data: first, onReady: ready } = newest.current;
    const look = lookNow();
    const made = make(look, library);
    const axes = Array.from({ length: Math.max(AXES, made.axes?.length ?? 0) }, (_, index) => ({
      ...{ stroke: look.quiet, font: look.font, grid: { stroke: look.grid, width: 1 }, ticks: { stroke: look.grid } },
      ...made.axes?.[index],
    }));
    const drawn = new library({ ...made, axes, height, width: Math.max(200, host.clientWidth) }, first, host);
    plot.current = drawn;
    ready?.(drawn);
    const resize = new ResizeObserver(() => drawn.setSize({ width: Math.max(200, host.clientWidth), height }));
    resize.observe(host);
    return () => {
      resize.disconnect();
      drawn.destroy();
      plot.current = null;
    };
  }, [library, theme, optionsKey, height]);
  useEffect(() => plot.current?.setData(data), [data]);
  return (
    <figure class="plot" aria-label={label}>
      <div ref={box} style={{ minHeight: `${height}px` }}>
        {!library && <p class="quiet pad">{t.states.loadingPage}</p>}
      </div>
    </figure>
  );
}

async function loadPlot(): Promise<typeof uPlot> {
  const [{ default: library }] = await Promise.all([import('uplot'), import('uplot/dist/uPlot.min.css')]);
  return library;
}

function lookNow(): PlotLook {
  return {
    ink: colourOf('--ink'),
    quiet: colourOf('--ink-quiet'),
    grid: colourOf('--line-soft'),
    series: ([1, 2, 3, 4, 5, 6] as const).map((number) => colourOf(`--series-${number}`)),
    stages: {
      watch: colourOf('--watch'),
      caution: colourOf('--caution'),
      alarm: colourOf('--alarm'),
      severe: colourOf('--severe'),
    },
    font: '12px system-ui, sans-serif',
  };
}
