import type { Upload } from '@tallybay/contracts';
import { describe, expect, it } from 'vitest';
import { unexpected } from '../../../../apps/cli/src/demo/demo-check.js';
import type { DemoFleet } from '../../../../apps/cli/src/demo/demo-fleet.js';
import type { Outcome, UploadResult } from '../../../../apps/cli/src/upload/uploader.js';

type Log = DemoFleet['logs'][number];
const log = (file: string, outcome: Log['expect']['outcome'] = 'stored'): Log =>
  ({ kind: 'log', file, expect: { outcome, waitsFor: null, rowsKept: 100, rowsRejected: 2 } }) as Log;
const result = (file: string, outcome: Outcome): UploadResult => ({
  item: { file: { path: file, size: 1, mtimeMs: 1, named: true }, label: file, parameters: {} },
  outcome,
  deliveries: [{ id: `id-${file}`, state: 'stored', duplicate: false, vehicle: 'KV-101', problem: null }],
  problem: null,
  exitCode: 0,
});
const stored = (file: string, rowsKept = 100, rowsRejected = 2) =>
  ({ id: `id-${file}`, counts: { rowsKept, rowsRejected } }) as Upload;
const fleet = (...logs: Log[]): DemoFleet => ({
  directory: '/x',
  weeks: ['2026-W36'],
  logs,
  snapshots: [],
  isNew: true,
});
const ranking = { week: '2026-W36', ranked: [{}] } as never;

const good = {
  fleet: fleet(log('a'), log('b', 'duplicate'), log('c', 'waiting')),
  results: [result('a', 'sent'), result('b', 'there'), result('c', 'waits')],
  states: { stored: 1, waiting: 1 },
  rankings: [ranking],
  stored: [stored('a')],
};

describe('the demo’s check', () => {
  it('finds nothing when all went as planted', () => {
    expect(unexpected(good)).toEqual([]);
  });

  it.each([
    ['a row lost', { stored: [stored('a', 99)] }, /a: 99 rows kept and 2 left out, 100 and 2 were due/],
    ['a row twice', { stored: [stored('a', 101)] }, /101 rows kept/],
    ['a damaged row taken', { stored: [stored('a', 100, 1)] }, /100 rows kept and 1 left out/],
    [
      'a log refused',
      { results: [result('a', 'refused'), ...good.results.slice(1)] },
      /a should be stored, it is refused/,
    ],
    ['a waiting log stored', { results: [...good.results.slice(0, 2), result('c', 'sent')] }, /c should be waiting/],
    [
      'a duplicate taken anew',
      { results: [good.results[0]!, result('b', 'sent'), good.results[2]!] },
      /b should be duplicate/,
    ],
    ['a file not sent', { results: good.results.slice(0, 2) }, /1 file not sent/],
    ['a failed upload', { states: { stored: 1, failed: 1 } }, /1 upload failed/],
    ['an empty ranking', { rankings: [{ week: '2026-W36', ranked: [] } as never] }, /no vehicle is ranked in 2026-W36/],
  ])('finds %s', (_what, change, expected) => {
    const found = unexpected({ ...good, ...change });
    expect(found).toHaveLength(1);
    expect(found[0]).toMatch(expected);
  });
});
