import type { VehicleClassId } from './classes.js';

/** Letter values and weights of 49 CFR 565.15; I, O and Q never occur. */
const VALUES: Readonly<Record<string, number>> = Object.fromEntries([
  ...'0123456789'.split('').map((digit) => [digit, Number(digit)]),
  ...'ABCDEFGH'.split('').map((letter, index) => [letter, index + 1]),
  ...'JKLMN'.split('').map((letter, index) => [letter, index + 1]),
  ['P', 7],
  ['R', 9],
  ...'STUVWXYZ'.split('').map((letter, index) => [letter, index + 2]),
]);
const WEIGHTS = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];
const YEAR_CODES = 'ABCDEFGHJKLMNPRSTVWXY123456789';

/** Position 9 of a VIN by 49 CFR 565.15(c): weighted sum modulo 11, 10 written X. The text's own position 9 is ignored. */
export function vinCheckDigit(vin: string): string {
  let sum = 0;
  for (let i = 0; i < 17; i += 1) sum += (VALUES[vin[i] as string] as number) * (WEIGHTS[i] as number);
  return sum % 11 === 10 ? 'X' : String(sum % 11);
}

/** Code of a model year, 49 CFR 565.15 table VII (30-year cycle from 1980). */
export function vinYearCode(modelYear: number): string {
  return YEAR_CODES[(modelYear - 1980) % 30] as string;
}

/** Descriptor sections (positions 4 to 8) of an invented maker, `1KV`; position 7 is a letter on light vehicles from 2010. */
const DESCRIPTORS: Record<VehicleClassId, string> = {
  service_pickup: 'PKAB5',
  van: 'VNCD3',
  crew_bus: 'BSE46',
  diesel_flatbed: 'FBG46',
  vacuum_truck: 'VTK88',
};

export function makeVin(vehicleClass: VehicleClassId, modelYear: number, serial: number): string {
  const head = `1KV${DESCRIPTORS[vehicleClass]}`;
  const tail = `${vinYearCode(modelYear)}M${String(serial).padStart(6, '0')}`;
  return `${head}${vinCheckDigit(`${head}0${tail}`)}${tail}`;
}
