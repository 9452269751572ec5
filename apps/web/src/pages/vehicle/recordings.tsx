import type { RecordingList } from '@tallybay/contracts';
import { addressOf } from '../../app/location.js';
import { recordingHref } from '../../app/places.js';
import { t } from '../../text/text.js';
import { Wide } from './section.js';
import { DepotTime } from './when.js';

const FEW = 6;

/** The newest logs, each opening at full rate. */
export function Recordings({ data, timeZone }: { data: RecordingList; timeZone: string }) {
  const time = new DepotTime(timeZone);
  const words = t.vehicle.recordings;
  const stored = data.recordings
    .filter(({ from, to }) => from !== null && to !== null)
    .toSorted((a, b) => (a.from! < b.from! ? 1 : -1));
  return (
    <>
      <Wide label={t.vehicle.sections.recordings}>
        <table class="facts tight">
          <caption class="only-read">{t.vehicle.sections.recordings}</caption>
          <thead>
            <tr>
              <th scope="col">{words.recorded}</th>
              <th scope="col" class="end">
                {words.length}
              </th>
              <th scope="col" class="end">
                {words.drives}
              </th>
              <th scope="col">{words.file}</th>
            </tr>
          </thead>
          <tbody>
            {stored.slice(0, FEW).map((row) => (
              <tr key={row.upload}>
                <td class="nowrap">
                  <a href={recordingHref(row.upload)}>{time.full(row.from!)}</a>
                </td>
                <td class="end nowrap">{t.vehicle.duration((Date.parse(row.to!) - Date.parse(row.from!)) / 1000)}</td>
                <td class="end">{row.drives}</td>
                <td>{row.fileName}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
      <p>
        <a href={addressOf('/recordings', { vehicle: data.vehicle })}>{words.all}</a>
      </p>
    </>
  );
}
