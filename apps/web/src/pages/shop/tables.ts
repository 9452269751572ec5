// The shop's documents as forms. Every key of the contracts' schemas stands here (a test compares), bounds as there.

import { depotName } from '../../data/depot-names.js';
import { t } from '../../text/text.js';
import { type DraftRow, type FieldSpec, textOf } from './fields.js';

const words = t.shop;
const weekdays = words.weekdays.map((text, index) => ({ value: String(index + 1), text }));
const namesOf = (names: Record<string, string>) => Object.entries(names).map(([value, text]) => ({ value, text }));

const days = (label: string, start?: readonly string[]): FieldSpec => ({
  key: 'weekdays',
  label,
  kind: 'checks',
  options: weekdays,
  numeric: true,
  ...(start ? { start } : {}),
});

const spans = (key: string, label: string, add: string): FieldSpec => ({
  ...{ key, label, kind: 'rows', words: { add, one: words.bays.span } },
  of: [
    { key: 'from', label: words.bays.first, kind: 'date' },
    { key: 'to', label: words.bays.last, kind: 'date' },
  ],
});

const depot: FieldSpec = { key: 'depot', label: words.bays.depot, kind: 'choice', of: 'depots' };
const anyDepot: FieldSpec = { ...depot, optional: 'left_out', none: words.every } as FieldSpec;
const named = (row: DraftRow) => ({
  title: textOf(row, 'name'),
  more: [depotName(textOf(row, 'depot')), textOf(row, 'features'), textOf(row, 'skills')]
    .filter((text) => text !== '')
    .join(' · '),
});

const BAYS: FieldSpec = {
  ...{ key: 'bays', label: words.viewNames.bays, kind: 'rows' },
  words: { add: words.bays.add, one: words.bays.one, folded: named },
  of: [
    { key: 'id', label: '', kind: 'id', from: 'name' },
    { key: 'name', label: words.bays.name, kind: 'text', max: 80 },
    depot,
    { key: 'features', label: words.bays.features, hint: words.bays.wordsHint, kind: 'words' },
    spans('closed', words.bays.closed, words.bays.addClosed),
  ],
};

const PEOPLE: FieldSpec = {
  ...{ key: 'people', label: words.viewNames.people, kind: 'rows' },
  words: { add: words.people.add, one: words.people.one, folded: named },
  of: [
    { key: 'id', label: '', kind: 'id', from: 'name' },
    { key: 'name', label: words.bays.name, kind: 'text', max: 80 },
    depot,
    { key: 'skills', label: words.people.skills, hint: words.people.skillsHint, kind: 'words' },
    days(words.people.weekdays, ['1', '2', '3', '4', '5']),
    spans('absent', words.people.absent, words.people.addAbsent),
  ],
};

/** Shown as one week for each depot, see `hours-editor.tsx`. */
const HOURS: FieldSpec = {
  ...{ key: 'hours', label: words.viewNames.hours, kind: 'rows', words: { add: '', one: words.hours.day } },
  of: [
    depot,
    { key: 'weekday', label: words.hours.day, kind: 'number', least: 1, most: 7, whole: true },
    { key: 'from', label: words.hours.opens, kind: 'time' },
    { key: 'to', label: words.hours.closes, kind: 'time' },
  ],
};

const HOLIDAYS: FieldSpec = {
  ...{ key: 'holidays', label: words.viewNames.holidays, kind: 'rows' },
  words: { add: words.holidays.add, one: words.holidays.one },
  of: [
    { key: 'date', label: words.holidays.date, kind: 'date' },
    { key: 'name', label: words.holidays.name, kind: 'text', max: 80 },
    anyDepot,
  ],
};

const SPARES: FieldSpec = {
  ...{ key: 'spares', label: words.vehicles.spares, hint: words.vehicles.sparesHint, kind: 'rows' },
  words: { add: words.vehicles.addSpare, one: words.vehicles.spareOne },
  of: [
    { key: 'vehicleClass', label: words.vehicles.vehicleClass, kind: 'choice', of: 'classes' },
    anyDepot,
    { key: 'count', label: words.vehicles.count, kind: 'number', least: 0, most: 100_000, whole: true, start: '1' },
  ],
};

