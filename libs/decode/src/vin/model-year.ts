import type { VinOptions } from './vin.js';

/** Position 10, in order from 1980; the cycle is 30 years long. I, O, Q, U, Z and 0 are not used. 49 CFR 565.15 (read). */
const YEAR_CODES = 'ABCDEFGHJKLMNPRSTVWXY123456789';
const FIRST_YEAR = 1980;
const CYCLE = 30;

export interface ModelYear {
  /** Every year the code can mean within two cycles, e.g. [1989, 2019]; empty for an unused code. */
  codeYears: number[];
  /** The code's years that are not beyond next year. */
  candidates: number[];
  /** What position 7 says for a light vehicle, not capped; null for an unused code. */
  lightVehicleYear: number | null;
  /** The light-vehicle year, or the cycle before where it is beyond next year. */
  cappedYear: number | null;
  /** Decided: one candidate, or a vehicle known to be light. Else null, and a person or another record must say. */
  year: number | null;
  why: string;
}

/** Years of one code of position 10. */
export function modelYearsOfCode(code: string): number[] {
  const at = code.length === 1 ? YEAR_CODES.indexOf(code.toUpperCase()) : -1;
  return at < 0 ? [] : [FIRST_YEAR + at, FIRST_YEAR + at + CYCLE];
}

/**
 * Position 7 a digit: 1980-2009; a letter: 2010-2039. The rule binds only cars, multipurpose vehicles and trucks up to
 * 10,000 lb (4,536 kg); heavier vehicles and trailers keep both candidates. Source: 49 CFR 565.15(b) (read).
 */
export function modelYearOf(vin: string, { currentYear, lightVehicle }: VinOptions): ModelYear {
  const codeYears = modelYearsOfCode(vin[9] ?? '');
  const [early, late] = codeYears;
  if (early === undefined || late === undefined) {
    return { codeYears, candidates: [], lightVehicleYear: null, cappedYear: null, year: null, why: 'unused year code' };
  }
  const latest = currentYear === undefined ? Number.POSITIVE_INFINITY : currentYear + 1;
  const candidates = codeYears.filter((year) => year <= latest);
  const lightVehicleYear = /[0-9]/.test(vin[6] ?? '') ? early : late;
  const cappedYear = lightVehicleYear <= latest ? lightVehicleYear : early;
  const decision = decide(candidates, cappedYear, lightVehicle ?? null);
  return { codeYears, candidates, lightVehicleYear, cappedYear, ...decision };
}

function decide(candidates: number[], cappedYear: number, light: boolean | null): { year: number | null; why: string } {
  const [only] = candidates;
  if (candidates.length === 1 && only !== undefined) {
    return { year: only, why: 'the other cycle lies beyond next year' };
  }
  if (light === true) return { year: cappedYear, why: 'position 7, light vehicle' };
  const rule =
    light === false ? 'does not bind a heavy vehicle' : 'binds light vehicles only, and the class is not known';
  return { year: null, why: `${candidates.join(' or ')}: the position 7 rule ${rule}` };
}
