import type { SignalFigures } from '@tallybay/contracts';
import { conversionFor } from '@tallybay/decode';
import { useMemo } from 'preact/hooks';
import { Icon } from '../../app/icon.js';
import { UnitPicker } from '../../kit/unit-picker.js';
import { prefs } from '../../prefs/prefs.js';
import { unitChoices } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { spanOf } from './address-view.js';
import { canvasLook } from './canvas-look.js';
import type { Desk } from './desk.js';
import { sized } from './frame-draw.js';
import { AXIS_PX, drawLane, pxOf, RIGHT_PX } from './lane-draw.js';
import { LaneImage } from './lane-image.js';
import { aired, rangeShown } from './lane-scale.js';
import { emptyPixelColumns, fillPixelColumns } from './pixel-columns.js';
import { ExtremeButton, unitOf, unitText, ValueNow } from './signal-values.js';
import { useDrawing } from './use-drawing.js';
import { timeTicks } from './zone-time.js';

const DESK_HEIGHT_PX = 104;
export const TICKS_APART_PX = 92;

/** One signal: what it is and its value at the cursor at the side, its plot beside it. */
export function Lane({ desk, figures, index }: { desk: Desk; figures: SignalFigures; index: number }) {
  const { model } = desk;
  const unit = unitOf(model, figures);
  const canvas = useLaneDrawing(desk, figures, index, unit);
  return (
    <section class="lane" aria-label={figures.label} data-signal={figures.signal}>
      <div class="lane-side">
        <div class="lane-name">
          <span class="lane-swatch" style={{ background: `var(--series-${(index % 6) + 1})` }} aria-hidden="true" />
          <strong
            title={figures.aside ? `${figures.label}: ${t.recording.aside}` : t.recording.channelOf(figures.channel)}
          >
            {figures.label}
          </strong>
          <button
            type="button"
            class="plain"
            aria-label={t.recording.remove(figures.label)}
            title={t.recording.remove(figures.label)}
            onClick={() => model.toggle(figures.signal)}
          >
            <Icon name="close" />
          </button>
        </div>
        <div class="lane-value">
          <ValueNow model={model} figures={figures} />
          {unitChoices(figures.unit).length < 2 ? (
            <span>{unitText(unit)}</span>
          ) : (
            <UnitPicker
              canonical={figures.unit}
              unit={unit}
              of={figures.label}
              onChange={(chosen) => model.setUnit(figures.signal, chosen)}
            />
          )}
        </div>
        {figures.aside && <span class="second">{t.recording.aside}</span>}
        <div class="lane-extremes">
          <ExtremeButton desk={desk} figures={figures} end="min" />
          <ExtremeButton desk={desk} figures={figures} end="max" />
        </div>
      </div>
      <canvas
        ref={canvas}
        class="lane-plot"
        style={{ height: `${DESK_HEIGHT_PX}px` }}
        role="img"
        aria-label={t.recording.plotOf(figures.label)}
      />
    </section>
  );
}

/** Keeps the lane's plot as the view, the data, the units and the theme are. */
function useLaneDrawing(desk: Desk, figures: SignalFigures, index: number, unit: string) {
  const { model, zone } = desk;
  const linear = useMemo(() => conversionFor(figures.unit, unit) ?? { scale: 1, offset: 0 }, [figures.unit, unit]);
  const stages = model.recording.stages.filter(({ signal }) => signal === figures.signal);
  const episodes = desk.episodes.filter(({ signal }) => signal === figures.signal);
  const columns = useMemo(() => ({ now: emptyPixelColumns(4096), image: new LaneImage() }), []);
  return useDrawing(
    desk.frames,
    () => ({
      ...{ view: model.view.value, widthPx: model.widthPx.value, arrivals: model.source.arrivals.value },
      ...{ look: canvasLook.value, fit: model.fit.value, chosen: model.chosen.value, units: model.units.value },
      prefs: prefs.value,
    }),
    (canvas, { view, widthPx, look, fit, chosen }) => {
      if (widthPx <= 0) return;
      const { tiles } = model.source;
      const parts = tiles.parts(figures.signal, view);
      columns.now = fillPixelColumns(columns.now, parts, { span: view, widthPx, holdMs: tiles.holdMs });
      if (columns.now.length > 0) desk.frames.drewData();
      const recorded = { low: figures.min ?? 0, high: figures.max ?? 0 };
      const range = (fit ? rangeShown(columns.now, widthPx) : null) ?? recorded;
      const shown = [range.low, range.high].map((value) => value * linear.scale + linear.offset);
      const band = (span: { fromMs: number; toMs: number }, colour: string) => ({
        ...{ fromPx: pxOf(view, widthPx, span.fromMs), toPx: pxOf(view, widthPx, span.toMs), colour },
      });
      drawLane({
        context: sized(canvas, AXIS_PX + widthPx + RIGHT_PX, DESK_HEIGHT_PX),
        ...{
          look,
          widthPx,
          heightPx: DESK_HEIGHT_PX,
          columns: columns.now,
          image: columns.image,
          locale: t.locale,
          ...linear,
        },
        colour: look.series[index % look.series.length]!,
        range: aired({ low: Math.min(...shown), high: Math.max(...shown) }),
        gridPx: timeTicks(view, widthPx, zone, TICKS_APART_PX).atMs.map((ms) => pxOf(view, widthPx, ms)),
        stages: stages.map(({ stage, value }) => ({
          ...{ label: (t.stages as Record<string, string>)[stage] ?? stage, value },
          colour: look.stages[stage] ?? look.quiet,
        })),
        bands: [
          ...episodes.map((episode) => band(spanOf(episode), look.stages[episode.stage] ?? look.quiet)),
          ...(chosen ? [band(chosen, look.mark)] : []),
        ],
      });
    },
  );
}
