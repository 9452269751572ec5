import { parentPort, workerData } from 'node:worker_threads';
import { loadSolver, plannedVisits, planReport, solvePlan } from '@tallybay/plan';
import type { ThreadTask } from './solver.js';

/** One plan, solved: the solver holds up its thread until it is done. */
const { plan, seconds, atIso } = workerData as ThreadTask;
const highs = await loadSolver();
let toldMs = Number.NEGATIVE_INFINITY;
const TELL_EVERY_MS = 250;
const solved = solvePlan(plan.problem, {
  ...{ highs, seconds, clockMs: () => performance.now() },
  onProgress: (progress) => {
    if (performance.now() - toldMs < TELL_EVERY_MS) return;
    toldMs = performance.now();
    parentPort?.postMessage({ progress });
  },
});
parentPort?.postMessage({ done: { visits: plannedVisits(plan, solved), report: planReport(plan, solved, atIso) } });
