// Decodes the snapshots of a lake again and again, each time with other rows, and removes what they replace. Ends itself, as a
// kill would, before its nth change of a folder.
import fs from 'node:fs';
import { syncBuiltinESMExports } from 'node:module';

const [lake, from, graceMs, mostChanges] = [process.argv[2], ...process.argv.slice(3).map(Number)];
let changes = 0;
const counted = (change) =>
  function (...given) {
    if (++changes > mostChanges) process.kill(process.pid, 'SIGKILL');
    return change.apply(this, given);
  };
for (const name of ['renameSync', 'rmSync']) fs[name] = counted(fs[name]);
for (const name of ['rename', 'rm']) fs.promises[name] = counted(fs.promises[name]);
syncBuiltinESMExports();

const { commitStaged, removeWithheld, stageSnapshot } = await import('@tallybay/lake');
const { snapshotOf, UPLOADS, vehicleOf } = await import('./again-rows.mjs');
for (let attempt = from; ; attempt++) {
  fs.writeSync(1, `attempt ${attempt}\n`);
  removeWithheld(lake, Date.now(), graceMs);
  for (const uploadId of UPLOADS) {
    const vehicleId = vehicleOf(uploadId, attempt);
    const identity = {
      vehicleId,
      uploadId,
      attempt,
      recorderId: null,
      fileName: `${attempt}`,
      catalogueVersion: 'test',
    };
    const staged = stageSnapshot(lake, identity, snapshotOf(attempt), `${process.pid}`);
    const former = vehicleOf(uploadId, attempt - 1);
    await commitStaged(lake, staged, former === vehicleId ? [] : [former]);
  }
}
