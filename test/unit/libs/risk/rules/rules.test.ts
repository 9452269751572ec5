// Bands for coolant, oil and transmission fluid: common practice, no standard. Code names: SAE J2012, from memory.
import {
  celsiusFromFahrenheit,
  DEFAULT_RULES,
  HEAT_SIGNALS,
  ruleVersion,
  SEVERITY_RULE,
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
    ['P0455', 0.15],
    ['P0733', 0.7],
    ['P1234', 0.4],
    ['B16A1', 0.15],
    ['SPN 110 FMI 0', 1],
    ['SPN 110 FMI 16', 0.7],
    ['SPN 110 FMI 15', 0.4],
    ['SPN 520192 FMI 31', 0.4],
  ])('%s is %f', (code, severity) => {
    expect(severityOf(SEVERITY_RULE, code).severity).toBeCloseTo(severity, 9);
  });

  it('may be overridden by code, range, family, parameter or failure mode; the first row that fits counts', () => {
    const rows = ['P0128', 'P07xx', 'SPN 91', 'FMI 19'].map((match, index) => ({
      match,
      severity: index / 10,
      source: '',
    }));
    const rule = { ...SEVERITY_RULE, overrides: rows };
    const codes = ['P0128', 'P0733', 'SPN 91 FMI 3', 'SPN 100 FMI 19', 'SPN 910 FMI 3', 'P0129'];
    expect(codes.map((code) => severityOf(rule, code).severity)).toEqual([0, 0.1, 0.2, 0.3, 0.4, 0.4]);
  });

  it('rise with the failure mode: 15 below 16 below 0 (SAE J1939-73)', () => {
    for (const spn of [110, 175, 177]) {
      const [least, moderate, most] = [15, 16, 0].map(
        (fmi) => severityOf(SEVERITY_RULE, `SPN ${spn} FMI ${fmi}`).severity,
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
    expect(ruleVersion(DEFAULT_RULES)).toMatch(/^common-practice 2026-11-28 [0-9a-f]{16}$/);
  });
});
