import type { PressureReference } from '../units/convert.js';
import type { Quantity } from '../units/units.js';

/** Where a standard defines this quantity. `source` says how far the reference itself was checked. */
export interface StandardRef {
  standard: 'SAE J1979' | 'SAE J1939-71';
  /** PID of service 01 in hex, or SPN. */
  id: string;
  source: string;
}

export interface SignalRow {
  id: string;
  label: string;
  quantity: Quantity;
  /** Canonical unit. */
  unit: string;
  /** Plausible range in the canonical unit, both ends inclusive. Outside: counted as `out_of_range`, left out. */
  min: number;
  max: number;
  /** Names that recorders give it, by language; compared after `nameKey`. Trade usage, no source. */
  names: { en: readonly string[]; de: readonly string[]; es: readonly string[] };
  abbreviations: readonly string[];
  /** Names that say which signal is meant only together with a unit: `trip` alone numbers trips as often as it measures one. */
  namesWithUnit: readonly string[];
  refs: readonly StandardRef[];
  /** `temperature`: half degrees Celsius and whole degrees Fahrenheit; a number: width of equal bins; null: no dwell. */
  dwell: 'temperature' | number | null;
  /**
   * A value that stands still for longer than this many seconds while the engine works is a stuck sensor. Only for
   * signals that must move with the engine; common practice, no source. null = standing still is normal.
   */
  stuckSeconds: number | null;
  /** Fastest change per second that physics allows; common practice, no source. null = no limit. */
  jumpPerSecond: number | null;
  /** For pressures: what zero means. null = either, or no pressure. */
  reference: PressureReference | null;
  /** Below this every log of some minutes falls; used only to doubt that a pressure is gauge. */
  usualLow: number | null;
  /** The cells may also say on and off. */
  isOnOff: boolean;
  /** Above this a healthy vehicle does not stay; used only to doubt an assumed unit. */
  usualMax: number | null;
}

/** Public tables of the standard, agreeing with each other. */
const J1979 = 'SAE J1979 service 01, public tables';
const J1939 = 'SAE J1939-71, public copies';
const MEMORY = 'from memory, not checked against the text';

export const pid = (id: string): StandardRef => ({ standard: 'SAE J1979', id, source: J1979 });
export const pidM = (id: string): StandardRef => ({ standard: 'SAE J1979', id, source: MEMORY });
export const spn = (id: number): StandardRef => ({ standard: 'SAE J1939-71', id: String(id), source: J1939 });
export const spnM = (id: number): StandardRef => ({ standard: 'SAE J1939-71', id: String(id), source: MEMORY });

interface Extra {
  en: string;
  de?: string;
  es?: string;
  abbr?: string;
  withUnit?: string;
  refs?: readonly StandardRef[];
  dwell?: SignalRow['dwell'];
  stuck?: number;
  jump?: number;
  usualMax?: number;
  reference?: PressureReference;
  usualLow?: number;
  onOff?: true;
}

type Core<I extends string> = [id: I, label: string, quantity: Quantity, unit: string, min: number, max: number];

/** One row; the id stays a literal type so that `SignalId` is a closed union. */
export function signal<const I extends string>(...args: [...Core<I>, Extra]): SignalRow & { id: I } {
  const [id, label, quantity, unit, min, max, extra] = args;
  return {
    ...{ id, label, quantity, unit, min, max },
    names: { en: words(extra.en), de: words(extra.de), es: words(extra.es) },
    abbreviations: words(extra.abbr),
    namesWithUnit: words(extra.withUnit),
    refs: extra.refs ?? [],
    dwell: extra.dwell ?? (quantity === 'temperature' ? 'temperature' : null),
    stuckSeconds: extra.stuck ?? null,
    jumpPerSecond: extra.jump ?? null,
    reference: extra.reference ?? null,
    usualLow: extra.usualLow ?? null,
    isOnOff: extra.onOff ?? false,
    usualMax: extra.usualMax ?? null,
  };
}

/**
 * A temperature in degC. The lower bound leaves out -40, which an open sensor circuit reads as; the upper one is the
 * largest value the one-byte encodings can carry.
 */
export function temperature<const I extends string>(id: I, label: string, extra: Extra & { max?: number }) {
  return signal(id, label, 'temperature', 'degC', -39.9, extra.max ?? 215, extra);
}

function words(list: string | undefined): readonly string[] {
  return list ? list.split('|') : [];
}
