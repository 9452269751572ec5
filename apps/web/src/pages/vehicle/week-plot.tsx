import { useMemo } from 'preact/hooks';
import type uPlot from 'uplot';
import { Plot, type PlotLook } from '../../kit/plot.js';
import { inUnit, quantityText, unitLabel } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { weekNumber } from '../ranking/week-names.js';
import type { ShownWeeks, SignalWeeks } from './week-facts.js';

const HEIGHT = 260;
/** Room above and below the values, so that a line never lies on the frame. */
const MARGIN_SHARE = 0.08;

interface WeekPlotProps {
  signal: SignalWeeks;
  shown: ShownWeeks;
  unit: string;
}

/** Highest and mean of each week as two lines, the stages as level lines with their names. */
export function WeekPlot({ signal, shown, unit }: WeekPlotProps) {
  const data = useMemo(() => {
    const rows = signal.weeks.slice(shown.first);
    const value = (of: number | null) => (of === null ? null : inUnit(of, signal.unit, unit));
    return [rows.map((_row, index) => index), rows.map(({ max }) => value(max)), rows.map(({ mean }) => value(mean))];
  }, [signal, shown.first, unit]) as uPlot.AlignedData;
  const stages = signal.stages.map(({ stage, value }) => ({ stage, at: inUnit(value, signal.unit, unit) }));
  const key = `${signal.signal} ${unit} ${shown.names.join()}`;
  return (
    <>
      <Plot
        label={t.vehicle.temperatures.plot(signal.label, unitLabel(unit))}
        data={data}
        height={HEIGHT}
        optionsKey={key}
        options={(look) => optionsOf({ look, stages, names: shown.names, unit, data })}
      />
      <ul class="plot-key" aria-hidden="true">
        <li>
          <svg width="34" height="12" viewBox="0 0 34 12" aria-hidden="true">
            <path d="M1 6h32" class="key-1" />
            <circle cx="17" cy="6" r="4" class="key-dot" />
          </svg>
          {t.vehicle.temperatures.highest}
        </li>
        <li>
          <svg width="34" height="12" viewBox="0 0 34 12" aria-hidden="true">
            <path d="M1 6h32" class="key-2" stroke-dasharray="7 5" />
          </svg>
          {t.vehicle.temperatures.mean}
        </li>
        {signal.stages.map((stage) => (
          <li key={stage.stage}>
            {t.stages[stage.stage]} {quantityText(stage.value, signal.unit, 0, unit)}
          </li>
        ))}
      </ul>
    </>
  );
}

interface Drawn {
  look: PlotLook;
  stages: readonly { stage: keyof PlotLook['stages']; at: number }[];
  names: readonly string[];
  unit: string;
  data: uPlot.AlignedData;
}

function optionsOf({ look, stages, names, unit, data }: Drawn): Omit<uPlot.Options, 'width' | 'height'> {
  const last = names.length - 1;
  return {
    legend: { show: false },
    cursor: { show: false },
    scales: { x: { time: false, range: [-0.75, last + 0.4] }, y: { range: rangeOf(data, stages) } },
    axes: [
      {
        size: 34,
        splits: () => names.map((_name, index) => index),
        values: (_plot, at) => at.map((index) => weekNumber(names[index] ?? '')),
      },
      { size: 62, values: (_plot, at) => at.map((value) => `${value} ${unitLabel(unit)}`) },
    ],
    series: [
      {},
      { stroke: look.series[0]!, width: 2.5, points: { show: true, size: 8, fill: look.series[0]! } },
      { stroke: look.series[1]!, width: 2, dash: [7, 5], points: { show: true, size: 5 } },
    ],
    hooks: { drawAxes: [(plot) => drawStages(plot, stages, look)] },
  };
}

/** From the coolest mean to the hottest value, with the next stage above it: how far it still is belongs into the picture. */
function rangeOf(data: uPlot.AlignedData, stages: Drawn['stages']): [number, number] {
  const values = [...(data[1] ?? []), ...(data[2] ?? [])].filter((value) => typeof value === 'number');
  if (values.length === 0) return [0, 1];
  const top = Math.max(...values);
  const above = stages.find(({ at }) => at > top)?.at ?? top;
  const low = Math.min(...values, ...stages.slice(0, 1).map(({ at }) => at));
  const margin = Math.max(1, (above - low) * MARGIN_SHARE);
  return [low - margin, above + margin];
}

function drawStages(plot: uPlot, stages: Drawn['stages'], look: PlotLook): void {
  const { ctx, bbox } = plot;
  const scale = window.devicePixelRatio || 1;
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  ctx.font = `600 ${11 * scale}px system-ui, sans-serif`;
  ctx.textAlign = 'left';
  ctx.textBaseline = 'bottom';
  for (const { stage, at } of stages) {
    const y = Math.round(plot.valToPos(at, 'y', true));
    ctx.strokeStyle = look.stages[stage];
    ctx.fillStyle = look.stages[stage];
    ctx.lineWidth = 1.5 * scale;
    ctx.setLineDash([2 * scale, 4 * scale]);
    ctx.beginPath();
    ctx.moveTo(bbox.left, y);
    ctx.lineTo(bbox.left + bbox.width, y);
    ctx.stroke();
    ctx.fillText(t.stages[stage], bbox.left + 5 * scale, y - 2 * scale);
  }
  ctx.restore();
}
