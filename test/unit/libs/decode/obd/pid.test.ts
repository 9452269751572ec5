// SAE J1979 service 01; the published sources stand in each row's `source` and in test/fixtures/vectors/pid.json.
import {
  decodePid,
  encodePid,
  hexFromBytes,
  maximaOf,
  PID_ROWS,
  type PidInput,
  type PidReading,
} from '@tallybay/decode';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const bytes = (hex: string) => Uint8Array.from(Buffer.from(hex.replaceAll(' ', ''), 'hex'));

function read(pid: number, hex: string, options = {}): PidReading {
  const result = decodePid(pid, bytes(hex), options);
  if (!result.ok) throw new Error(result.problem.detail);
  return result.value;
}

const valueIn = (reading: PidReading, field: string) => reading.values.find((value) => value.field === field);

/** What `encodePid` takes to write the reading again: the raw number where a meaning is not listed. */
const inputOf = (reading: PidReading): PidInput =>
  Object.fromEntries(reading.values.map(({ field, value, state, raw }) => [field, state === 'unlisted' ? raw : value]));

const encodable = PID_ROWS.filter((row) => row.fields.every((field) => field.kind !== 'monitor-status'));

describe('the table of parameters', () => {
  it('has each number once, a source, and fields inside its bytes', () => {
    expect(new Set(PID_ROWS.map((row) => row.pid)).size).toBe(PID_ROWS.length);
    for (const row of PID_ROWS) {
      expect(row.source, row.label).not.toBe('');
      expect(row.minBytes).toBeLessThanOrEqual(row.bytes);
      for (const field of row.fields) {
        const end = field.at + (field.kind === 'number' ? field.bytes : 1);
        expect(end, `${row.label} ${field.id}`).toBeLessThanOrEqual(row.maxBytes);
      }
    }
  });

  it('reads what it wrote: decode after encode is identity over the raw range (property)', () => {
    for (const row of encodable) {
      fc.assert(
        fc.property(fc.uint8Array({ minLength: row.minBytes, maxLength: row.maxBytes }), (raw) => {
          const first = decodePid(row.pid, raw);
          if (!first.ok) throw new Error(first.problem.detail);
          const written = encodePid(row.pid, inputOf(first.value));
          if (!written.ok) throw new Error(written.problem.detail);
          const again = decodePid(row.pid, written.value);
          if (!again.ok) throw new Error(again.problem.detail);
          const kept = (reading: PidReading) => reading.values.map(({ field, value }) => [field, value]);
          const suspect = first.value.values.some((value) => value.state === 'suspect');
          if (!suspect) expect(kept(again.value)).toEqual(kept(first.value));
        }),
        { numRuns: 60 },
      );
    }
  });

  it('gives back each byte of the one- and two-byte scalars', () => {
    const scalars = encodable.filter((row) => row.fields.length === 1 && row.bytes <= 2 && row.bytes === row.maxBytes);
    expect(scalars.length).toBeGreaterThan(40);
    for (const row of scalars) {
      const [field] = row.fields;
      if (field?.kind !== 'number' || field.suspectAbove !== null) continue;
      for (let raw = 0; raw < 256 ** field.bytes; raw += field.bytes === 1 ? 1 : 251) {
        const data = field.bytes === 1 ? Uint8Array.of(raw) : Uint8Array.of(raw >> 8, raw & 255);
        const reading = decodePid(row.pid, data);
        const value = reading.ok ? reading.value.values[0]?.value : null;
        const back = encodePid(row.pid, { [field.id]: value as number });
        expect(back.ok && hexFromBytes(back.value), `${row.label} ${raw}`).toBe(hexFromBytes(data));
      }
    }
  });
});

