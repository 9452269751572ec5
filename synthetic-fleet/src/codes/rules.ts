import type { DriveFeatures } from './features.js';

/** A code that the control module sets when a drive shows its fault. Names: SAE J2012, from memory. */
export interface CodeRuleRow {
  code: string;
  meaning: string;
  module: 'engine' | 'transmission';
  /** null: the drive could not tell (the test did not run). */
  failed: (drive: DriveFeatures) => boolean | null;
}

export const CODE_RULES: readonly CodeRuleRow[] = [
  {
    code: 'P0217',
    meaning: 'engine coolant over-temperature',
    module: 'engine',
    failed: (drive) => drive.coolantOverS >= 10,
  },
  {
    code: 'P0218',
    meaning: 'transmission fluid over-temperature',
    module: 'transmission',
    failed: (drive) => drive.transOverS >= 10,
  },
  { code: 'P0298', meaning: 'engine oil over-temperature', module: 'engine', failed: (drive) => drive.oilOverS >= 10 },
  { code: 'P0127', meaning: 'intake air too hot', module: 'engine', failed: (drive) => drive.chargeOverS >= 20 },
  {
    code: 'P0128',
    meaning: 'coolant below thermostat regulating temperature',
    module: 'engine',
    failed: (drive) => (drive.coolantAfter15MinC === null ? null : drive.coolantAfter15MinC < 68),
  },
  { code: 'P0118', meaning: 'coolant sensor circuit high', module: 'engine', failed: (drive) => drive.sensorOpen },
];

/** Codes with a cause that is not heat: what the shop clears without repair. `share` of drives on which the test fails. */
export const OTHER_CODES = [
  { code: 'P0171', fuel: 'gas', share: 0.9 },
  { code: 'P0420', fuel: 'gas', share: 0.85 },
  { code: 'P0455', fuel: 'gas', share: 0.85 },
  { code: 'P0401', fuel: 'diesel', share: 0.9 },
  { code: 'P2002', fuel: 'diesel', share: 0.85 },
  { code: 'P20EE', fuel: 'diesel', share: 0.85 },
] as const;
