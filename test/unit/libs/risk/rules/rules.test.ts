// Bands for coolant, oil and transmission fluid: common practice, no standard. Code names: SAE J2012, from memory.
import {
  celsiusFromFahrenheit,
  DEFAULT_RULES,
  HEAT_SIGNALS,
  ruleVersion,
  SEVERITY_ROWS,
  STAGE_NAMES,
  STAGE_ROWS,
  severityOf,
  stagesFor,
} from '@tallybay/risk';
import { describe, expect, it } from 'vitest';

describe('stages', () => {
  it('rise with their names, and each is the exact conversion of what is written', () => {
    for (const signal of HEAT_SIGNALS) {
      const rows = stagesFor(STAGE_ROWS, signal, { vehicleClass: 'van', fuel: 'diesel' });
      expect(rows.length).toBeGreaterThan(0);
      const ranks = rows.map(({ stage }) => STAGE_NAMES.indexOf(stage));
      expect(ranks).toEqual([...ranks].sort((a, b) => a - b));
      for (const row of rows) expect(row.valueC).toBe(celsiusFromFahrenheit(Number.parseFloat(row.written)));
    }
    expect(celsiusFromFahrenheit(230)).toBe(110);
  });

  it('of a class replace the general ones for that class only', () => {
    const own = { ...STAGE_ROWS[0]!, vehicleClass: 'bus', valueC: 98, written: '98 °C' };
    const rows = [...STAGE_ROWS, own];
    expect(stagesFor(rows, 'coolant_temp_c', { vehicleClass: 'bus' })).toEqual([own]);
    expect(stagesFor(rows, 'coolant_temp_c', { vehicleClass: 'van' })).toHaveLength(4);
  });

  it('of exhaust gas hold for diesels only', () => {
    expect(stagesFor(STAGE_ROWS, 'exhaust_gas_temp_c', { vehicleClass: 'van', fuel: 'gas' })).toEqual([]);
  });
});

describe('severities', () => {
  it.each([
    ['P0217', 1],
    ['p0304', 0.8],
    ['P0482', 0.7],
    ['P0455', 0.2],
    ['P0733', 0.6],
    ['P1234', 0.4],
    ['C1234', 0.5],
    ['B16A1', 0.15],
    ['U0158', 0.35],
    ['SPN 110 FMI 0', 1],
    ['SPN 110 FMI 16', 0.8],
    ['SPN 110 FMI 15', 0.5],
    ['SPN 520192 FMI 31', 0.4],
    ['SPN 91 FMI 3', 0.4],
    ['SPN 4094 FMI 18', 0.55],
  ])('%s is %f', (code, severity) => {
    expect(severityOf(SEVERITY_ROWS, code).severity).toBeCloseTo(severity, 9);
  });

  it('rise with the failure mode: 15 below 16 below 0 (SAE J1939-73)', () => {
    for (const spn of [110, 175, 177]) {
      const [least, moderate, most] = [15, 16, 0].map(
        (fmi) => severityOf(SEVERITY_ROWS, `SPN ${spn} FMI ${fmi}`).severity,
      );
      expect(least! < moderate! && moderate! < most!).toBe(true);
    }
  });
});

describe('the rule version', () => {
  it('changes with any number and not with the order of keys', () => {
    const edited = { ...DEFAULT_RULES, weights: { ...DEFAULT_RULES.weights, codes: 0.71 } };
    expect(ruleVersion(edited)).not.toBe(ruleVersion(DEFAULT_RULES));
    const turned = Object.fromEntries(Object.entries(DEFAULT_RULES).reverse()) as unknown as typeof DEFAULT_RULES;
    expect(ruleVersion(turned)).toBe(ruleVersion(DEFAULT_RULES));
    expect(ruleVersion(DEFAULT_RULES)).toMatch(/^common-practice 2026-11-25 [0-9a-f]{16}$/);
  });
});
