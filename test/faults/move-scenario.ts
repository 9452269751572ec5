import { randomInt } from 'node:crypto';
import type { Upload } from '@tallybay/contracts';
import { LOAD_VEHICLES, type SentLog } from './load.js';
import { postJson } from './path.js';
import type { Report } from './report.js';
import { moment, type ScenarioOptions, scene, withBroker } from './scenarios.js';

/**
 * Uploads are decoded again for another vehicle, thus in another partition, while the first decode may still be going on in
 * another worker; now and then twice in a row, and while workers are killed, join and leave.
 */
export function vehicleMoves(options: ScenarioOptions): Promise<Report> {
  const { carrier, times, tell } = options;
  return withBroker(carrier, (environment) =>
    scene(
      options,
      { name: `decoded again for another vehicle, ${carrier}`, done: { moves: 0 }, environment },
      async (on) => {
        const receiver = await on.path.add('receive');
        const workers = [await on.path.add('decode'), await on.path.add('decode')];
        on.load.start();
        const move = async (log: SentLog) => {
          const vehicle = LOAD_VEHICLES.filter((one) => one !== log.vehicle)[randomInt(0, LOAD_VEHICLES.length - 1)]!;
          const upload = await postJson<Upload>(`${receiver.url}/v1/uploads/${log.id}/decode-again`, { vehicle });
          if (upload.vehicle !== vehicle) throw new Error(`${log.id} was to go to ${vehicle}: ${upload.vehicle}`);
          log.vehicle = vehicle;
          on.count('moves');
        };
        for (let turn = 0; turn < times; turn++) {
          await moment(1_500);
          // The newest: its first decode has hardly begun.
          const log = on.load.acknowledged.at(-1 - randomInt(0, 3));
          if (!log) continue;
          await move(log);
          if (turn % 3 === 0) await move(log);
          if (turn % 4 === 3) {
            const worker = workers[randomInt(0, 2)]!;
            await moment(500);
            if (turn % 8 === 3) await worker.kill();
            else await worker.stop();
            on.count(turn % 8 === 3 ? 'kills' : 'leaves');
            await worker.start();
          }
          await on.look();
          if (turn % 10 === 9) tell(`${turn + 1} of ${times} turns, ${on.load.acknowledged.length} uploads`);
        }
      },
    ),
  );
}
