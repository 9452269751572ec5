import type { Profile, Vehicle } from '@tallybay/contracts';
import { useEffect } from 'preact/hooks';
import { query } from '../../app/location.js';
import { useResource } from '../../data/resource.js';
import { PageTitle } from '../../kit/page-title.js';
import { t } from '../../text/text.js';
import { DropZone } from './drop-zone.js';
import { ItemList } from './item-list.js';
import { items, profiles } from './items.js';
import { PreviewDialog } from './preview-dialog.js';
import { SaidFields } from './said-fields.js';
import { WaitingList } from './waiting-list.js';
import './upload.css';

/** The technician's page: drop, look, send; and what waits for a person. */
export function UploadPage() {
  const saved = useResource<{ profiles: Profile[] }>('/v1/profiles');
  const fleet = useResource<{ vehicles: Vehicle[] }>('/v1/vehicles');
  const vehicles = fleet.state === 'ready' ? fleet.data.vehicles.map(({ id }) => id) : [];
  useEffect(() => {
    if (saved.state === 'ready') profiles.value = saved.data.profiles;
  }, [saved]);
  const open = items.value.find((item) => String(item.id) === query.value.get('file'));
  return (
    <>
      <PageTitle text={t.upload.title} />
      <p>{t.upload.lead}</p>
      <datalist id="vehicle-ids">
        {vehicles.map((id) => (
          <option key={id} value={id} />
        ))}
      </datalist>
      <div class="stack">
        <DropZone />
        {items.value.length > 0 && (
          <>
            <SaidFields />
            <ItemList />
          </>
        )}
        <WaitingList />
      </div>
      {open && <PreviewDialog item={open} onSaved={saved.reload} />}
    </>
  );
}