const IN_SERVICE: FieldSpec = {
  ...{ key: 'inService', label: words.vehicles.inService, hint: words.vehicles.inServiceHint, kind: 'rows' },
  words: { add: words.vehicles.addInService, one: words.vehicles.inServiceOne },
  of: [
    {
      ...{ key: 'vehicleClass', label: words.vehicles.vehicleClass, kind: 'choice', of: 'classes' },
      ...{ optional: 'left_out', none: words.vehicles.noClass },
    },
    {
      ...{ key: 'vehicle', label: words.vehicles.vehicle, kind: 'choice', of: 'vehicles' },
      ...{ optional: 'left_out', none: words.vehicles.noVehicle },
    },
    days(words.vehicles.weekdays),
  ],
};

const TRAVEL: FieldSpec = {
  ...{ key: 'travel', label: words.viewNames.travel, kind: 'rows' },
  words: { add: words.travel.add, one: words.travel.one },
  of: [
    { ...depot, key: 'from', label: words.travel.from },
    { ...depot, key: 'to', label: words.travel.to },
    { key: 'minutes', label: words.travel.minutes, kind: 'number', least: 0, most: 1440, whole: true },
  ],
};

const cost = (key: string, label: string, hint?: string): FieldSpec => ({
  ...{ key, label, kind: 'number', least: 0, most: 100_000 },
  ...(hint ? { hint } : {}),
});

const RULES: FieldSpec = {
  ...{ key: 'rules', label: words.rules.title, kind: 'group' },
  of: [
    { key: 'horizonDays', label: words.rules.horizonDays, kind: 'number', least: 1, most: 120, whole: true },
    cost('moveCost', words.rules.moveCost, words.rules.moveHint),
    cost('travelCostPerHour', words.rules.travelCostPerHour),
    {
      ...{ key: 'beyondDays', label: words.rules.beyondDays, hint: words.rules.beyondHint },
      ...{ kind: 'number', least: 1, most: 365, whole: true },
    },
    {
      ...{ key: 'leastWeight', label: words.rules.leastWeight, hint: words.rules.leastHint },
      ...{ kind: 'number', least: 0, most: 1 },
    },
  ],
};

export const SHOP: readonly FieldSpec[] = [BAYS, PEOPLE, HOURS, HOLIDAYS, SPARES, IN_SERVICE, TRAVEL, RULES];

const interval = (key: string, label: string): FieldSpec => ({
  ...{ key, label, kind: 'number', least: Number.MIN_VALUE, most: 10_000_000, optional: 'left_out' },
});

const KIND: readonly FieldSpec[] = [
  { key: 'id', label: '', kind: 'id', from: 'label' },
  { key: 'label', label: words.kinds.label, kind: 'text', max: 120, wide: true },
  {
    ...{ key: 'minutes', label: words.kinds.minutes, kind: 'number', least: 5, most: 4800, whole: true, start: '60' },
    note: words.minutesAsHours,
  },
  { key: 'skills', label: words.kinds.skills, hint: words.bays.wordsHint, kind: 'words' },
  { key: 'features', label: words.kinds.features, hint: words.bays.wordsHint, kind: 'words' },
  {
    ...{ key: 'leadDays', label: words.kinds.leadDays, hint: words.kinds.leadHint, start: '1' },
    ...{ kind: 'number', least: 0, most: 60, whole: true },
  },
  {
    ...{ key: 'withinDays', label: words.kinds.withinDays, hint: words.kinds.withinHint, start: '14' },
    ...{ kind: 'number', least: 1, most: 400, whole: true },
  },
  cost('costPerDay', words.kinds.costPerDay),
  cost('latePerDay', words.kinds.latePerDay, words.kinds.lateHint),
  {
    ...{ key: 'askedBy', label: words.kinds.askedBy, kind: 'rows' },
    words: { add: words.kinds.addAsked, one: words.kinds.askedOne },
    of: [
      { key: 'source', label: words.kinds.source, kind: 'choice', of: 'sources' },
      {
        ...{ key: 'match', label: words.kinds.match, hint: words.kinds.matchHint, optional: 'left_out' },
        ...{ kind: 'text', max: 60 },
      },
    ],
  },
  {
    ...{ key: 'every', label: words.kinds.every, kind: 'group', optional: 'left_out' },
    of: [
      interval('days', words.kinds.everyDays),
      interval('engineHours', words.kinds.everyHours),
      interval('km', words.kinds.everyKm),
    ],
  },
  { key: 'source', label: words.kinds.note, kind: 'text', max: 300, wide: true, start: words.kinds.noteStart },
];

