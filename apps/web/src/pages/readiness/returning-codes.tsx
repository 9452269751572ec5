import type { FleetReadiness } from '@tallybay/contracts';
import { vehicleHref } from '../../app/places.js';
import { t } from '../../text/text.js';
import { dateText } from './due-table.js';

/** Codes that come back after they were gone or cleared, and on which vehicles: clearing did not repair them. */
export function ReturningCodes({ returning }: { returning: FleetReadiness['returning'] }) {
  return (
    <section aria-labelledby="returning-title">
      <h2 id="returning-title">{t.readiness.returning}</h2>
      <p class="quiet">{t.readiness.returningLead}</p>
      {returning.length === 0 ? (
        <p>{t.readiness.returningNone}</p>
      ) : (
        <div class="card scroll-x">
          <table class="facts">
            <thead>
              <tr>
                <th scope="col">{t.readiness.code}</th>
                <th scope="col" class="end">
                  {t.readiness.returns}
                </th>
                <th scope="col">{t.readiness.where}</th>
              </tr>
            </thead>
            <tbody>
              {returning.map((row) => (
                <tr key={`${row.code} ${row.module}`}>
                  <th scope="row">
                    <strong>{row.code}</strong> {row.text}
                    {row.module && <span class="quiet"> ({row.module})</span>}
                  </th>
                  <td class="end">{row.returns}</td>
                  <td>
                    {row.where.map((at) => (
                      <span key={at.vehicle} class="where">
                        <a href={vehicleHref(at.vehicle, { code: row.code })}>{at.vehicle}</a>{' '}
                        {t.readiness.whereText(at.returns, dateText(at.lastReturn), at.active)}
                      </span>
                    ))}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </section>
  );
}
