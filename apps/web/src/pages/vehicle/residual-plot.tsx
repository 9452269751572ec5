import type { VehicleResiduals } from '@tallybay/contracts';
import { useMemo } from 'preact/hooks';
import type uPlot from 'uplot';
import { Plot, type PlotLook } from '../../kit/plot.js';
import { prefs } from '../../prefs/prefs.js';
import { t } from '../../text/text.js';
import { difference, differenceUnit } from './kelvin.js';

type Signal = VehicleResiduals['signals'][number];

const HEIGHT = 220;

/** One dot a drive; the recent ones are filled, the own usual level and where it warns are level lines. */
export function ResidualPlot({ signal, recentFrom }: { signal: Signal; recentFrom: string }) {
  const unit = prefs.value.temperature;
  const recent = signal.drives.findIndex(({ from }) => from >= recentFrom);
  const firstRecent = recent < 0 ? signal.drives.length : recent;
  const data = useMemo(() => {
    const values = signal.drives.map(({ residualK }) => difference(residualK));
    return [
      values.map((_value, index) => index + 1),
      values.map((value, index) => (index < firstRecent ? value : null)),
      values.map((value, index) => (index >= firstRecent ? value : null)),
    ];
  }, [signal, unit, firstRecent]) as uPlot.AlignedData;
  const lines = [
    ...(signal.baselineK === null
      ? []
      : [{ at: difference(signal.baselineK), text: t.vehicle.warning.own, warns: false }]),
    ...(signal.baselineK === null || signal.thresholdK === null
      ? []
      : [{ at: difference(signal.baselineK + signal.thresholdK), text: t.vehicle.warning.threshold, warns: true }]),
  ];
  return (
    <>
      <Plot
        label={t.vehicle.warning.plot(signal.label)}
        data={data}
        height={HEIGHT}
        optionsKey={`${signal.signal} ${unit} ${signal.drives.length}`}
        options={(look) => optionsOf(look, lines, data)}
      />
      <ul class="plot-key" aria-hidden="true">
        <li>
          <svg width="16" height="12" viewBox="0 0 16 12" aria-hidden="true">
            <circle cx="8" cy="6" r="4" class="key-ring" />
          </svg>
          {signal.label}
        </li>
        <li>
          <svg width="16" height="12" viewBox="0 0 16 12" aria-hidden="true">
            <circle cx="8" cy="6" r="4.5" class="key-recent" />
          </svg>
          {t.vehicle.warning.recent}
        </li>
      </ul>
    </>
  );
}

type Line = { at: number; text: string; warns: boolean };

function optionsOf(
  look: PlotLook,
  lines: readonly Line[],
  data: uPlot.AlignedData,
): Omit<uPlot.Options, 'width' | 'height'> {
  const count = data[0].length;
  const values = [...(data[1] ?? []), ...(data[2] ?? []), ...lines.map(({ at }) => at), 0].filter(
    (value) => typeof value === 'number',
  );
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const margin = Math.max(1, (high - low) * 0.12);
  const dots = (stroke: string, fill: string | undefined, size: number): uPlot.Series => ({
    ...{ stroke, width: 0 },
    points: { show: true, size, width: 2, stroke, ...(fill ? { fill } : {}) },
    paths: () => null,
  });
  return {
    legend: { show: false },
    cursor: { show: false },
    scales: { x: { time: false, range: [0.4, Math.max(count, 1) + 0.6] }, y: { range: [low - margin, high + margin] } },
    axes: [
      { size: 34, incrs: [1, 2, 5, 10, 20, 50, 100], values: (_plot, at) => at.map(String) },
      { size: 62, values: (_plot, at) => at.map((value) => `${value > 0 ? '+' : ''}${value} ${differenceUnit()}`) },
    ],
    series: [{}, dots(look.series[0]!, undefined, 8), dots(look.series[1]!, look.series[1], 10)],
    hooks: { drawAxes: [(plot) => drawLines(plot, lines, look)] },
  };
}

function drawLines(plot: uPlot, lines: readonly Line[], look: PlotLook): void {
  const { ctx, bbox } = plot;
  const scale = window.devicePixelRatio || 1;
  ctx.save();
  ctx.font = `600 ${11 * scale}px system-ui, sans-serif`;
  ctx.textAlign = 'left';
  ctx.textBaseline = 'bottom';
  for (const { at, text, warns } of lines) {
    const y = Math.round(plot.valToPos(at, 'y', true));
    const colour = warns ? look.stages.alarm : look.quiet;
    ctx.strokeStyle = colour;
    ctx.fillStyle = colour;
    ctx.lineWidth = 1.5 * scale;
    ctx.setLineDash(warns ? [8 * scale, 4 * scale] : [2 * scale, 4 * scale]);
    ctx.beginPath();
    ctx.moveTo(bbox.left, y);
    ctx.lineTo(bbox.left + bbox.width, y);
    ctx.stroke();
    ctx.fillText(text, bbox.left + 5 * scale, y - 2 * scale);
  }
  ctx.restore();
}
