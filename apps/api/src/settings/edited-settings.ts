import {
  type LakeKeeping,
  lakeKeepingSchema,
  parseContract,
  type SettingDocument,
  type SignalLimit,
} from '@tallybay/contracts';
import type { PutOptions, Registry, Setting } from '@tallybay/registry';
import { DEFAULT_RULES, type RuleSet, SIGNAL_LIMIT_ROWS } from '@tallybay/risk';
import { SETTINGS, type SettingName, settingRow } from './setting-table.js';

/** Settings with their defaults, and the rules that come out of both. */
export class EditedSettings {
  constructor(private readonly registry: Registry) {}

  list(): Promise<SettingDocument[]> {
    return Promise.all(Object.keys(SETTINGS).map((name) => this.get(name)));
  }

  /** @throws TallybayError `record_unknown` */
  async get(name: string): Promise<SettingDocument> {
    const { standard, schema } = settingRow(name);
    const edited = await this.registry.settings.get(name);
    // A document from before a key existed has that key's standard.
    const whole = schema.safeParse(edited?.document);
    if (edited) return shown(whole.success ? { ...edited, document: whole.data } : edited);
    return { name, document: standard, version: 0, updatedAt: null, updatedBy: null };
  }

  /** @throws TallybayError `record_unknown` */
  async history(name: string): Promise<SettingDocument[]> {
    settingRow(name);
    return (await this.registry.settings.history(name)).map(shown);
  }

  /** @throws TallybayError `record_unknown`, `body_invalid`, `edit_conflict` */
  async put(name: string, document: unknown, options: PutOptions & { by?: string }): Promise<SettingDocument> {
    const valid = parseContract(settingRow(name).schema, document, 'body_invalid');
    return shown(await this.registry.settings.put(name, valid, options));
  }

  /** The default rules with what people have edited; their version tells every set of numbers apart. */
  async rules(): Promise<RuleSet> {
    const weights = await this.edited('ranking-weights');
    const stages = await this.edited('heat-stages');
    const exclusions = await this.edited('ranking-exclusions');
    const edited = [weights, stages, exclusions].filter((setting) => setting !== null);
    if (edited.length === 0) return DEFAULT_RULES;
    const editedAtMs = Math.max(...edited.map(({ updatedAtMs }) => updatedAtMs));
    return {
      ...DEFAULT_RULES,
      name: 'edited',
      date: new Date(editedAtMs).toISOString().slice(0, 10),
      ...(weights ? { weights: weights.document as RuleSet['weights'] } : {}),
      ...(stages ? { stages: stages.document as RuleSet['stages'] } : {}),
      ...(exclusions ? { exclusions: exclusions.document as RuleSet['exclusions'] } : {}),
    };
  }

  /** Limits on any signal that hold for the next upload. */
  async signalLimits(): Promise<readonly SignalLimit[]> {
    return ((await this.edited('signal-limits'))?.document as SignalLimit[] | undefined) ?? SIGNAL_LIMIT_ROWS;
  }

  /** How long the lake keeps what. */
  async lakeKeeping(): Promise<LakeKeeping> {
    return lakeKeepingSchema.parse((await this.edited('lake-keeping'))?.document ?? {});
  }

  private edited(name: SettingName): Promise<Setting | null> {
    return this.registry.settings.get(name);
  }
}

const shown = (setting: Setting): SettingDocument => ({
  name: setting.name,
  document: setting.document,
  version: setting.version,
  updatedAt: new Date(setting.updatedAtMs).toISOString(),
  updatedBy: setting.updatedBy,
});
