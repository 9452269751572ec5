import { type Decoded, decoded, refused } from '../decode-problem.js';
import { type ModelYear, modelYearOf } from './model-year.js';

/** Letter values of the check digit, 49 CFR 565.15 table III (read); digits stand for themselves. I, O, Q never occur. */
export const VIN_VALUES: Readonly<Record<string, number>> = {
  A: 1,
  B: 2,
  C: 3,
  D: 4,
  E: 5,
  F: 6,
  G: 7,
  H: 8,
  J: 1,
  K: 2,
  L: 3,
  M: 4,
  N: 5,
  P: 7,
  R: 9,
  S: 2,
  T: 3,
  U: 4,
  V: 5,
  W: 6,
  X: 7,
  Y: 8,
  Z: 9,
  0: 0,
  1: 1,
  2: 2,
  3: 3,
  4: 4,
  5: 5,
  6: 6,
  7: 7,
  8: 8,
  9: 9,
};

/** Weights of positions 1 to 17, 49 CFR 565.15 table IV (read); position 9 is the digit itself. */
export const VIN_WEIGHTS = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2] as const;

export interface VinReading {
  vin: string;
  sum: number;
  /** What position 9 should be: `0`-`9` or `X`. */
  checkDigit: string;
  checkOk: boolean;
  /** First character 1 to 5: built for a market where the check digit is compulsory (49 CFR 565; 1-3 read, 4-5 from memory). */
  northAmerican: boolean;
  modelYear: ModelYear;
  /** Sentences for a person; a check digit that does not fit elsewhere than North America is only a warning. */
  warnings: string[];
}

export interface VinOptions {
  /** Calendar year of today; model years beyond the next one are left out. The library has no clock. */
  currentYear?: number;
  /**
   * Car, or multipurpose vehicle or truck up to 10,000 lb (4,536 kg) gross weight: then position 7 decides the cycle.
   * Null or absent = not known.
   */
  lightVehicle?: boolean | null;
}

/**
 * Reads a 17-character VIN (lower case and surrounding blanks are accepted).
 * Source: 49 CFR 565.13 and 565.15 (read), ISO 3779. Problem: `vin_malformed`.
 */
export function decodeVin(text: string, options: VinOptions = {}): Decoded<VinReading> {
  const vin = text.trim().toUpperCase();
  const problem = malformed(vin);
  if (problem)
    return refused('vin_malformed', problem, 'Read the number off the vehicle again: 17 characters, no I, O, Q.');
  const sum = vinSum(vin);
  const checkDigit = digitOf(sum);
  const checkOk = vin[8] === checkDigit;
  const northAmerican = /^[1-5]/.test(vin);
  const modelYear = modelYearOf(vin, options);
  const warnings: string[] = [];
  if (!checkOk) {
    warnings.push(
      northAmerican
        ? `Position 9 is ${vin[8]}, the check digit should be ${checkDigit}: one of the characters is wrong`
        : `Position 9 is ${vin[8]}, not ${checkDigit}; the check digit is compulsory only in the United States and Canada`,
    );
  }
  if (modelYear.candidates.length === 0) {
    warnings.push(`Position 10 is ${vin[9]}, which gives no model year by the North American rule`);
  }
  return decoded({ vin, sum, checkDigit, checkOk, northAmerican, modelYear, warnings });
}

/** 17 characters of the VIN alphabet. */
export function isVinWellFormed(text: string): boolean {
  return malformed(text.trim().toUpperCase()) === null;
}

function malformed(vin: string): string | null {
  if (vin.length !== 17) return `"${vin.slice(0, 40)}" has ${vin.length} characters, 17 are needed`;
  const bad = [...vin].findIndex((character) => VIN_VALUES[character] === undefined);
  return bad < 0 ? null : `"${vin[bad]}" at position ${bad + 1} does not occur in a VIN`;
}

function vinSum(vin: string): number {
  return VIN_WEIGHTS.reduce<number>((sum, weight, at) => sum + weight * (VIN_VALUES[vin[at] ?? ''] ?? 0), 0);
}

function digitOf(sum: number): string {
  const rest = sum % 11;
  return rest === 10 ? 'X' : String(rest);
}

/** The VIN with position 9 set to its check digit; for building samples. */
export function withCheckDigit(vin: string): string {
  return vin.slice(0, 8) + digitOf(vinSum(vin)) + vin.slice(9);
}
