import type { VehicleCrossings } from '@tallybay/contracts';
import { recordingHref } from '../../app/places.js';
import { StageBadge } from '../../kit/stage.js';
import { quantityText } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { contextText, withContext } from './context.js';
import { useSome, Wide } from './section.js';
import { around, DepotTime } from './when.js';

const FEW = 8;

/** Stretches beyond a limit on any signal, newest first. */
export function Crossings({ data, timeZone }: { data: VehicleCrossings; timeZone: string }) {
  const { shown, more } = useSome(data.crossings, FEW);
  const time = new DepotTime(timeZone);
  return (
    <>
      <Wide label={t.vehicle.sections.crossings}>
        <table class="facts tight">
          <caption>{t.vehicle.crossings.caption(data.crossings.length)}</caption>
          <thead>
            <tr>
              <th scope="col">{t.vehicle.episodes.when}</th>
              <th scope="col">{t.vehicle.crossings.limit}</th>
              <th scope="col" class="end">
                {t.vehicle.crossings.worst}
              </th>
              <th scope="col" class="end">
                {t.vehicle.episodes.time}
              </th>
              <th scope="col">{t.vehicle.crossings.signal}</th>
              <th scope="col">{t.vehicle.episodes.context}</th>
            </tr>
          </thead>
          <tbody>
            {shown.map((one) => (
              <tr key={one.id}>
                <td class="nowrap">
                  <a
                    href={recordingHref(one.upload, {
                      ...around(one.start, one.end),
                      signals: withContext(one.signal),
                    })}
                  >
                    {time.short(one.start)}
                  </a>
                </td>
                <td>
                  <StageBadge stage={one.stage} />
                  <span class="second">{t.vehicle.crossings[one.direction](quantityText(one.limit, one.unit, 0))}</span>
                </td>
                <td class="end nowrap">{quantityText(one.worst, one.unit, 0)}</td>
                <td class="end nowrap">{t.vehicle.duration(one.seconds)}</td>
                <td>{one.label}</td>
                <td class="context">{contextText(one.context)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
      {more}
    </>
  );
}
