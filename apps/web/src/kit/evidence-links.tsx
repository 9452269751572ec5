import { recordingHref, vehicleHref } from '../app/places.js';
import { t } from '../text/text.js';

interface Evidence {
  kind: string;
  id: string;
}

/** Where the evidence of a reason can be looked at: recordings, codes, the vehicle's own page. */
export const EvidenceLinks = ({ evidence, vehicle }: { evidence: readonly Evidence[]; vehicle: string }) => (
  <span class="evidence">
    {evidence.map((item, index) => (
      <EvidenceLink key={`${item.kind}${item.id}`} item={item} number={index + 1} vehicle={vehicle} />
    ))}
  </span>
);

function EvidenceLink({ item, number, vehicle }: { item: Evidence; number: number; vehicle: string }) {
  if (item.kind === 'drive')
    return (
      <a href={recordingHref(item.id.replace(/-d\d+$/, ''), { drive: item.id })}>{t.ranking.evidenceDrive(number)}</a>
    );
  if (item.kind === 'code') return <a href={vehicleHref(vehicle, { code: item.id })}>{item.id}</a>;
  const words = item.kind === 'quality' ? t.ranking.evidenceQuality : t.ranking.evidenceSnapshot;
  return <a href={vehicleHref(vehicle)}>{words}</a>;
}
