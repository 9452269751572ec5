import type { VehicleQuality, VehicleWeeks } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { query, setQuery } from '../../app/location.js';
import { recordingHref } from '../../app/places.js';
import { Select } from '../../kit/field.js';
import { Notice } from '../../kit/notice.js';
import { StageBadge } from '../../kit/stage.js';
import { UnitPicker } from '../../kit/unit-picker.js';
import { inUnit, quantityText, shownUnit, unitLabel } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { weekDays, weekNumber } from '../ranking/week-names.js';
import { DwellPicture } from './dwell-picture.js';
import { Section, Wide } from './section.js';
import { type ShownWeeks, type SignalWeeks, shownWeeks, worstSignal } from './week-facts.js';
import { WeekPlot } from './week-plot.js';
import { around, DepotTime } from './when.js';

interface TemperaturesProps {
  data: VehicleWeeks;
  /** Weeks in which the sensor was not believed, once that is known. */
  quality: VehicleQuality | null;
}

/** Two parts that show the same temperature: week by week with its stages, and how long at which value. */
export function Temperatures({ data, quality }: TemperaturesProps) {
  const asked = query.value.get('signal');
  const signal =
    data.signals.find((one) => one.signal === (asked ?? '')) ??
    data.signals.find((one) => one.signal === worstSignal(data));
  const [own, setOwn] = useState<string | null>(null);
  if (!signal)
    return (
      <Section id="temperatures">
        <Notice kind="info" title={t.vehicle.temperatures.none}>
          <p>{t.vehicle.temperatures.noneAdvice}</p>
        </Notice>
      </Section>
    );
  const shown = shownWeeks(data);
  const unit = own ?? shownUnit(signal.unit);
  const finding = quality?.findings.find((one) => one.signal === signal.signal) ?? null;
  const choose = (
    <div class="row no-print">
      <Select
        label={t.vehicle.temperatures.signal}
        value={signal.signal}
        options={data.signals.map((one) => ({ value: one.signal, text: one.label }))}
        onChange={(value) => setQuery({ signal: value })}
      />
      <UnitPicker canonical={signal.unit} unit={unit} onChange={setOwn} of={signal.label} />
    </div>
  );
  return (
    <>
      <Section id="temperatures" lead={t.vehicle.temperatures.lead}>
        {choose}
        {finding && (
          <Notice kind="caution" title={finding.text}>
            <p>{t.vehicle.quality.inWeeks(finding.weeks.map(weekNumber))}</p>
          </Notice>
        )}
        <WeekPlot signal={signal} shown={shown} unit={unit} />
        <WeekTable data={data} signal={signal} shown={shown} unit={unit} notBelieved={finding?.weeks ?? []} />
        {signal.stages.length === 0 && <p class="quiet">{t.vehicle.temperatures.noStages}</p>}
        {shown.first > 0 && <p class="quiet">{t.vehicle.temperatures.earlier(shown.first)}</p>}
      </Section>
      <Section id="dwell" lead={t.vehicle.dwell.lead}>
        <DwellPicture signal={signal} shown={shown} unit={unit} />
      </Section>
    </>
  );
}

interface WeekTableProps {
  data: VehicleWeeks;
  signal: SignalWeeks;
  shown: ShownWeeks;
  unit: string;
  notBelieved: readonly string[];
}

function WeekTable({ data, signal, shown, unit, notBelieved }: WeekTableProps) {
  const words = t.vehicle.temperatures;
  return (
    <Wide label={words.plot(signal.label, unitLabel(unit))}>
      <table class="facts tight">
        <caption class="only-read">{words.plot(signal.label, unitLabel(unit))}</caption>
        <thead>
          <tr>
            <th scope="col" rowSpan={2}>
              {words.week}
            </th>
            <th scope="col" rowSpan={2} class="end">
              {words.hours}
            </th>
            <th scope="col" rowSpan={2} class="end">
              {words.highest}
            </th>
            <th scope="col" rowSpan={2} class="end">
              {words.mean}
            </th>
            {signal.stages.length > 0 && (
              <th scope="colgroup" colSpan={signal.stages.length} class="end">
                {words.atOrAbove}
              </th>
            )}
          </tr>
          <tr>
            {signal.stages.map((stage) => (
              <th key={stage.stage} scope="col" class="end">
                <StageBadge stage={stage.stage} />
                <span class="second">{quantityText(stage.value, signal.unit, 0, unit)}</span>
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {shown.names.map((week, index) => (
            <WeekRow
              key={week}
              {...{ data, signal, unit, week }}
              index={shown.first + index}
              believed={!notBelieved.includes(week)}
            />
          ))}
        </tbody>
      </table>
    </Wide>
  );
}

interface WeekRowProps {
  data: VehicleWeeks;
  signal: SignalWeeks;
  unit: string;
  week: string;
  index: number;
  believed: boolean;
}

function WeekRow({ data, signal, unit, week, index, believed }: WeekRowProps) {
  const words = t.vehicle.temperatures;
  const driven = data.weeks[index]!;
  const figures = signal.weeks[index]!;
  const value = (of: number | null) => (of === null ? '' : inUnit(of, signal.unit, unit).toFixed(0));
  const time = new DepotTime(data.timeZone);
  return (
    <tr>
      <th scope="row">
        {weekNumber(week)} <span class="second nowrap week-days">{weekDays(week)}</span>
      </th>
      <td class="end">
        {driven.drives === 0 ? <span class="missing">{words.notDriven}</span> : driven.engineHours.toFixed(1)}
      </td>
      <td class="end">
        {figures.maxAt && figures.maxUpload ? (
          <a
            href={recordingHref(figures.maxUpload, {
              ...around(figures.maxAt, figures.maxAt, 600_000),
              signals: signal.signal,
            })}
            aria-label={`${quantityText(figures.max, signal.unit, 0, unit)}: ${t.vehicle.recordingAt(time.full(figures.maxAt))}`}
          >
            {value(figures.max)}
          </a>
        ) : (
          value(figures.max)
        )}
        {!believed && <span class="second">{words.notBelieved}</span>}
        {driven.drives > 0 && figures.seconds === 0 && <span class="missing">{words.notRecordedWeek}</span>}
      </td>
      <td class="end">{value(figures.mean)}</td>
      {signal.stages.map((stage, at) => (
        <td key={stage.stage} class="end">
          {figures.seconds === 0 ? '' : minutesText(figures.atOrAbove[at] ?? 0)}
        </td>
      ))}
    </tr>
  );
}

/** Minutes for a column of figures; nothing at all is a dash, a moment is not rounded to nothing. */
export function minutesText(seconds: number): string {
  if (seconds <= 0) return t.vehicle.dwell.zero;
  const minutes = seconds / 60;
  if (minutes < 1) return t.vehicle.dwell.underOne;
  return minutes.toLocaleString(t.locale, { maximumFractionDigits: 0 });
}
