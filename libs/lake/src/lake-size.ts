import { readdir, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { z } from 'zod';
import { Lake } from './lake.js';
import { tableDirectory, vehicleDirectoryName } from './layout.js';
import { LAKE_TABLES, type LakeTable } from './tables.js';

export interface VehicleSize {
  vehicle: string;
  files: number;
  bytes: number;
  uploads: number;
  /** Instants of its oldest and newest row; null for uploads without any. */
  oldestMs: number | null;
  newestMs: number | null;
}

export interface LakeSize {
  tables: { table: LakeTable; files: number; bytes: number }[];
  vehicles: VehicleSize[];
}

const SPAN_SQL = `
SELECT vehicle_id, count(DISTINCT upload_id) AS uploads, epoch_ms(min(first_at)) AS oldest, epoch_ms(max(last_at)) AS newest
FROM uploads GROUP BY vehicle_id ORDER BY vehicle_id`;
const spanRow = z.object({
  vehicle_id: z.string(),
  uploads: z.number(),
  oldest: z.number().nullable(),
  newest: z.number().nullable(),
});

/** How much there is, by table and by vehicle. Files that go away meanwhile are not counted. */
export async function lakeSize(directory: string): Promise<LakeSize> {
  const byFolder = new Map<string, { files: number; bytes: number }>();
  const tables: LakeSize['tables'] = [];
  for (const table of Object.keys(LAKE_TABLES) as LakeTable[]) {
    const total = { table, files: 0, bytes: 0 };
    for (const entry of await readdir(tableDirectory(directory, table), { withFileTypes: true })) {
      if (!entry.isDirectory()) continue;
      const size = await folderSize(join(tableDirectory(directory, table), entry.name));
      const sum = byFolder.get(entry.name) ?? { files: 0, bytes: 0 };
      byFolder.set(entry.name, { files: sum.files + size.files, bytes: sum.bytes + size.bytes });
      total.files += size.files;
      total.bytes += size.bytes;
    }
    tables.push(total);
  }
  return { tables, vehicles: await vehicleSizes(directory, byFolder) };
}

async function vehicleSizes(
  directory: string,
  byFolder: ReadonlyMap<string, { files: number; bytes: number }>,
): Promise<VehicleSize[]> {
  const lake = await Lake.open(directory, { threads: 1, memoryLimit: '256MB', tables: ['uploads'] });
  try {
    return (await lake.query(SPAN_SQL, spanRow)).map((row) => ({
      ...{ vehicle: row.vehicle_id, uploads: row.uploads, oldestMs: row.oldest, newestMs: row.newest },
      ...(byFolder.get(vehicleDirectoryName(row.vehicle_id)) ?? { files: 0, bytes: 0 }),
    }));
  } finally {
    lake.close();
  }
}

async function folderSize(folder: string): Promise<{ files: number; bytes: number }> {
  const names = (await readdir(folder)).filter((name) => name.endsWith('.parquet'));
  const sizes = await Promise.all(names.map((name) => stat(join(folder, name)).catch(() => null)));
  const there = sizes.filter((size) => size !== null);
  return { files: there.length, bytes: there.reduce((sum, { size }) => sum + size, 0) };
}
