import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { initLake, type LakeTable, partFile, type TableRow, writeTableFile } from '@tallybay/lake';
import { onTestFinished } from 'vitest';

/** An empty lake in a folder of its own, removed when the test ends. */
export function temporaryLake(): string {
  const directory = mkdtempSync(join(tmpdir(), 'tallybay-lake-'));
  onTestFinished(() => rmSync(directory, { recursive: true, force: true }));
  initLake(directory);
  return directory;
}

/** Puts rows of one upload into a table, where the writer would put them. */
export function putRows<T extends LakeTable>(
  lake: string,
  table: T,
  upload: { vehicle: string; upload: string },
  rows: TableRow<T>[],
): void {
  const file = partFile(lake, table, upload.vehicle, upload.upload, 0);
  mkdirSync(dirname(file), { recursive: true });
  writeTableFile(
    file,
    table,
    rows.map((row) => ({ vehicle_id: upload.vehicle, upload_id: upload.upload, ...row })),
  );
}
