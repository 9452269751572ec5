import { useMemo, useState } from 'preact/hooks';
import type uPlot from 'uplot';
import { Select } from '../../kit/field.js';
import { Plot, type PlotLook } from '../../kit/plot.js';
import { t } from '../../text/text.js';
import type { AnswerSoFar } from './answer-reader.js';
import { type Drawing, drawingOf, numberColumns, type PlotChoice, type PlotKind } from './plot-data.js';

const KINDS: readonly PlotKind[] = ['none', 'line', 'bar', 'histogram', 'scatter'];
const HEIGHT_PX = 320;

/** A first look at an answer: which column across, which up. */
export function QuickPlot({ answer }: { answer: AnswerSoFar }) {
  const numbers = numberColumns(answer);
  const names = answer.columns.map(({ name }) => name);
  const [choice, setChoice] = useState<PlotChoice>({ kind: 'none', x: '', y: '' });
  const kept = {
    kind: choice.kind,
    x: names.includes(choice.x) ? choice.x : (names[0] ?? ''),
    y: numbers.includes(choice.y) ? choice.y : (numbers.find((name) => name !== names[0]) ?? numbers[0] ?? ''),
  };
  if (kept.kind === 'histogram' && !numbers.includes(kept.x)) kept.x = numbers[0] ?? '';
  const { kind, x, y } = kept;
  const drawing = useMemo(() => drawingOf(answer, { kind, x, y }), [answer, answer.rows.length, kind, x, y]);
  if (numbers.length === 0) return <p class="quiet">{t.query.plotTooFew}</p>;
  const isHistogram = kind === 'histogram';
  const label = isHistogram ? t.query.plotOf(x) : t.query.plotLabel(t.query.plotKinds[kind], x, y);
  return (
    <div class="stack">
      <div class="row">
        <Select
          label={t.query.plotKind}
          value={kind}
          options={KINDS.map((value) => ({ value, text: t.query.plotKinds[value] }))}
          onChange={(value) => setChoice({ ...kept, kind: value as PlotKind })}
        />
        {kind !== 'none' && (
          <Select
            label={t.query.plotX}
            value={x}
            options={(isHistogram ? numbers : names).map((value) => ({ value, text: value }))}
            onChange={(value) => setChoice({ ...kept, x: value })}
          />
        )}
        {kind !== 'none' && !isHistogram && (
          <Select
            label={t.query.plotY}
            value={y}
            options={numbers.map((value) => ({ value, text: value }))}
            onChange={(value) => setChoice({ ...kept, y: value })}
          />
        )}
      </div>
      {drawing && (
        <Plot
          label={label}
          height={HEIGHT_PX}
          data={[drawing.x, drawing.y] as unknown as uPlot.AlignedData}
          optionsKey={`${kind} ${x} ${y} ${drawing.isTime} ${drawing.labels?.length}`}
          options={(look, library) =>
            plotOptions(look, library, { drawing, kind, name: isHistogram ? t.query.plotCount : y })
          }
        />
      )}
      {drawing && drawing.shown < answer.rows.length && !isHistogram && (
        <p class="quiet">{t.query.plotCut(drawing.shown, answer.rows.length)}</p>
      )}
    </div>
  );
}

function plotOptions(
  look: PlotLook,
  library: typeof uPlot,
  { drawing, kind, name }: { drawing: Drawing; kind: PlotKind; name: string },
): Omit<uPlot.Options, 'width' | 'height'> {
  const colour = look.series[0]!;
  const isBar = kind === 'bar' || kind === 'histogram';
  const series: uPlot.Series = { label: name, stroke: colour, width: 1.5, points: { show: kind === 'scatter' } };
  if (isBar) Object.assign(series, { fill: colour, paths: library.paths.bars!({ size: [0.8, 60] }) });
  if (kind === 'scatter') Object.assign(series, { paths: () => null, points: { show: true, size: 5, fill: colour } });
  const labels = drawing.labels;
  return {
    scales: {
      // Half a bar more on either side, so that the first and the last are whole.
      x: {
        time: drawing.isTime,
        ...(isBar ? { range: (_plot, low, high) => widened(low, high, drawing.x.length) } : {}),
      },
      ...(isBar ? { y: { range: (_plot, low, high) => [Math.min(0, low), Math.max(0, high) || 1] } } : {}),
    },
    tzDate: (seconds) => library.tzDate(new Date(seconds * 1000), 'UTC'),
    axes: [labels ? { values: (_plot, places) => places.map((place) => labels[place] ?? '') } : {}, { size: 70 }],
    series: [{}, series],
  };
}

function widened(low: number, high: number, bars: number): [number, number] {
  const half = bars > 1 ? (high - low) / (bars - 1) / 2 : 0.5;
  return [low - half, high + half];
}
