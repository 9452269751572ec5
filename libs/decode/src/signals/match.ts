import { findUnit, pressureReference, unitFits } from '../units/convert.js';
import type { Quantity, UnitRow } from '../units/units.js';
import { SIGNALS, type SignalId, type SignalRow } from './catalogue.js';
import { readHeader, splitQualifier } from './header.js';
import { nameKeys } from './name-key.js';

type Row = SignalRow & { id: SignalId };

/** What one header says by itself. */
export interface HeaderMatch {
  row: Row | null;
  unit: UnitRow | null;
  /** Unit as the recorder wrote it, also when it is not known. */
  unitText: string | null;
  confidence: number;
  why: string;
}

interface NameHit {
  row: Row;
  confidence: number;
  how: string;
  /** The name alone may mean something else. */
  needsUnit: boolean;
}

const EXACT = 0.95;
const ABBREVIATION = 0.92;
const REORDERED = 0.9;
const REFERENCE = 0.85;
const BARE = 0.8;

const INDEX = buildIndex();
const BY_REFERENCE = buildReferences();

/** Units of these quantities differ between the metric and the US customary habit, so a missing one matters. */
const UNIT_MATTERS: ReadonlySet<Quantity> = new Set([
  'temperature',
  'pressure',
  'speed',
  'mass_flow',
  'volume_flow',
  'volume',
  'distance',
  'torque',
  'mass',
  'power',
  'time',
  'fuel_economy',
]);

export function unitMatters(quantity: Quantity): boolean {
  return UNIT_MATTERS.has(quantity);
}

/**
 * Matches a header, and the unit row's cell when the log has one, to a signal. Never fuzzy: a name matches a synonym
 * word for word, in any order, or not at all. A unit that the signal cannot have means no match, with the reason.
 */
export function matchHeader(header: string, unitRowCell: string | null = null): HeaderMatch {
  let refused: HeaderMatch | null = null;
  let best: HeaderMatch | null = null;
  for (const reading of readHeader(header)) {
    const unitText = reading.unit ?? (unitRowCell?.trim() ? unitRowCell.trim() : null);
    for (const hit of lookUp(reading.name)) {
      const tried = judge(hit, unitText);
      if (tried.row === null) refused ??= tried;
      else if (!best || tried.confidence > best.confidence) best = tried;
    }
    if (best) return ambiguous(reading.name, best, unitText) ?? best;
  }
  // A tail such as the "D" of "pedal position D" may look like a unit, so a later reading may still have matched above.
  if (refused) return refused;
  return { row: null, unit: null, unitText: unitRowCell, confidence: 0, why: 'no signal has this name' };
}

function judge(hit: NameHit, unitText: string | null): HeaderMatch {
  const none = { row: null, unit: null, unitText, confidence: 0 };
  if (unitText === null || /^[-–—]$/.test(unitText)) {
    if (hit.needsUnit)
      return { ...none, why: `may be ${hit.row.id} or something else: the name tells only with a unit` };
    return { row: hit.row, unit: null, unitText: null, confidence: hit.confidence, why: hit.how };
  }
  const unit = findUnit(unitText, hit.row.quantity);
  if (!unit) return { ...none, why: `named like ${hit.row.id}, but the unit "${unitText}" is not known` };
  if (!unitFits(unit, hit.row.quantity)) {
    return { ...none, why: `named like ${hit.row.id}, but "${unitText}" is no unit of ${hit.row.quantity}` };
  }
  const reference = pressureReference(unitText);
  if (reference !== null && hit.row.reference !== null && reference !== hit.row.reference) {
    const why = `named like ${hit.row.id}, which is ${hit.row.reference}, but "${unitText}" says ${reference}`;
    return { ...none, why };
  }
  return { row: hit.row, unit, unitText, confidence: hit.confidence, why: hit.how };
}

