// SAE J1979 / ISO 15031-5 service 01: edge values of every numeric field; sources stand at the head of the table.
import { readFileSync } from 'node:fs';
import { bytesFromHex, decodePid, PID_ROWS } from '@tallybay/decode';
import { describe, expect, it } from 'vitest';

const rows = readFileSync(new URL('../../../../fixtures/standards/pid-edges.tsv', import.meta.url), 'utf8')
  .split('\n')
  .filter((line) => line !== '' && !line.startsWith('#'))
  .map((line) => line.split('\t') as [pid: string, field: string, unit: string, cases: string]);

/** What the product reads, one `hex=value` a case: not a number where it is none, however it was printed. */
function read(pid: string, field: string, hex: string): { value: unknown; unit: unknown } {
  const bytes = bytesFromHex(hex);
  const reading = decodePid(Number.parseInt(pid, 16), bytes.ok ? bytes.value : new Uint8Array());
  if (!reading.ok) return { value: reading.problem.detail, unit: null };
  const found = reading.value.values.find((value) => value.field === field);
  return { value: found?.value, unit: found?.unit };
}

describe('edge values of service 01', () => {
  it.each(rows)('%s %s [%s]', (pid, field, unit, cases) => {
    for (const [hex = '', printed = ''] of cases.split(' ').map((text) => text.split('='))) {
      const got = read(pid, field, hex);
      expect(got.unit, `${pid} ${hex}`).toBe(unit);
      if (printed === '-') expect(got.value, `${pid} ${hex}`).toBeNull();
      else {
        const wanted = Number(printed);
        expect(typeof got.value, `${pid} ${hex}: ${String(got.value)}`).toBe('number');
        expect(
          Math.abs((got.value as number) - wanted),
          `${pid} ${hex}: ${String(got.value)}, ${wanted} is due`,
        ).toBeLessThan(1e-9 * Math.max(1, Math.abs(wanted)));
      }
    }
  });

  it('leaves no numeric field of the table out', () => {
    const covered = new Set(rows.map(([pid, field]) => `${pid} ${field}`));
    const fields = PID_ROWS.flatMap((row) =>
      row.fields
        .filter(({ kind }) => kind === 'number')
        .map(({ id }) => `${row.pid.toString(16).toUpperCase().padStart(2, '0')} ${id}`),
    );
    expect(fields.filter((name) => !covered.has(name))).toEqual([]);
  });
});
