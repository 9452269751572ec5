// Makes packs of a lake's small files, takes one apart and removes what is left, round after round. Ends itself, as a kill
// would, before its nth change of a folder.
import fs from 'node:fs';
import { syncBuiltinESMExports } from 'node:module';

const [lake, graceMs, mostChanges] = [process.argv[2], Number(process.argv[3]), Number(process.argv[4])];
let changes = 0;
for (const name of ['renameSync', 'rmSync']) {
  const change = fs[name];
  fs[name] = (...given) => {
    if (++changes > mostChanges) process.kill(process.pid, 'SIGKILL');
    return change(...given);
  };
}
syncBuiltinESMExports();

const { allLivePacks, compact, forgetLostPacks, readyForDecode, removeWithheld } = await import('@tallybay/lake');
const limits = { graceMs, settleMs: 20, mostPacks: 100, mostMs: 60_000, isSettled: async () => true };
for (let round = 0; ; round++) {
  removeWithheld(lake, Date.now(), graceMs);
  forgetLostPacks(lake);
  const { packed } = await compact(lake, { ...limits, nowMs: Date.now() });
  if (packed > 0) console.log('packed');
  const pack = round % 4 === 3 ? allLivePacks(lake)[0] : undefined;
  if (!pack) continue;
  await readyForDecode(lake, { vehicleId: pack.vehicleId, uploadId: pack.uploads[0] }, 20);
  console.log('unpacked');
}
