import { findUnit, repairMojibake } from '../units/convert.js';
import { splitCamel } from './name-key.js';

/** One way to read a header as a name and a unit. */
export interface HeaderReading {
  name: string;
  /** Unit as written; null = the header names none. */
  unit: string | null;
  /** How the two were told apart, for messages. */
  how: 'brackets' | 'tail' | 'none';
}

const BRACKETED = /^(.*\S)\s*[([{<]\s*([^()[\]{}<>]*(?:\([^()]*\))?)\s*[)\]}>]\s*$/;
const SOURCES = 'ist|sae|ecm|ecu|pcm|tcm|tcu|obd|obd ?ii|obd ?2|can|j1939';
/** Brackets that say where a value was asked for; anything else in brackets may name another place, a limit or a wish. */
const HOW_ASKED = new RegExp(`^(${SOURCES})$`, 'i');
/** Brackets that are no unit. */
const ANNOTATION = new RegExp(`^(${SOURCES}|bcm|gps|raw|calc(ulated)?|#?\\d+)$`, 'i');
/** The last word names the instrument, no unit. */
const INSTRUMENT = /trip[\s_-]*meter$/i;
const DIMENSIONLESS = /^(-|–|—|\/|none|n\/a|)$/i;

/** A name and what stands in brackets behind it: `Intake Manifold Pressure (MAP)`; null = nothing does. */
export function splitQualifier(name: string): { base: string; qualifier: string; isHowAsked: boolean } | null {
  const [, base, inside] = /^(.*[^\s([{])\s*[([{]([^()[\]{}]+)[)\]}]$/.exec(name.trim()) ?? [];
  if (base === undefined || inside === undefined) return null;
  const qualifier = inside.trim();
  return { base, qualifier, isHowAsked: HOW_ASKED.test(qualifier) };
}

/**
 * Every plausible reading of a header, most explicit first: unit in brackets, unit as the tail after a comma, slash,
 * underscore, colon or space (longest tail first), no unit.
 */
export function readHeader(header: string): HeaderReading[] {
  const text = repairMojibake(header).trim();
  const bracketed = BRACKETED.exec(text);
  if (bracketed) {
    const [, name = '', inside = ''] = bracketed;
    const unit = inside.trim();
    if (!ANNOTATION.test(unit)) {
      const reading: HeaderReading = { name, unit: DIMENSIONLESS.test(unit) ? null : unit, how: 'brackets' };
      // An abbreviation of the name is no unit; `matchHeader` finds out whether it is one.
      return findUnit(unit) ? [reading] : [reading, { name: text, unit: null, how: 'none' }];
    }
    return readHeader(name);
  }
  // Columns headed by the unit alone, such as `MPH`.
  const speed: HeaderReading[] =
    findUnit(text)?.quantity === 'speed' ? [{ name: 'speed', unit: text, how: 'tail' }] : [];
  return [...tails(text), ...speed, { name: text, unit: null, how: 'none' }];
}

function tails(text: string): HeaderReading[] {
  const readings: HeaderReading[] = [];
  if (INSTRUMENT.test(text)) return readings;
  for (const form of new Set([text, splitCamel(text)])) {
    for (const separator of form.matchAll(/\s*[,/_:;|\s.-]\s*/g)) {
      // "Kühlmitteltemperatur in °C", "speed in km/h".
      const name = form.slice(0, separator.index).replace(/\s+(in|en)$/i, '');
      const unit = form.slice(separator.index + separator[0].length);
      // "Fuel trim bank 1": a bare number behind a name counts things; it is a unit in brackets only.
      if (name !== '' && unit !== '' && !/^\d+$/.test(unit) && findUnit(unit))
        readings.push({ name, unit, how: 'tail' });
    }
    if (/[^\s%]%$/.test(form)) readings.push({ name: form.slice(0, -1), unit: '%', how: 'tail' });
  }
  return readings;
}