describe('decodePid', () => {
  it('gives null for a sensor whose support bit is clear, never -40 or 0 (SAE J1979; trace rl.huuu.biz 1blz9wo)', () => {
    const values = read(0x78, '0D061F019003DA02A6').values.map(({ value, state }) => [value, state]);
    expect(values).toEqual([
      [116.7, 'ok'],
      [null, 'unsupported'],
      [58.6, 'ok'],
      [27.8, 'ok'],
    ]);
    expect(valueIn(read(0x67, '01AF00'), 'ect2')).toMatchObject({ value: null, state: 'unsupported', raw: 0 });
  });

  it('does not take the reserved range of adopted J1939 parameters for a value (ceiling from memory)', () => {
    expect(read(0x5c, 'FA').values[0]?.value).toBe(210);
    expect(read(0x5c, 'FB').values[0]).toMatchObject({ value: null, state: 'suspect', raw: 0xfb });
    expect(read(0x5e, 'FB00').values[0]).toMatchObject({ value: null, state: 'suspect' });
  });

  it('rescales to the full scales of PID 4F and 50 (SAE J1979, from memory)', () => {
    const maxima = { ...maximaOf(read(0x4f, '04080A64')), ...maximaOf(read(0x50, '41000000')) };
    expect(maxima).toEqual({
      equivalenceRatio: 4,
      o2VoltageV: 8,
      o2CurrentMa: 10,
      manifoldPressureKpa: 1000,
      massAirFlowGps: 650,
    });
    expect(read(0x0b, 'FF', { maxima }).values[0]?.value).toBe(1000);
    expect(read(0x10, 'FFFF', { maxima }).values[0]?.value).toBe(650);
    expect(valueIn(read(0x34, 'FFFF8000', { maxima }), 'equivalence_ratio')?.value).toBe(4);
    expect(valueIn(read(0x34, 'FFFF8000', { maxima }), 'o2_current')?.value).toBe(0);
    expect(maximaOf(read(0x4f, '00000000'))).toEqual({});
  });

  it('reads PID 54 in both published ways', () => {
    expect(read(0x54, 'FFFF').values[0]?.value).toBe(-1);
    expect(read(0x54, 'FFFF', { wideEvap: 'offset' }).values[0]?.value).toBe(32_768);
  });

  it('keeps the bytes of an unknown parameter', () => {
    expect(read(0xfe, '0102')).toMatchObject({ pid: 'FE', known: false, raw: '0102', values: [] });
  });

  it('refuses too few and too many bytes with the limit', () => {
    const short = decodePid(0x0c, bytes('1A'));
    const long = decodePid(0x0c, bytes('1AF800'));
    expect(short).toMatchObject({ ok: false, problem: { code: 'response_short' } });
    expect(long).toMatchObject({ ok: false, problem: { code: 'response_long' } });
    expect(short.ok || short.problem.detail).toContain('its layout 2');
  });

  it('names what bits and numbers stand for (SAE J1979, reprints)', () => {
    expect(read(0x51, '04').values[0]?.value).toBe('diesel');
    expect(read(0x1c, '06').values[0]?.value).toBe('EOBD');
    expect(read(0x1c, 'FB').values[0]).toMatchObject({ value: null, state: 'unlisted', raw: 0xfb });
    expect(read(0x03, '0200').values.map((value) => value.value)).toEqual(['closed loop', 'off']);
    expect(read(0x13, '33').values[0]?.value).toEqual(['B1S1', 'B1S2', 'B2S1', 'B2S2']);
    expect(read(0x65, '0105').values[0]?.value).toEqual(['power take-off']);
    expect(read(0x02, '0133').values[0]?.value).toBe('P0133');
  });
});

describe('encodePid', () => {
  it('refuses what the raw range cannot hold', () => {
    expect(encodePid(0x05, { coolant_temp: 216 })).toMatchObject({
      ok: false,
      problem: { code: 'value_not_encodable' },
    });
    expect(encodePid(0x05, { coolant_temp: Number.NaN })).toMatchObject({ ok: false });
    expect(encodePid(0xfe, {})).toMatchObject({ ok: false, problem: { code: 'pid_unknown' } });
  });
});
