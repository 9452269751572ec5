import type { Depot, SettingDocument, Vehicle } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { query } from '../../app/location.js';
import { joined } from '../../data/joined.js';
import { useResource } from '../../data/resource.js';
import { Loaded } from '../../kit/loaded.js';
import { Notice } from '../../kit/notice.js';
import { PageTitle } from '../../kit/page-title.js';
import { t } from '../../text/text.js';
import { type EditedSetting, useEditedSetting } from './edited-setting.js';
import { type Choices, Fields } from './field-control.js';
import { rowsOf } from './fields.js';
import { HoursEditor } from './hours-editor.js';
import { SaveBar } from './save-bar.js';
import './shop.css';
import { SPECS, VIEWS, type View } from './tables.js';

interface Fleet {
  depots: Depot[];
  vehicles: Vehicle[];
}

/** What the plan may use and what it takes findings for, edited by the shop: one form for each table. */
export function ShopPage() {
  const shop = useResource<SettingDocument>('/v1/settings/shop');
  const kinds = useResource<SettingDocument>('/v1/settings/shop-kinds');
  const notices = useResource<SettingDocument>('/v1/settings/notices');
  const fleet = useResource<Fleet>('/v1/fleet');
  return (
    <>
      <PageTitle text={t.shop.title}>
        <a href="/plan">{t.shop.toPlan}</a>
      </PageTitle>
      <p>{t.shop.lead}</p>
      <Loaded
        of={joined(joined(shop, kinds), joined(notices, fleet))}
        what={t.shop.what}
        empty={{
          when: ([, [, { depots }]]) => depots.length === 0,
          title: t.shop.noDepots,
          children: <p>{t.shop.noDepotsAdvice}</p>,
        }}
      >
        {([[shopSetting, kindsSetting], [noticesSetting, registered]]) => (
          <Tables shop={shopSetting} kinds={kindsSetting} notices={noticesSetting} fleet={registered} />
        )}
      </Loaded>
    </>
  );
}

interface TablesProps {
  shop: SettingDocument;
  kinds: SettingDocument;
  notices: SettingDocument;
  fleet: Fleet;
}

function Tables({ shop, kinds, notices, fleet }: TablesProps) {
  const settings = [useEditedSetting(shop), useEditedSetting(kinds), useEditedSetting(notices)];
  const [said, setSaid] = useState('');
  const view = VIEWS.find(({ id }) => id === query.value.get('view')) ?? VIEWS[0]!;
  const setting = settings.find(({ id }) => id === view.setting)!;
  return (
    <div class="stack shop">
      <nav class="shop-views" aria-label={t.shop.views}>
        {VIEWS.map((one) => (
          <a
            key={one.id}
            href={`/plan/shop?view=${one.id}`}
            aria-current={one.id === view.id ? 'page' : undefined}
            class="button"
          >
            {t.shop.viewNames[one.id]}
          </a>
        ))}
      </nav>
      <h2>{t.shop.viewNames[view.id]}</h2>
      <p>{t.shop.viewLeads[view.id]}</p>
      <ViewForm key={view.id} view={view} setting={setting} choices={choicesOf(fleet)} />
      <Version setting={setting.standing} />
      <div role="status">{said !== '' && !setting.changed && <Notice kind="good">{said}</Notice>}</div>
      {settings.map((one) => (
        <SaveBar key={one.id} setting={one} onSaved={setSaid} />
      ))}
    </div>
  );
}

function ViewForm({ view, setting, choices }: { view: View; setting: EditedSetting; choices: Choices }) {
  const { draft, problems, edit } = setting;
  if (view.id === 'hours')
    return (
      <HoursEditor
        rows={rowsOf(draft, 'hours')}
        {...{ choices, problems }}
        onChange={(hours) => edit({ ...draft, hours })}
      />
    );
  const specs = SPECS[view.setting].filter(({ key }) => view.keys.includes(key));
  return (
    <div class="card stack">
      <Fields {...{ specs, row: draft, path: '', choices, problems, onChange: edit }} />
    </div>
  );
}

const Version = ({ setting }: { setting: SettingDocument }) => (
  <p class="quiet">{t.shop.version(setting.version, setting.updatedAt, setting.updatedBy)}</p>
);

function choicesOf({ depots, vehicles }: Fleet): Choices {
  const classes = [...new Set(vehicles.map(({ vehicleClass }) => vehicleClass))].toSorted();
  return {
    depots: depots.map(({ id, name }) => ({ value: id, text: name || id })),
    classes: classes.map((value) => ({ value, text: value.replaceAll('_', ' ') })),
    vehicles: vehicles.map(({ id }) => ({ value: id, text: id })).toSorted((a, b) => (a.value < b.value ? -1 : 1)),
    sources: Object.entries(t.shop.kinds.sources).map(([value, text]) => ({ value, text })),
  };
}
