import type { Exclusion, SettingDocument, Vehicle } from '@tallybay/contracts';
import { useState } from 'preact/hooks';
import { joined } from '../../data/joined.js';
import { useResource } from '../../data/resource.js';
import { Loaded } from '../../kit/loaded.js';
import { PageTitle } from '../../kit/page-title.js';
import { t } from '../../text/text.js';
import { ExclusionsEditor } from './exclusions-editor.js';

import { Preview } from './preview.js';
import { type Component, sameDocument, textsOf, weightsFrom } from './rules-edit.js';
import { SaveRules } from './save-rules.js';
import { WeightsEditor } from './weights-editor.js';
import './ranking-settings.css';

/** The manager's rules of the ranking: edited, tried on past weeks, then saved with who did it. */
export function RankingSettingsPage() {
  const weights = useResource<SettingDocument>('/v1/settings/ranking-weights');
  const exclusions = useResource<SettingDocument>('/v1/settings/ranking-exclusions');
  const fleet = useResource<{ vehicles: Vehicle[] }>('/v1/vehicles');
  const all = joined(joined(weights, exclusions), fleet);
  return (
    <>
      <PageTitle text={t.rankingRules.title} />
      <p>{t.rankingRules.lead}</p>
      <Loaded of={all} what={t.rankingRules.theRules}>
        {([[weightsSetting, exclusionsSetting], { vehicles }]) => (
          <Editor
            key={`${weightsSetting.version} ${exclusionsSetting.version}`}
            weights={weightsSetting}
            exclusions={exclusionsSetting}
            vehicles={vehicles.map(({ id }) => id).toSorted()}
            onSaved={all.reload}
          />
        )}
      </Loaded>
    </>
  );
}

interface EditorProps {
  weights: SettingDocument;
  exclusions: SettingDocument;
  vehicles: readonly string[];
  onSaved: () => void;
}

function Editor({ weights, exclusions, vehicles, onSaved }: EditorProps) {
  const standing = weights.document as Record<Component, number>;
  const [texts, setTexts] = useState(textsOf(standing));
  const [list, setList] = useState(exclusions.document as Exclusion[]);
  const typed = weightsFrom(texts);
  const weightsChanged = !sameDocument(texts, textsOf(standing));
  const listChanged = !sameDocument(list, exclusions.document);
  const changes = [
    ...(weightsChanged && typed ? [{ setting: weights, document: typed }] : []),
    ...(listChanged ? [{ setting: exclusions, document: list }] : []),
  ];
  const reset = () => {
    setTexts(textsOf(standing));
    setList(exclusions.document as Exclusion[]);
  };
  return (
    <div class="stack">
      <section class="card stack" aria-labelledby="weights-title">
        <h2 id="weights-title">{t.rankingRules.weights}</h2>
        <p>{t.rankingRules.weightsLead}</p>
        <WeightsEditor texts={texts} onChange={setTexts} />
        <Version setting={weights} />
      </section>
      <section class="card stack" aria-labelledby="limits-title">
        <h2 id="limits-title">{t.rankingRules.limits}</h2>
        <p>
          {t.rankingRules.limitsLead} <a href="/limits">{t.rankingRules.goLimits}</a>
        </p>
      </section>
      <section class="card stack" aria-labelledby="exclusions-title">
        <h2 id="exclusions-title">{t.rankingRules.exclusions}</h2>
        <p>{t.rankingRules.exclusionsLead}</p>
        <ExclusionsEditor exclusions={list} vehicles={vehicles} onChange={setList} />
        <Version setting={exclusions} />
      </section>
      <Preview
        rules={{ weights: typed ?? standing, exclusions: list }}
        changed={typed !== null && changes.length > 0}
      />
      {changes.length > 0 && <SaveRules changes={changes} ready={typed !== null} onSaved={onSaved} onReset={reset} />}
    </div>
  );
}

const Version = ({ setting }: { setting: SettingDocument }) => (
  <p class="quiet">{t.rankingRules.version(setting.version, setting.updatedAt, setting.updatedBy)}</p>
);
