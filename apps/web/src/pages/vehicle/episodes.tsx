import type { VehicleEvidence } from '@tallybay/contracts';
import { recordingHref } from '../../app/places.js';
import { StageBadge } from '../../kit/stage.js';
import { quantityText } from '../../prefs/units.js';
import { t } from '../../text/text.js';
import { contextText, withContext } from './context.js';
import { useSome, Wide } from './section.js';
import { around, DepotTime } from './when.js';

const FEW = 8;

/** Hot stretches, worst first, each opening its recording at that time. */
export function Episodes({ data }: { data: VehicleEvidence }) {
  const { shown, more } = useSome(data.episodes, FEW);
  const time = new DepotTime(data.timeZone);
  const caption = t.vehicle.episodes.caption(data.episodesFound, shown.length);
  return (
    <>
      <Wide label={t.vehicle.sections.episodes}>
        <table class="facts tight">
          <caption>{caption}</caption>
          <thead>
            <tr>
              <th scope="col">{t.vehicle.episodes.when}</th>
              <th scope="col">{t.vehicle.episodes.stage}</th>
              <th scope="col" class="end">
                {t.vehicle.episodes.worst}
              </th>
              <th scope="col" class="end">
                {t.vehicle.episodes.time}
              </th>
              <th scope="col">{t.vehicle.episodes.signal}</th>
              <th scope="col">{t.vehicle.episodes.context}</th>
            </tr>
          </thead>
          <tbody>
            {shown.map((one) => (
              <tr key={`${one.upload}${one.signal}${one.from}`}>
                <td class="nowrap">
                  <a
                    href={recordingHref(one.upload, { ...around(one.from, one.to), signals: withContext(one.signal) })}
                  >
                    {time.short(one.from)}
                  </a>
                </td>
                <td>
                  <StageBadge stage={one.stage} />
                </td>
                <td class="end nowrap">{quantityText(one.worst, 'degC')}</td>
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
