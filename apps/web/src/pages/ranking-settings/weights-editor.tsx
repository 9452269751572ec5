import { TextInput } from '../../kit/field.js';
import { t } from '../../text/text.js';
import { COMPONENTS, type WeightTexts, weightFrom } from './rules-edit.js';

interface WeightsEditorProps {
  texts: WeightTexts;
  onChange: (texts: WeightTexts) => void;
}

export const WeightsEditor = ({ texts, onChange }: WeightsEditorProps) => (
  <div class="row">
    {COMPONENTS.map((name) => (
      <TextInput
        key={name}
        label={t.rankingRules.weightOf(t.components[name])}
        type="number"
        step="0.05"
        value={texts[name]}
        error={weightFrom(texts[name]) === null ? t.rankingRules.weightLimits : null}
        onInput={(value) => onChange({ ...texts, [name]: value })}
      />
    ))}
  </div>
);
