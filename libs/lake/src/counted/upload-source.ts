import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { schemaFile, tableDirectory, vehicleDirectoryName } from '../layout.js';
import { quoteText } from '../sql.js';
import type { LakeTable } from '../tables.js';

/**
 * One upload's rows of a table as a source for FROM: just its files, however many the fleet has. The schema file stands
 * in for columns that files of an older catalogue lack, and for a table of which the upload has no rows.
 */
export function uploadSource(
  lake: string,
  table: LakeTable,
  { vehicleId, uploadId }: { vehicleId: string; uploadId: string },
): string {
  const folder = join(tableDirectory(lake, table), vehicleDirectoryName(vehicleId));
  const files = namesIn(folder)
    .filter((name) => name.startsWith(`${uploadId}-`) && name.endsWith('.parquet'))
    .sort()
    .map((name) => join(folder, name));
  const list = [schemaFile(lake, table), ...files].map(quoteText).join(', ');
  return `read_parquet([${list}], union_by_name = true)`;
}

function namesIn(folder: string): string[] {
  try {
    return readdirSync(folder);
  } catch (error) {
    // A vehicle without rows of this table has no folder; anything else is for the caller to hear.
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return [];
    throw error;
  }
}
