import { parentPort, workerData } from 'node:worker_threads';
import { runSeedTask, type SeedTask } from './seed-task.js';

parentPort!.postMessage(await runSeedTask(workerData as SeedTask));
