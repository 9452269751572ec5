import { join } from 'node:path';
import { partNamed, tableDirectory, vehicleDirectoryName } from '../layout.js';
import type { LakeTable } from '../tables.js';
import { namesIn } from './folder-names.js';
import { withheldFiles } from './withheld.js';

/** Files that uploads have of their own and that count; each folder is looked at once. */
export class OwnFiles {
  private readonly folders = new Map<string, Map<string, string[]>>();

  constructor(
    private readonly lake: string,
    private readonly withheld: ReadonlySet<string> = withheldFiles(lake),
  ) {}

  /** Of one upload, relative to the lake. */
  of(table: LakeTable, vehicleId: string, uploadId: string): readonly string[] {
    const folder = vehicleDirectoryName(vehicleId);
    const key = `${table}/${folder}`;
    let found = this.folders.get(key);
    if (!found) this.folders.set(key, (found = this.look(table, folder)));
    return found.get(uploadId) ?? [];
  }

  private look(table: LakeTable, folder: string): Map<string, string[]> {
    const found = new Map<string, string[]>();
    for (const name of namesIn(join(tableDirectory(this.lake, table), folder))) {
      const file = `${table}/${folder}/${name}`;
      const uploadId = partNamed(name)?.uploadId;
      if (uploadId === undefined || this.withheld.has(file)) continue;
      found.set(uploadId, [...(found.get(uploadId) ?? []), file]);
    }
    return found;
  }
}
