import { type Quantity, UNITS, type UnitRow } from './units.js';

/** `to = from * scale + offset`, snapped. Plain numbers, so that it travels inside a plan. */
export interface LinearConversion {
  scale: number;
  offset: number;
}

const BY_ID: ReadonlyMap<string, UnitRow> = new Map(UNITS.map((row) => [row.id, row]));
const BY_KEY: ReadonlyMap<string, readonly UnitRow[]> = rowsByKey();

/** Quantities whose unit rows are listed under another quantity. */
const UNITS_OF: Partial<Record<Quantity, Quantity>> = { latitude: 'angle', longitude: 'angle' };

/** UTF-8 that was once read as windows-1252 and saved again (seen in public logs as `Â°C`), and a lost degree sign. */
export function repairMojibake(text: string): string {
  return text
    .replace(/Â(?=[°º²³µ·])/g, '')
    .replace(/[\uFFFD](?=[CF](?:$|[^a-z]))/g, '°')
    .replace(/Ã([\u0080-\u00BF])/g, (_, low: string) => String.fromCharCode(low.charCodeAt(0) + 0x40))
    .replace(/Ã([„–œŸ])/g, (whole, low: string) => ({ '„': 'Ä', '–': 'Ö', œ: 'Ü', Ÿ: 'ß' })[low] ?? whole);
}

/** Spelling reduced to what two recorders that mean the same unit have in common. */
export function unitKey(text: string): string {
  return repairMojibake(text)
    .replace(/[℃]/g, '°C')
    .replace(/[℉]/g, '°F')
    .replace(/[º˚]/g, '°')
    .replace(/²/g, '2')
    .replace(/³/g, '3')
    .replace(/[\s.\-_·⋅*^]/g, '')
    .toLowerCase();
}

/**
 * The unit that a recorder's spelling stands for, or null. A spelling shared by two quantities (`g` is a gram and the
 * standard acceleration) goes to the one asked for, else to the row whose id it is, else to the first.
 */
export function findUnit(spelling: string, quantity?: Quantity): UnitRow | null {
  const rows = BY_KEY.get(unitKey(spelling)) ?? BY_KEY.get(unitKey(splitReference(spelling).unit));
  if (quantity) {
    const fitting = rows?.find((row) => unitFits(row, quantity));
    if (fitting) return fitting;
  }
  return BY_ID.get(spelling) ?? rows?.[0] ?? null;
}

export type PressureReference = 'absolute' | 'gauge';

const REFERENCE =
  /^\s*(kpa|hpa|mpa|mbar|bars?|psi|inhg|mmhg|kg\/cm2)[\s_.-]*\(?\s*(?:(abs\.?|absolute?|a)|(gauge|gage|rel\.?|relative?|relativ|[gü]))\s*\)?\s*$/i;

/** What the spelling of a pressure says behind its unit: `psia`, `bar(g)`, `kPa abs`, `mbar rel`; null = nothing. */
export function pressureReference(spelling: string): PressureReference | null {
  return splitReference(spelling).reference;
}

function splitReference(spelling: string): { unit: string; reference: PressureReference | null } {
  const match = REFERENCE.exec(spelling);
  if (!match) return { unit: spelling, reference: null };
  return { unit: match[1] as string, reference: match[2] === undefined ? 'gauge' : 'absolute' };
}

function rowsByKey(): Map<string, UnitRow[]> {
  const byKey = new Map<string, UnitRow[]>();
  for (const row of UNITS) {
    for (const key of new Set([row.id, ...row.spellings].map(unitKey))) {
      byKey.set(key, [...(byKey.get(key) ?? []), row]);
    }
  }
  return byKey;
}

/** Whether a value in this unit can be a value of the quantity. */
export function unitFits(unit: UnitRow, quantity: Quantity): boolean {
  return unit.quantity === (UNITS_OF[quantity] ?? quantity);
}

/**
 * Decimal places kept after a conversion. Double arithmetic leaves 179.6 degF at 82.00000000000001 degC; a recorder writes
 * at most a few decimals, so rounding to 1e-9 restores what was written on a stage and moves nothing that a sensor can
 * resolve. From 2^53 / 1e9 on (about nine million) a double has no such decimals and is left as it is.
 */
const SNAP_STEPS_PER_UNIT = 1e9;
const SNAP_LIMIT = 9_000_000;

export function snap(value: number): number {
  return value < SNAP_LIMIT && value > -SNAP_LIMIT
    ? Math.round(value * SNAP_STEPS_PER_UNIT) / SNAP_STEPS_PER_UNIT
    : value;
}

/** Scale and offset between two unit ids or spellings of one quantity; null if there is no linear way. */
export function conversionFor(from: string, to: string): LinearConversion | null {
  const source = findUnit(from);
  const target = findUnit(to);
  if (!source || !target || source.quantity !== target.quantity) return null;
  if (source.id === target.id) return { scale: 1, offset: 0 };
  if (source.reciprocal || target.reciprocal) return null;
  const scale = (source.num * target.den) / (source.den * target.num);
  return { scale, offset: source.shift * scale - target.shift };
}

export function applyConversion(value: number, { scale, offset }: LinearConversion): number {
  return scale === 1 && offset === 0 ? value : snap(value * scale + offset);
}

/**
 * Converts between units given by id or by any spelling a recorder uses.
 * @throws RangeError when a unit is unknown or the two are not of one quantity.
 */
export function convert(value: number, from: string, to: string): number {
  const linear = conversionFor(from, to);
  if (linear) return applyConversion(value, linear);
  const source = findUnit(from);
  const target = findUnit(to);
  if (!source) throw new RangeError(`Unit "${from}" is not known; use a spelling of the unit table.`);
  if (!target) throw new RangeError(`Unit "${to}" is not known; use a spelling of the unit table.`);
  if (source.quantity !== target.quantity) {
    throw new RangeError(`"${from}" is a ${source.quantity}, "${to}" a ${target.quantity}; they do not convert.`);
  }
  const base = source.reciprocal ? source.num / value : (value * source.num) / source.den;
  return snap(target.reciprocal ? target.num / base : (base * target.den) / target.num);
}