/** Two signals share this name and no unit tells them apart. */
function ambiguous(name: string, best: HeaderMatch, unitText: string | null): HeaderMatch | null {
  if (unitText !== null) return null;
  const rivals = lookUp(name).filter((hit) => hit.confidence === best.confidence && hit.row.id !== best.row?.id);
  if (rivals.length === 0) return null;
  const ids = [best.row, ...rivals.map((rival) => rival.row)].map((row) => row?.id).join(', ');
  return { ...best, row: null, confidence: 0, why: `the name fits ${ids}, and there is no unit to tell them apart` };
}

function lookUp(name: string): NameHit[] {
  const reference = /\b(?:(spn)[\s_:#-]*(\d+)|(pid)[\s_:#-]*(?:0x)?([0-9a-f]{2}))(?![0-9a-z])[\s_:-]*/i.exec(name);
  const rest = reference ? name.replace(reference[0], ' ').trim() : name;
  const keys = nameKeys(rest);
  const hits: NameHit[] = [
    ...(INDEX.ordered.get(keys.ordered) ?? []),
    ...(INDEX.bag.get(keys.bag) ?? []),
    ...(INDEX.bare.get(keys.bare) ?? []),
  ];
  if (reference) {
    const [, spn, parameter, , pid = ''] = reference;
    const row = BY_REFERENCE.get(spn ? `spn ${parameter}` : `pid ${pid.toLowerCase()}`);
    if (row) hits.push({ row, confidence: REFERENCE, how: `named by ${reference[0].trim()}`, needsUnit: false });
  }
  return hits.length > 0 ? bestPerRow(hits) : lookUpQualified(rest);
}

/** A name with brackets behind it that say how it was asked for, or abbreviate the very same signal. */
function lookUpQualified(name: string): NameHit[] {
  const split = splitQualifier(name);
  if (!split) return [];
  const hits = lookUp(split.base);
  if (split.isHowAsked) return hits;
  const same = new Set(lookUp(split.qualifier).map(({ row }) => row.id));
  return hits.filter(({ row }) => same.has(row.id));
}

function bestPerRow(hits: NameHit[]): NameHit[] {
  const best = new Map<SignalId, NameHit>();
  for (const hit of hits) {
    const known = best.get(hit.row.id);
    if (!known || hit.confidence > known.confidence) best.set(hit.row.id, hit);
  }
  return [...best.values()].sort((a, b) => b.confidence - a.confidence);
}

function buildIndex() {
  const index = {
    ordered: new Map<string, NameHit[]>(),
    bag: new Map<string, NameHit[]>(),
    bare: new Map<string, NameHit[]>(),
  };
  const add = (map: Map<string, NameHit[]>, key: string, hit: NameHit) => {
    if (key !== '') map.set(key, [...(map.get(key) ?? []), hit]);
  };
  for (const row of SIGNALS as readonly Row[]) {
    const { en, de, es } = row.names;
    for (const name of [row.id, row.label, ...en, ...de, ...es, ...row.namesWithUnit]) {
      const keys = nameKeys(name);
      const needsUnit = row.namesWithUnit.some((bare) => nameKeys(bare).ordered === keys.ordered);
      const like = `named like "${name}"`;
      add(index.ordered, keys.ordered, { row, confidence: EXACT, how: `named "${name}"`, needsUnit });
      add(index.bag, keys.bag, { row, confidence: REORDERED, how: like, needsUnit });
      add(index.bare, keys.bare, { row, confidence: BARE, how: like, needsUnit });
    }
    for (const name of row.abbreviations) {
      const how = `abbreviated "${name}"`;
      add(index.ordered, nameKeys(name).ordered, { row, confidence: ABBREVIATION, how, needsUnit: false });
    }
  }
  return index;
}

/** Standard references that exactly one signal carries. */
function buildReferences(): Map<string, Row> {
  const seen = new Map<string, Row | null>();
  for (const row of SIGNALS as readonly Row[]) {
    for (const ref of row.refs) {
      const key = `${ref.standard === 'SAE J1979' ? 'pid' : 'spn'} ${ref.id.toLowerCase()}`;
      seen.set(key, seen.has(key) ? null : row);
    }
  }
  return new Map([...seen].filter((entry): entry is [string, Row] => entry[1] !== null));
}
