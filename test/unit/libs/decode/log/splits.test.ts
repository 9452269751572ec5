import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bytesOf, cutAt, fixture, planOf, readRows, sumUp } from './read-log.js';

const QUOTED = [
  'Recorder: KV-7',
  'Start: 2026-03-01T08:00:00Z',
  '',
  'Time [s];Kühlmitteltemperatur [°C];Drehzahl [1/min];Notiz;Sonde X',
  '0;80,5;800;;a',
  '0,1;"81,25";801;"Anhänger; ""angekoppelt""";a',
  '0,2;;802;"zwei\r\nZeilen";a',
  '0,3;NaN;803;;"b"',
  '0,4;abc;1e3;;b',
  '0,5;82',
  'Start: 2026-03-01T09:00:00Z',
  'Time [s];Kühlmitteltemperatur [°C];Drehzahl [1/min];Notiz;Sonde X',
  '0;999;804;Ende;c',
  '0,1;83;805',
].join('\r\n');

const US = Array.from(
  { length: 40 },
  (_, i) => `03/01/2026,11:59:${String(i + 20).padStart(2, '0')} AM,${179.6 + i / 10},${i % 3 ? 'x' : ''},${i}`,
);
const TABLE = `Date,Time,ECT (F),Speed (mph),Note\n${US.join('\n')}\n`;

const encodings: [string, (text: string) => Uint8Array][] = [
  ['utf-8', bytesOf],
  ['utf-8 with mark', (text) => Uint8Array.of(0xef, 0xbb, 0xbf, ...bytesOf(text))],
  ['latin-1', (text) => Uint8Array.from(text, (char) => char.charCodeAt(0))],
  ['utf-16le with mark', (text) => Uint8Array.of(0xff, 0xfe, ...utf16(text, true))],
  ['utf-16be with mark', (text) => Uint8Array.of(0xfe, 0xff, ...utf16(text, false))],
  ['utf-16le', (text) => utf16(text, true)],
];

function utf16(text: string, little: boolean): Uint8Array {
  return Uint8Array.from(
    [...text].flatMap((char) => {
      const code = char.charCodeAt(0);
      return little ? [code & 255, code >> 8] : [code >> 8, code & 255];
    }),
  );
}

describe('cutting the bytes anywhere', () => {
  it.each(encodings)('changes no row: %s', (_, encode) => {
    for (const text of [QUOTED, TABLE]) {
      const bytes = encode(text);
      const plan = planOf(bytes);
      const whole = readRows(plan, [bytes]);
      fc.assert(
        fc.property(fc.array(fc.nat(bytes.length), { maxLength: 12 }), (cuts) => {
          expect(readRows(plan, cutAt(bytes, cuts))).toEqual(whole);
        }),
        { numRuns: 25 },
      );
      expect(
        readRows(
          plan,
          cutAt(
            bytes,
            Array.from({ length: bytes.length }, (_, at) => at),
          ),
        ),
      ).toEqual(whole);
    }
  });

  it('reads the sample as meant', () => {
    const bytes = bytesOf(QUOTED);
    const plan = planOf(bytes);
    const rows = readRows(plan, [bytes]);
    const startMs = Date.parse('2026-03-01T08:00:00Z');
    expect(plan.recorder).toBe('KV-7');
    expect(rows.timeMs).toEqual([0, 100, 200, 300, 400, 3_600_000].map((ms) => startMs + ms));
    expect(rows.values[0]).toEqual([80.5, 81.25, Number.NaN, Number.NaN, Number.NaN, Number.NaN]);
    expect(rows.values[1]).toEqual([800, 801, 802, 803, 1000, 804]);
    expect(rows.markers.map(({ text }) => text)).toEqual(['Anhänger; "angekoppelt"', 'zwei\r\nZeilen', 'Ende']);
    expect(rows.unmapped.map(({ row, text }) => [row, text])).toEqual([
      [1, 'a'],
      [4, 'b'],
      [7, 'c'],
    ]);
    expect(rows.rejects).toEqual([
      [5, 0, 0],
      [7, 0, 1],
    ]);
    expect(rows.counts).toMatchObject({
      rows: 8,
      rowsRejectedBy: { row_short: 1, row_cut: 1 },
      repeatedHeaders: 1,
      unanchoredRestarts: 0,
    });
  });

  it('changes no sum: a real log, its batches cut as well', () => {
    const bytes = fixture('kit-obd/2017-08-01_Seat_Leon_KA_KA_Frei.csv').subarray(0, 300_000);
    const plan = planOf(bytes);
    const options = { stages: { coolant_temp_c: ['30', '35.5'] } };
    const whole = sumUp(plan, [bytes], options);
    fc.assert(
      fc.property(fc.array(fc.nat(bytes.length), { maxLength: 40 }), (cuts) => {
        expect(sumUp(plan, cutAt(bytes, cuts), options, true)).toEqual(whole);
      }),
      { numRuns: 6 },
    );
  });
});
