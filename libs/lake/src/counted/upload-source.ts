import { schemaFile } from '../layout.js';
import { quoteText } from '../sql.js';
import type { LakeTable } from '../tables.js';
import { filesOfUpload } from '../upkeep/packs.js';

/**
 * One upload's rows of a table as a source for FROM: just its files, or the pack that it is in, however many the fleet has. The
 * schema file stands in for columns that files of an older catalogue lack, and for a table of which the upload has no rows.
 */
export function uploadSource(lake: string, table: LakeTable, upload: { vehicleId: string; uploadId: string }): string {
  const { paths, packed } = filesOfUpload(lake, table, upload);
  const list = [schemaFile(lake, table), ...paths].map(quoteText).join(', ');
  const files = `read_parquet([${list}], union_by_name = true)`;
  return packed ? `(SELECT * FROM ${files} WHERE upload_id = ${quoteText(upload.uploadId)})` : files;
}
