// SAE J2012 / ISO 15031-6. Structure read in public reprints; meanings from memory. Code list: test/fixtures/codes (MIT).
import { readFileSync } from 'node:fs';
import { monitorIdSchema } from '@tallybay/contracts';
import {
  bytesFromTroubleCode,
  CODE_ROWS,
  codeStructure,
  decodeUdsCode,
  describeCode,
  troubleCodeFromBytes,
} from '@tallybay/decode';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const PUBLIC_CODES = readFileSync(new URL('../../../../fixtures/codes/generic-codes.txt', import.meta.url), 'utf8')
  .split('\n')
  .filter((line) => line !== '');

describe('the table of codes', () => {
  const rows = new Map(CODE_ROWS.map((row) => [row.code, row]));

  it('describes every code of the public list of 469, and more than 800 in all', () => {
    expect(PUBLIC_CODES).toHaveLength(469);
    expect(PUBLIC_CODES.filter((code) => !rows.has(code))).toEqual([]);
    expect(CODE_ROWS.length).toBeGreaterThan(800);
  });

  it('has each code once, in its written form, as a generic code, with its own words', () => {
    expect(rows.size).toBe(CODE_ROWS.length);
    for (const { code, text } of CODE_ROWS) {
      expect(code).toMatch(/^[PCBU][0-3][0-9A-F]{3}$/);
      expect(codeStructure(code)?.owner, code).toBe('generic');
      expect(text, code).toMatch(/^[A-Z][^.]{7,90}$/);
    }
    const texts = CODE_ROWS.map((row) => row.text);
    expect(texts.filter((text, index) => texts.indexOf(text) !== index)).toEqual([]);
  });

  it('names monitors as the snapshot contract does', () => {
    const blocked = new Set(CODE_ROWS.flatMap((row) => row.blocks));
    for (const monitor of blocked) expect(monitorIdSchema.options).toContain(monitor);
  });

  it.each([
    ['P0217', 'cooling', 'critical'],
    ['P0218', 'transmission', 'critical'],
    ['P0298', 'lubrication', 'critical'],
    ['P0128', 'cooling', 'moderate'],
    ['P0480', 'cooling', 'high'],
    ['P2181', 'cooling', 'high'],
    ['P0300', 'misfire', 'high'],
    ['P0420', 'exhaust', 'moderate'],
    ['P0442', 'evaporative', 'low'],
    ['U0100', 'network', 'high'],
  ])('%s is %s, %s', (code, system, severity) => {
    expect(rows.get(code)).toMatchObject({ system, severity });
  });

  it.each([
    ['P0301', 'Misfire in cylinder 1'],
    ['P0312', 'Misfire in cylinder 12'],
    ['P0206', 'Injector of cylinder 6: circuit fault'],
    ['P0263', 'Cylinder 1 contributes too much or too little'],
    ['P0296', 'Cylinder 12 contributes too much or too little'],
    ['P0141', 'Oxygen sensor B1S2: heater circuit fault'],
    ['P0154', 'Oxygen sensor B2S1: shows no activity'],
    ['P0362', 'Ignition coil L: circuit fault'],
    ['P0736', 'Reverse gear: wrong ratio'],
    ['P0773', 'Shift solenoid E: electrical fault'],
  ])('%s: %s', (code, text) => {
    expect(rows.get(code)?.text).toBe(text);
  });

  it('says which monitors an evaporative, a catalyst and a misfire code hold back (common practice, no source)', () => {
    expect(rows.get('P0455')?.blocks).toEqual(['evap']);
    expect(rows.get('P0430')?.blocks).toContain('catalyst');
    expect(rows.get('P0304')?.blocks).toEqual(expect.arrayContaining(['misfire', 'catalyst']));
  });
});

describe('two-byte codes', () => {
  it.each([
    ['0133', 'P0133'],
    ['2274', 'P2274'],
    ['4123', 'C0123'],
    ['96A1', 'B16A1'],
    ['C158', 'U0158'],
    ['FFFF', 'U3FFF'],
  ])('%s is %s', (hex, code) => {
    const word = Number.parseInt(hex, 16);
    expect(troubleCodeFromBytes(word >> 8, word & 255)).toBe(code);
  });

  it('are read as they were written, every one of 65,536', () => {
    for (let word = 0; word < 65_536; word++) {
      const bytes = bytesFromTroubleCode(troubleCodeFromBytes(word >> 8, word & 255));
      if (!bytes.ok || ((bytes.value[0] ?? 0) << 8) + (bytes.value[1] ?? 0) !== word) throw new Error(`word ${word}`);
    }
    expect(bytesFromTroubleCode('P4000')).toMatchObject({ ok: false, problem: { code: 'value_not_encodable' } });
  });
});

describe('describeCode', () => {
  it('gives unknown codes system and subsystem from their structure', () => {
    expect(describeCode('P1234')).toMatchObject({ known: false, owner: 'manufacturer', system: 'fuel' });
    expect(describeCode('P0799')).toMatchObject({ known: true });
    expect(describeCode('P07E1')).toMatchObject({
      known: false,
      owner: 'generic',
      system: 'transmission',
      subsystem: 'transmission',
    });
    expect(describeCode('P33FF').owner).toBe('manufacturer');
    expect(describeCode('P3400').owner).toBe('generic');
    expect(describeCode('C3000').owner).toBe('reserved');
    expect(describeCode('B2101')).toMatchObject({ owner: 'manufacturer', system: 'body' });
  });

  it('adds the failure type, and ranks overheating 15 < 16 < 0 (SAE J1939-73, read)', () => {
    expect(describeCode('P0110:1C').text).toContain('circuit voltage out of range');
    const severity = (fmi: number) => describeCode(`SPN 110 FMI ${fmi}`).severity;
    expect([severity(15), severity(16), severity(0)]).toEqual(['moderate', 'high', 'critical']);
    expect(describeCode('SPN 177 FMI 16')).toMatchObject({ known: true, system: 'transmission' });
  });

  it('never throws (property)', () => {
    fc.assert(fc.property(fc.string(), (text) => typeof describeCode(text).text === 'string'));
  });
});

describe('UDS status', () => {
  it('reads AF as bits 0 1 2 3 5 7', () => {
    const code = decodeUdsCode(Uint8Array.of(0x01, 0x10, 0x1c, 0xaf));
    expect(code.ok && code.value.status).toEqual([
      'testFailed',
      'testFailedThisOperationCycle',
      'pendingDTC',
      'confirmedDTC',
      'testFailedSinceLastClear',
      'warningIndicatorRequested',
    ]);
  });
});