/** The setting is a list; here it is the one field of a document, so that every form is of one shape. */
export const KINDS: readonly FieldSpec[] = [
  {
    ...{ key: 'kinds', label: words.viewNames.kinds, kind: 'rows', of: KIND },
    words: {
      ...{ add: words.kinds.add, one: words.kinds.one },
      folded: (row) => ({
        title: textOf(row, 'label'),
        more: words.kinds.summary(textOf(row, 'minutes'), textOf(row, 'withinDays')),
      }),
    },
  },
];

const count = (key: string, label: string, [least, most]: [number, number]): FieldSpec => ({
  ...{ key, label, kind: 'number', least, most, whole: true },
});

export const NOTICES: readonly FieldSpec[] = [
  { key: 'kinds', label: words.notices.kinds, kind: 'checks', options: namesOf(words.notices.kindNames) },
  { key: 'mailTo', label: words.notices.mailTo, hint: words.notices.mailHint, kind: 'words' },
  {
    ...{ key: 'webhook', label: words.notices.webhook, hint: words.notices.webhookHint, optional: 'null' },
    ...{ kind: 'text', max: 2000 },
  },
  {
    ...{ key: 'quiet', label: words.notices.quiet, hint: words.notices.quietHint, optional: 'null', kind: 'group' },
    of: [
      { key: 'from', label: words.from, kind: 'time' },
      { key: 'to', label: words.to, kind: 'time' },
    ],
  },
  count('groupMinutes', words.notices.groupMinutes, [0, 1440]),
  {
    ...{ key: 'held', label: words.notices.held, hint: words.notices.heldHint, kind: 'checks' },
    options: namesOf(words.notices.heldNames),
  },
  count('top', words.notices.top, [1, 100]),
  count('dueWithinDays', words.notices.dueWithinDays, [1, 365]),
  count('overdueDays', words.notices.overdueDays, [1, 365]),
];

export type SettingId = 'shop' | 'shop-kinds' | 'notices';
export const SPECS: Record<SettingId, readonly FieldSpec[]> = { shop: SHOP, 'shop-kinds': KINDS, notices: NOTICES };

export interface View {
  id: keyof typeof words.viewNames;
  setting: SettingId;
  /** Keys of the document that it shows; all of them when it is not named. */
  keys: readonly string[];
}

export const VIEWS: readonly View[] = [
  { id: 'kinds', setting: 'shop-kinds', keys: ['kinds'] },
  { id: 'bays', setting: 'shop', keys: ['bays'] },
  { id: 'people', setting: 'shop', keys: ['people'] },
  { id: 'hours', setting: 'shop', keys: ['hours'] },
  { id: 'holidays', setting: 'shop', keys: ['holidays'] },
  { id: 'vehicles', setting: 'shop', keys: ['spares', 'inService'] },
  { id: 'travel', setting: 'shop', keys: ['travel'] },
  { id: 'rules', setting: 'shop', keys: ['rules'] },
  { id: 'notices', setting: 'notices', keys: NOTICES.map(({ key }) => key) },
];

/** Where a path of a document is shown. */
export const viewOf = (setting: SettingId, path: string): View =>
  VIEWS.find((view) => view.setting === setting && view.keys.includes(path.split('.')[0] ?? '')) ?? VIEWS[0]!;
