import type { FleetCodes } from '@tallybay/contracts';
import { vehicleHref } from '../../app/places.js';
import { ScrollBox } from '../../kit/scroll-box.js';
import { t } from '../../text/text.js';

/** Codes that new vehicles of a class get faster than before. */
export function Spreading({ data: { spreading } }: { data: FleetCodes }) {
  const words = t.codes.spreading;
  return (
    <section aria-labelledby="spreading-title">
      <h2 id="spreading-title">{words.title}</h2>
      {spreading.codes.length === 0 ? (
        <p>{words.none(spreading.leastVehicles, spreading.nowDays)}</p>
      ) : (
        <ScrollBox label={words.title}>
          <table class="facts">
            <thead>
              <tr>
                <th scope="col">{words.code}</th>
                <th scope="col">{words.vehicleClass}</th>
                <th scope="col">{words.now(spreading.nowDays)}</th>
                <th scope="col">{words.before(spreading.beforeDays)}</th>
                <th scope="col">{words.verdict}</th>
                <th scope="col">{words.which}</th>
              </tr>
            </thead>
            <tbody>
              {spreading.codes.map((row) => (
                <tr key={`${row.code} ${row.vehicleClass}`}>
                  <th scope="row">
                    <strong>{row.code}</strong> {row.text}
                  </th>
                  <td>
                    {row.vehicleClass.replaceAll('_', ' ')}
                    <span class="second">{words.has(row.active, row.of)}</span>
                  </td>
                  <td>{words.count(row.now.newVehicles, row.now.vehicleDays)}</td>
                  <td>{words.count(row.before.newVehicles, row.before.vehicleDays)}</td>
                  <td>{words.verdictText(row.ratio, row.adjusted)}</td>
                  <td>
                    {row.vehicles.map((vehicle) => (
                      <a key={vehicle} class="block" href={vehicleHref(vehicle, { code: row.code })}>
                        {vehicle}
                      </a>
                    ))}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </ScrollBox>
      )}
      <p class="quiet">{spreading.method}</p>
    </section>
  );
}
