import type { FleetCodes } from '@tallybay/contracts';
import { ScrollBox } from '../../kit/scroll-box.js';
import { t } from '../../text/text.js';

/** Pairs of codes in the same vehicles more often than chance would have it. */
export function Together({ data: { together } }: { data: FleetCodes }) {
  const words = t.codes.together;
  return (
    <section aria-labelledby="together-title">
      <h2 id="together-title">{words.title}</h2>
      {together.pairs.length === 0 ? (
        <p>{words.none(together.leastVehicles)}</p>
      ) : (
        <ScrollBox label={words.title}>
          <table class="facts">
            <thead>
              <tr>
                <th scope="col">{words.pair}</th>
                <th scope="col">{words.both}</th>
                <th scope="col">{words.lift}</th>
              </tr>
            </thead>
            <tbody>
              {together.pairs.map(({ codes, texts, both, vehicles, atOnce, lift, adjusted }) => (
                <tr key={codes.join(' ')}>
                  <th scope="row">
                    <strong>{codes[0]}</strong> {texts[0]} {words.and} <strong>{codes[1]}</strong> {texts[1]}
                  </th>
                  <td>{words.bothText(both, vehicles[0], vehicles[1], atOnce)}</td>
                  <td>{words.liftText(lift, adjusted)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </ScrollBox>
      )}
      <p class="quiet">{together.method}</p>
    </section>
  );
}
